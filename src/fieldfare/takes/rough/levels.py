"""The loudness of every track from moment to moment, K-weighted, in one reading of the take."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.axis import Axis, AxisTrack, Course
from fieldfare.takes.loudness.gates import integrated_lufs, lufs, windows
from fieldfare.takes.loudness.meter import GrainPower
from fieldfare.takes.wave import raw_blocks, unpack
from fieldfare.takes.wave.samples import Samples

GRAINS = 50  # in a second
BLOCK, HOP = 20, 5  # grains: the 400 ms that overlap by three quarters of [BS1770]
_BYTES = 3 << 18
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
Tell = Callable[[float], None]
Spans = tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class TrackPower:
    """K-weighted mean squares, re full scale, of every fiftieth of a second."""

    rate_hz: int
    power: F32  # (tracks, grains)

    def grains(self, start: int, end: int) -> slice:
        """The grains that lie within samples of the axis."""
        first = -(-start * GRAINS // self.rate_hz)
        return slice(first, max(first, end * GRAINS // self.rate_hz))

    def blocks(self, place: int, spans: Spans) -> F64:
        """Power of the overlapping blocks of 400 ms that lie within stretches of the axis."""
        parts = [windows(self.power[place, self.grains(*span)].astype(np.float64), BLOCK, HOP) for span in spans]
        return np.concatenate([np.empty(0), *parts])

    def loudness(self, place: int, spans: Spans, above_lufs: float = -np.inf) -> float:
        """Gated loudness of a track, of its blocks above a level alone; -inf where there are none. [LUFS]"""
        blocks = self.blocks(place, spans)
        return integrated_lufs(blocks[lufs(blocks) > above_lufs])


def power_of_tracks(
    axis: Axis, tracks: tuple[AxisTrack, ...], tell: Tell | None = None, *, workers: int | None = None
) -> TrackPower:
    """Measure tracks of a take.

    Parameters
    ----------
    axis
        The take.
    tracks
        Those that are wanted.
    tell
        Called with the share that is done, from 0 to 1, from several threads, one at a time.
    workers
        Recordings read side by side; by default one for each processor.
    """
    grains = -(-axis.frames * GRAINS // axis.rate_hz) + 1
    power: F32 = np.zeros((len(tracks), grains), np.float32)
    courses = tuple(dict.fromkeys(track.course for track in tracks))
    total = sum(head.frames for course in courses for head in course.strand.part)
    lock, done = Lock(), [0]

    def one(course: Course) -> None:
        mine = [(place, track.channel) for place, track in enumerate(tracks) if track.course is course]
        meter = GrainPower(len(mine), axis.rate_hz, grains=GRAINS)
        at = 0
        for x in _samples(course, [channel for _, channel in mine]):
            found = meter.feed(x)
            upto = min(grains, at + len(found))
            for column, (place, _) in enumerate(mine):
                power[place, at:upto] = found[: upto - at, column]
            at = upto
            with lock:
                done[0] += len(x)
                if tell is not None:
                    tell(min(1.0, done[0] / max(1, total)))

    with ThreadPoolExecutor(workers or os.cpu_count() or 1) as pool:
        list(pool.map(one, courses))
    scale = [np.float32(1.0 / track.course.strand.part[0].full_scale ** 2) for track in tracks]
    power *= np.array(scale, np.float32)[:, None]
    return TrackPower(axis.rate_hz, power)


def _samples(course: Course, channels: list[int]) -> Iterator[Samples]:
    """Go through channels of a recording from the axis' first sample on; what is missing is silence."""
    all_of_them = channels == list(range(course.strand.channels))
    at = 0
    for head, begin in zip(course.strand.part, course.begins, strict=True):
        yield from _silence(max(0, begin - at), len(channels))
        early = max(0, at - begin)
        for packed in raw_blocks(head, _BYTES, first_frame=min(early, head.frames)):
            x = unpack(packed, head.form)
            yield x if all_of_them else np.ascontiguousarray(x[:, channels])
        at = max(at, begin + head.frames)


def _silence(frames: int, channels: int) -> Iterator[Samples]:
    while frames > 0:
        count = min(frames, 1 << 16)
        none: Samples = np.zeros((count, channels), np.int32)
        yield none
        frames -= count
