"""The bus of a mix: a limiter that looks ahead, and the gain that brings the mix to its loudness.

The limiter works on a course of true peaks, one for each millisecond. What it takes off falls in a straight line over
the five milliseconds before a peak and comes back slowly after it; as the course of its gain is known beforehand, so is
the loudness behind it, to within a few hundredths.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.loudness.gates import integrated_lufs, windows
from fieldfare.takes.loudness.kernels import kernels
from fieldfare.takes.loudness.meter import GRAINS, HOP, MOMENTARY, GrainPower
from fieldfare.takes.loudness.peaks import interpolators
from fieldfare.takes.rough.kernels import kernels as mix_kernels

PER_S = 1000  # points of the course of peaks in a second
AHEAD = 5  # points
RELEASE_S = 0.12  # to 1/e of what was taken off; PRACTICE
_TAPS = 16
_FACTOR, _HIGH_FACTOR, _HIGH_HZ = 4, 2, 96_000  # times the rate, and those above so many hertz
_MOST_DB = 18.0  # of gain beyond what an unlimited mix would need; PRACTICE
_NEAR_LU = 0.002
_QUIETEST = 1e-9
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]


class BusCourse:
    """Follows a mix before its bus: true peaks by the millisecond, K-weighted power by the hundredth of a second."""

    def __init__(self, rate_hz: int, *, compiled: bool | None = None) -> None:
        self.hop = max(1, round(rate_hz / PER_S))
        self._kernels = kernels(compiled)
        self._phases: F32 = interpolators(_FACTOR if rate_hz <= _HIGH_HZ else _HIGH_FACTOR, _TAPS).astype(np.float32)
        self._grains = GrainPower(2, rate_hz, compiled=compiled)
        self._kept: F32 = np.zeros((2, _TAPS), np.float32)
        self._lead = _TAPS // 2
        self._peaks: list[F32] = []
        self._power: list[F64] = []

    def feed(self, x: F32) -> None:
        """Take the next samples, shape (frames, 2)."""
        self._power.append(self._grains.feed(x).sum(axis=1))
        self._look(np.concatenate([self._kept, x.T], axis=1))

    def _look(self, x: F32) -> None:
        """Measure the hops that are whole; half a filter on each side of them is kept."""
        half = _TAPS // 2
        hops = (x.shape[1] - _TAPS) // self.hop
        peaks: F32 = np.zeros(max(0, hops), np.float32)
        if hops > 0:
            for row in x:
                whole = np.ascontiguousarray(row[: hops * self.hop + 2 * half])
                self._kernels.hop_peaks(whole, self._phases, self.hop, peaks)
            self._peaks.append(peaks)
        self._kept = x[:, max(0, hops) * self.hop :].copy()

    def result(self) -> tuple[F32, F64]:
        """Return peaks and powers. The first peak begins half a filter ahead of the mix. To be called once."""
        pad = (-(self._kept.shape[1] - _TAPS)) % self.hop + self.hop
        self._look(np.pad(self._kept, ((0, 0), (0, pad))))
        none: F32 = np.zeros(0, np.float32)
        return np.concatenate([none, *self._peaks]), np.concatenate([np.zeros(0), *self._power])


def limiter_course(peaks: F32, gain: float, ceiling: float) -> F32:
    """Gain of the limiter at the start of every point of the course, and at the end of the last.

    Parameters
    ----------
    peaks
        True peak of every point, before the gain. [1]
    gain
        Ahead of the limiter. [1]
    ceiling
        Highest value that may come out. [1]
    """
    from scipy.ndimage import minimum_filter1d, uniform_filter1d

    edges: F32 = np.ones(len(peaks) + 1, np.float32)
    allowed = np.minimum(edges[1:], np.float32(ceiling / gain) / np.maximum(peaks, np.float32(_QUIETEST)))
    edges[1:] = allowed
    edges[:-1] = np.minimum(edges[:-1], allowed)
    if edges.min() >= 1.0:
        return edges
    held = 1 - _released(1 - minimum_filter1d(edges, 2 * AHEAD + 1, mode="nearest"))
    smooth: F32 = uniform_filter1d(held, 2 * AHEAD + 1, mode="nearest")
    return np.minimum(smooth, edges)


def _released(down: F32) -> F32:
    """Let what was taken off come back as an exponential: the highest of all that went before, each faded.

    Done in stretches, as the exponent would not fit otherwise.
    """
    fade = 1.0 / (RELEASE_S * PER_S)
    out = np.empty_like(down)
    before = 0.0
    size = int(400 / fade)
    for start in range(0, len(down), size):
        part = down[start : start + size].astype(np.float64)
        part[0] = max(part[0], before * np.exp(-fade))
        grown = fade * np.arange(len(part))
        with np.errstate(divide="ignore"):
            out[start : start + size] = np.exp(np.maximum.accumulate(np.log(part) + grown) - grown)
        before = float(out[min(start + size, len(down)) - 1])
    return out


@dataclass(frozen=True)
class BusGain:
    """What the bus does to a mix."""

    gain_db: float
    course: F32  # of the limiter
    limited_db: float  # most that it takes off
    limited_share: float  # share of the time in which it takes off more than 1 dB


def fit(peaks: F32, power: F64, target_lufs: float, ceiling_dbtp: float) -> BusGain:
    """Find the gain that brings a mix to its loudness behind the limiter.

    Parameters
    ----------
    peaks, power
        The course of the mix, from `BusCourse`.
    target_lufs
        Loudness wanted. [LUFS]
    ceiling_dbtp
        Highest true peak wanted. [dBTP]
    """
    ceiling = 10 ** (ceiling_dbtp / 20)
    unlimited = integrated_lufs(windows(power, MOMENTARY, HOP))
    if not np.isfinite(unlimited):
        return BusGain(0.0, np.ones(len(peaks) + 1, np.float32), 0.0, 0.0)
    gain_db = first_db = target_lufs - unlimited
    slope, last_db, last = 1.0, gain_db, target_lufs
    for turn in range(24):
        course = limiter_course(peaks, 10 ** (gain_db / 20), ceiling)
        reached = gain_db + _loudness(power, course)
        if abs(target_lufs - reached) < _NEAR_LU or gain_db >= first_db + _MOST_DB:
            break
        if turn and gain_db != last_db:
            slope = float(np.clip((reached - last) / (gain_db - last_db), 0.1, 1.0))
        last_db, last = gain_db, reached
        gain_db = min(first_db + _MOST_DB, gain_db + (target_lufs - reached) / slope)
    taken = -20 * np.log10(np.maximum(course, 1e-6))
    return BusGain(gain_db, course, float(taken.max()), float(np.mean(taken > 1.0)))


def _loudness(power: F64, course: F32) -> float:
    """Loudness of a mix behind the limiter, before the gain."""
    per = PER_S // GRAINS
    squares = course[: len(power) * per].astype(np.float64) ** 2
    squares = np.pad(squares, (0, max(0, len(power) * per - len(squares))), constant_values=1.0)
    limited = power * squares.reshape(-1, per).mean(axis=1)
    return integrated_lufs(windows(limited, MOMENTARY, HOP))


def limited(x: F32, first: int, bus: BusGain, hop: int, *, compiled: bool | None = None) -> F32:
    """Send samples through the bus.

    Parameters
    ----------
    x
        Shape (frames, 2).
    first
        Place of the first of them in the mix.
    bus
        What the bus does.
    hop
        Samples between two points of the limiter's course.
    compiled
        Whether to use compiled loops; by default where they can be had.
    """
    out = np.empty_like(x)
    mix_kernels(compiled).limit(x, first + _TAPS // 2, bus.course, hop, 10 ** (bus.gain_db / 20), out)
    return out
