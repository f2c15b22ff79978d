"""The tracks of a mix summed to two channels, block after block, as a sheet has them.

Conventions: a stretch is rendered on a grid of fiftieths of a second that begins with it. Tracks are summed in groups
of a fixed size and the groups in order, so that the result does not depend on how many processors there are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from math import pi, tan

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.mix import MixSheet, MixTrack
from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.takes.rough.gate import gate_course
from fieldfare.takes.rough.kernels import kernels
from fieldfare.takes.rough.levels import GRAINS, TrackPower
from fieldfare.takes.rough.placing import pan_gains
from fieldfare.takes.rough.reading import CourseReader
from fieldfare.takes.rough.rides import ride_course
from fieldfare.takes.wave import Course
from fieldfare.takes.wave.samples import Samples

HOPS = 64  # in a block
PREROLL_HOPS = 25  # rendered ahead of a stretch and thrown away, so that filters have settled
_GROUP = 4
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
Read = Mapping[tuple[Course, int], Future[Samples]]


@dataclass(frozen=True)
class Strip:
    """One track as it goes into a mix."""

    track: AxisTrack
    sheet: MixTrack
    gate: F64 | None  # gain at every grain of the take

    @property
    def read(self) -> tuple[Course, int]:
        """What is read for it: a recording, so many samples later."""
        return self.track.course, self.sheet.shift


@dataclass(frozen=True)
class Desk:
    """Everything that a mix is summed from."""

    axis: Axis
    sheet: MixSheet
    strips: tuple[Strip, ...]

    @property
    def hop(self) -> int:
        """Samples between two points of a gain's course."""
        return round(self.axis.rate_hz / GRAINS)


def desk_of(axis: Axis, sheet: MixSheet, power: TrackPower | None) -> Desk:
    """Set up the tracks that are heard.

    Parameters
    ----------
    axis
        The take.
    sheet
        The mix.
    power
        Loudness from moment to moment of all the take's tracks; only gates need it.
    """
    by_label = {track.label: track for track in axis.track}
    places = {track.label: place for place, track in enumerate(axis.track)}
    strips = []
    for one in sheet.track:
        if not one.mute:
            course = None
            if one.gate and power is not None:
                course = gate_course(power, places[one.label], one.gate)
            strips.append(Strip(by_label[one.label], one, course))
    return Desk(axis, sheet, tuple(strips))


def high_pass(hz: float, rate_hz: int) -> F64:
    """Return a Butterworth high-pass of second order as b0, b1, b2, a1, a2; a plain wire for 0 Hz."""
    if not hz:
        return np.array([1.0, 0.0, 0.0, 0.0, 0.0])
    k = tan(pi * min(hz, 0.45 * rate_hz) / rate_hz)
    norm = 1 / (1 + 2**0.5 * k + k * k)
    return np.array([norm, -2 * norm, norm, 2 * (k * k - 1) * norm, (1 - 2**0.5 * k + k * k) * norm])


def gain_course(desk: Desk, strip: Strip, song: int | None, at: F64) -> F64:
    """Gain of a track at samples of the take: a song's, or on the way from song to song, and its gate's.

    Parameters
    ----------
    desk, strip
        The mix and the track.
    song
        Which song is mixed; none for the whole take.
    at
        Samples on the take's axis, in order.
    """
    sheet = strip.sheet
    gains_db = np.full(len(at), sheet.trim_db)
    if song is None:
        gains_db += np.interp(at, _corners(desk.sheet), np.repeat(sheet.gain_db, 2))
    else:
        gains_db += sheet.gain_db[song]
    gains: F64 = 10 ** (gains_db / 20)
    if strip.gate is not None:
        grains = at * (GRAINS / desk.axis.rate_hz)
        first, last = np.clip([int(grains[0]), int(grains[-1]) + 1], 0, len(strip.gate) - 1)
        gains = gains * np.interp(grains, np.arange(first, last + 1), strip.gate[first : last + 1])
    return -gains if sheet.flip else gains


def _corners(sheet: MixSheet) -> list[float]:
    """Start and end of every song; where two overlap they meet in the middle."""
    corners: list[float] = []
    for song in sheet.song:
        start = float(song.start)
        if corners and start < corners[-1]:
            start = corners[-1] = (start + corners[-1]) / 2
        corners += [start, float(song.end)]
    return corners


def summed(
    desk: Desk, start: int, frames: int, song: int | None, workers: Executor, *, compiled: bool | None = None
) -> Iterator[F32]:
    """Sum a stretch of the take to two channels.

    Parameters
    ----------
    desk
        What is summed.
    start, frames
        The stretch, on the take's axis.
    song
        Whose gains hold all through; none where each song's do in turn.
    workers
        Who shares the work.
    compiled
        Whether to use compiled loops; by default where they can be had.

    Yields
    ------
    The mix before its bus, shape (frames, 2), in blocks.
    """
    hop = desk.hop
    parts = [desk.strips[at : at + _GROUP] for at in range(0, len(desk.strips), _GROUP)]
    used = Counter(key for part in parts for key in {one.read for one in part})
    readers = {key: CourseReader(key[0], HOPS * hop) for key in used}
    shared = {key: reader for key, reader in readers.items() if used[key] > 1}
    groups = [_Group(desk, part, readers, song, compiled) for part in parts]

    def begin(first: int) -> list[Future[F32]]:
        read = {key: workers.submit(reader.read, first - key[1]) for key, reader in shared.items()}
        return [workers.submit(group.mixed, read, first) for group in groups]

    first = start - PREROLL_HOPS * hop
    waiting = begin(first)
    while first < start + frames:
        out = _together([one.result() for one in waiting], HOPS * hop)
        if first + HOPS * hop < start + frames:
            waiting = begin(first + HOPS * hop)  # the next is mixed while this one is used
        yield out[max(0, start - first) : start + frames - first]
        first += HOPS * hop


class _Group:
    """A few tracks that one thread mixes, two at a time, with what their filters remember."""

    def __init__(
        self,
        desk: Desk,
        strips: Sequence[Strip],
        readers: Mapping[tuple[Course, int], CourseReader],
        song: int | None,
        compiled: bool | None,
    ) -> None:
        self._readers = readers
        self._desk, self._strips, self._song, self._kernels = desk, strips, song, kernels(compiled)
        self._sections = np.array([high_pass(one.sheet.high_pass_hz, desk.axis.rate_hz) for one in strips])
        self._states = np.zeros((len(strips), 4))
        self._sides = np.array([pan_gains(one.sheet.pan) for one in strips])
        self._out: F32 = np.zeros((2, HOPS * desk.hop), np.float32)

    def mixed(self, read: Read, first: int) -> F32:
        """Mix the block that begins at a sample of the axis, over the one before; shape (2, frames)."""
        desk, hop, out = self._desk, self._desk.hop, self._out
        out[:] = 0.0
        at = first + hop * np.arange(HOPS + 1, dtype=np.float64)
        rides = ride_course(desk.sheet.ride, at, desk.axis.rate_hz)
        scales = np.array([
            rides * gain_course(desk, one, self._song, at) / one.track.course.strand.part[0].full_scale
            for one in self._strips
        ])  # fmt: skip
        blocks = {key: self._block(key, read, first) for key in {one.read for one in self._strips}}
        sounds = [blocks[one.read][:, one.track.channel] for one in self._strips]
        for n in range(0, len(sounds) - 1, 2):
            two, pair = slice(n, n + 2), (sounds[n], sounds[n + 1])
            self._kernels.strip_pair(
                *pair, self._sections[two], self._states[two], scales[two], hop, self._sides[two], out
            )
        if len(sounds) % 2:
            self._kernels.strip(sounds[-1], self._sections[-1], self._states[-1], scales[-1], hop, self._sides[-1], out)
        return out

    def _block(self, key: tuple[Course, int], read: Read, first: int) -> Samples:
        """What other groups hear too is read for all of them; the rest here."""
        if key in read:
            return read[key].result()
        return self._readers[key].read(first - key[1])


def _together(parts: Sequence[F32], frames: int) -> F32:
    out: F32 = np.zeros((2, frames), np.float32)
    for part in parts:
        out += part
    return np.ascontiguousarray(out.T)
