"""The course of every track in three bands, read once: everything but rumble, the lows, the highs.

Memory is bounded by the length of the take in hops of 25 ms, not in samples.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from math import exp, pi
from threading import Lock
from typing import cast

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.axis import Axis
from fieldfare.takes.compiler import has_compiler
from fieldfare.takes.wave import Course, raw_blocks, unpack
from fieldfare.takes.wave.samples import Samples

HOP_S = 0.025
BANDS = ("whole", "low", "high")
EDGES_HZ = (40.0, 150.0, 2500.0)  # rumble ends, lows end, highs begin; one or two poles each, so none is steep
SILENT_DB = -120.0
FLOAT_STEPS, FLOAT_MOST = float(1 << 23), float(1 << 26)  # a float file goes at most 18 dB above full scale
_BLOCK_BYTES = 3 << 19
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
I32 = NDArray[np.int32]
Energies = Callable[[I32, float, F32, F32, int, F32], None]
Tell = Callable[[float], None]


@dataclass(frozen=True)
class Levels:
    """Levels of all tracks, re a full-scale sine."""

    hop: int  # samples
    rate_hz: int
    db: F32  # (tracks, bands, hops)

    @property
    def hops(self) -> int:
        """How many there are."""
        return int(self.db.shape[2])

    @property
    def hop_s(self) -> float:
        """Length of a hop. [s]"""
        return self.hop / self.rate_hz


def levels_of(axis: Axis, tell: Tell | None = None) -> Levels:
    """Measure a take.

    Parameters
    ----------
    axis
        The take.
    tell
        Called with the share that is done, from 0 to 1, from several threads, one at a time.
    """
    hop = max(1, round(HOP_S * axis.rate_hz))
    hops = -(-axis.frames // hop)
    energy = np.zeros((len(axis.track), len(BANDS), hops), np.float32)
    total = sum(head.frames for course in axis.courses for head in course.strand.part)
    lock, done = Lock(), [0]

    def one(course: Course) -> None:
        mine = [(place, track.channel) for place, track in enumerate(axis.track) if track.course is course]
        for sums, first, frames in _measured(course, [channel for _, channel in mine], hop):
            upto = min(hops, first + sums.shape[2])
            for (place, _), row in zip(mine, sums, strict=True):
                energy[place, :, first:upto] += row[:, : upto - first]
            with lock:
                done[0] += frames
                if tell is not None:
                    tell(min(1.0, done[0] / max(1, total)))

    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        list(pool.map(one, axis.courses))
    np.maximum(energy, np.float32(hop * 10 ** (SILENT_DB / 10) / 2), out=energy)
    energy *= np.float32(2.0 / hop)
    np.log10(energy, out=energy)
    energy *= np.float32(10.0)
    return Levels(hop, axis.rate_hz, energy)


def _measured(course: Course, channels: list[int], hop: int) -> Iterator[tuple[F32, int, int]]:
    """Measure a recording: energies of shape (channels, bands, hops), the first hop, and the frames that went in."""
    rate_hz = course.strand.rate_hz
    poles = np.array([1 - exp(-2 * pi * edge / rate_hz) for edge in EDGES_HZ], np.float32)
    state = np.zeros((len(channels), 5), np.float32)
    energies = _energies()
    first, lead = divmod(max(0, course.late), hop)
    rest: I32 = np.zeros((lead, course.strand.channels), np.int32)
    gain = 1.0 / FLOAT_STEPS if course.strand.part[0].is_float else 1.0 / course.strand.part[0].full_scale
    for piece, frames, last in _pieces(course):
        x = np.concatenate([rest, piece])
        if last:
            x = np.pad(x, ((0, -len(x) % hop), (0, 0)))
        whole = len(x) // hop
        sums = np.empty((len(channels), len(BANDS), whole), np.float32)
        for row, channel in enumerate(channels):
            energies(x[: whole * hop, channel], gain, poles, state[row], hop, sums[row])
        yield sums, first, frames
        first, rest = first + whole, x[whole * hop :]


def _pieces(course: Course) -> Iterator[tuple[I32, int, bool]]:
    """Go through a recording from the axis' first sample on: samples, how many were read, whether they are the last."""
    early = max(0, -course.late)
    for place, (head, gap) in enumerate(zip(course.strand.part, (*course.strand.gap, 0), strict=False), 1):
        for packed in raw_blocks(head, _BLOCK_BYTES):
            x = _whole_numbers(unpack(packed, head.form))
            skipped = min(early, len(x))
            early -= skipped
            yield x[skipped:], len(x), False
        silence: I32 = np.zeros((gap, head.channels), np.int32)
        yield silence, 0, place == len(course.strand.part)


def _whole_numbers(x: Samples) -> I32:
    if x.dtype == np.int32:
        return cast(I32, x)
    clear = np.nan_to_num(x * FLOAT_STEPS, posinf=0.0, neginf=0.0)
    return cast(I32, np.clip(clear, -FLOAT_MOST, FLOAT_MOST).astype(np.int32))


def _energies() -> Energies:
    if not has_compiler():
        return plain_energies
    from fieldfare.takes.songs.loops import band_energies

    return band_energies


def plain_energies(x: I32, gain: float, poles: F32, state: F32, hop: int, out: F32) -> None:
    """Do what the compiled loop does, with a filter library."""
    from scipy.signal import lfilter

    def smooth(sound: F64, pole: float, place: int) -> F64:
        heard, _ = lfilter([pole], [1.0, pole - 1.0], sound, zi=[(1.0 - pole) * float(state[place])])
        state[place] = heard[-1]
        return heard

    if not len(x):
        return
    now = x.astype(np.float64) * gain
    rumble, low, high = (float(pole) for pole in poles)
    clear = now - smooth(now, rumble, 0)
    bass = smooth(smooth(clear, low, 1), low, 2)
    first = clear - smooth(clear, high, 3)
    second = first - smooth(first, high, 4)
    for row, sound in zip(out, (clear, bass, second), strict=True):
        row[:] = (sound.reshape(-1, hop) ** 2).sum(axis=1)
