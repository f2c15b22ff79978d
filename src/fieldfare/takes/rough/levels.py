"""The loudness of every track from moment to moment, K-weighted, in one reading of the take."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import dataclass
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.takes.loudness.gates import integrated_lufs, lufs, windows
from fieldfare.takes.loudness.meter import GrainPower
from fieldfare.takes.rough.reading import CourseReader
from fieldfare.takes.wave import Course, raw_blocks, unpack
from fieldfare.takes.wave.samples import Samples, sample_type

GRAINS = 50  # in a second
BLOCK, HOP = 20, 5  # grains: the 400 ms that overlap by three quarters of [BS1770]
LANES, LEAST_LANES = 16, 6  # recordings of one channel that are measured side by side, and what that is worth it for
_BYTES = 3 << 18
_FRAMES = 1 << 16
_READINGS = 4  # of a bank, side by side
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
    courses = tuple(dict.fromkeys(track.course for track in tracks))
    listening = _Listening(axis, tracks, sum(head.frames for one in courses for head in one.strand.part), tell)
    banks, others = _banks(courses)
    with ThreadPoolExecutor(workers or os.cpu_count() or 1) as pool:
        alone = [pool.submit(listening.one, course) for course in others]
        for bank in banks:
            listening.bank(bank, pool)
        for each in alone:
            each.result()
    scale = [np.float32(1.0 / track.course.strand.part[0].full_scale ** 2) for track in tracks]
    listening.power *= np.array(scale, np.float32)[:, None]
    return TrackPower(axis.rate_hz, listening.power)


def _banks(courses: Sequence[Course]) -> tuple[list[list[Course]], list[Course]]:
    """Put recordings of one channel together by so many as are measured in one go; the rest stands for itself."""
    kinds: dict[type, list[Course]] = defaultdict(list)
    for course in courses:
        if course.strand.channels == 1:
            kinds[sample_type(course.strand.part[0].form)].append(course)
    groups = [ones[at : at + LANES] for ones in kinds.values() for at in range(0, len(ones), LANES)]
    banks = [group for group in groups if len(group) >= LEAST_LANES]
    together = {course for bank in banks for course in bank}
    return banks, [course for course in courses if course not in together]


class _Listening:
    """Measures recordings into the rows of their tracks."""

    def __init__(self, axis: Axis, tracks: Sequence[AxisTrack], total: int, tell: Tell | None) -> None:
        self._axis, self._tracks, self._total, self._tell = axis, tracks, max(1, total), tell
        self._lock, self._done = Lock(), 0
        grains = -(-axis.frames * GRAINS // axis.rate_hz) + 1
        self.power: F32 = np.zeros((len(tracks), grains), np.float32)

    def one(self, course: Course) -> None:
        """Measure one recording, of any number of channels."""
        mine = [(place, track.channel) for place, track in enumerate(self._tracks) if track.course is course]
        places = [place for place, _ in mine]
        meter, at = GrainPower(len(mine), self._axis.rate_hz, grains=GRAINS), 0
        for x in _samples(course, [channel for _, channel in mine]):
            at = self._keep(places, at, meter.feed(x))
            self._told(len(x))

    def bank(self, courses: Sequence[Course], pool: Executor) -> None:
        """Measure recordings of one channel side by side; while one block is measured, the next is read."""
        kind = sample_type(courses[0].strand.part[0].form)
        rows: Samples = np.zeros((2, LANES, _FRAMES), kind)
        readers = [CourseReader(course, _FRAMES, rows[:, lane, :, None]) for lane, course in enumerate(courses)]
        tracks = {track.course: place for place, track in enumerate(self._tracks)}
        places = [tracks[course] for course in courses]
        meter, at, end = GrainPower(LANES, self._axis.rate_hz, grains=GRAINS), 0, max(one.end for one in courses)

        def begin(first: int) -> list[Future[None]]:
            return [pool.submit(_read, readers[n::_READINGS], first) for n in range(_READINGS) if first < end]

        coming = begin(0)
        for turn, first in enumerate(range(0, end, _FRAMES), 1):
            for reading in coming:
                reading.result()
            coming = begin(first + _FRAMES)
            x = rows[turn % 2, :, : end - first].T
            at = self._keep(places, at, meter.feed(x)[:, : len(places)])
            self._told(len(x) * len(places))

    def _keep(self, places: Sequence[int], at: int, found: F64) -> int:
        upto: int = min(self.power.shape[1], at + len(found))
        self.power[places, at:upto] = found[: upto - at].T
        return upto

    def _told(self, frames: int) -> None:
        with self._lock:
            self._done += frames
            if self._tell is not None:
                self._tell(min(1.0, self._done / self._total))


def _read(readers: Sequence[CourseReader], first: int) -> None:
    for reader in readers:
        reader.read(first)


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
