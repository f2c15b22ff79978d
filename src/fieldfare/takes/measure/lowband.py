"""The low band of every channel: lines at the mains and their multiples, and excerpts to compare channels by.

The band is the recording summed over 32 frames or a power of two more, so it runs at about 1500 Hz. It is cut into
stretches of about two seconds; each goes through one windowed Fourier transform. A line is a peak of the spectrum
within 1 % of a multiple of the mains ([EN50160]); its height and place come from the two highest bins, which is exact
for a steady tone under a Hann window.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product
from math import ceil, floor, log2

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.measure.grain import CELL, F32, F64, I32, I64, LOW_HZ, LOW_S
from fieldfare.takes.measure.kernels import Kernels
from fieldfare.takes.measure.shapes import Low

MAINS_HZ = (50.0, 60.0)
HARMONICS = 5
MOST_EXCERPTS = 64
MAINS_TOLERANCE = 0.01
_READING = 0.0002  # what noise moves a reading by
_BATCH = 1024  # stretches of all channels together, so that the cost of a call is shared
_ABREAST = 8  # rows that go through a transform side by side in the time of one
_ASIDE = (3.0, 9.0)  # where the floor beside a line is taken, Hz

Spectra = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Lines:
    """Where in a spectrum the multiples of the mains are looked for: those that the low band reaches."""

    mains: I64  # which of `MAINS_HZ`
    harmonic: I64
    centre_hz: F64
    places: I64  # (lines, 6): bins from and to which the line may lie, and the same below and above it, for its floor
    lost: F64  # by which summing samples to the low band has lowered it


def _lines_of(rate_hz: float, samples: int, step: int) -> _Lines:
    """Return them for spectra of so many samples at a rate, each the sum of `step` of the recording."""
    bin_hz = rate_hz / samples
    reached = [
        (m, h)
        for m, h in product(range(len(MAINS_HZ)), range(1, HARMONICS + 1))
        if MAINS_HZ[m] * h * (1 + MAINS_TOLERANCE) + _ASIDE[1] < rate_hz / 2
    ]
    places: I64 = np.empty((len(reached), 6), np.int64)
    centres = [MAINS_HZ[m] * h for m, h in reached]
    for place, centre in zip(places, centres, strict=True):
        reach = max((MAINS_TOLERANCE + _READING) * centre, bin_hz)
        near, far = _ASIDE
        place[:2] = floor((centre - reach) / bin_hz), ceil((centre + reach) / bin_hz) + 1
        place[2:] = [round((centre + d) / bin_hz) for d in (-far, -near, near, far)]
    lost = [1 / abs(np.sinc(centre / rate_hz) / np.sinc(centre / rate_hz / step)) for centre in centres]
    mains, harmonic = np.array(reached, np.int64).reshape(-1, 2).T
    return _Lines(mains, harmonic, np.array(centres, np.float64), places, np.array(lost, np.float64))


class LowKeeper:
    """Gathers what is wanted of the low band of all channels, in bounded memory."""

    def __init__(self, channels: int, rate_hz: int, full_scale: int, kernels: Kernels) -> None:
        from scipy.fft import rfft  # takes several rows at a time, which numpy's does not

        self._fourier: Callable[[F32], NDArray[np.complex64]] = rfft
        cells_per = 1 << max(1, round(log2(rate_hz / (CELL * LOW_HZ))))
        self.step = cells_per * CELL
        self._cells_per, self._scale, self._kernels = cells_per, 1 / (self.step * float(full_scale)), kernels
        self._rate = rate_hz / self.step
        self.samples = round(LOW_S * self._rate)
        highest_hz = MAINS_HZ[-1] * HARMONICS * (1 + MAINS_TOLERANCE) + 2 * _ASIDE[1]
        self._bins = ceil(highest_hz * self.samples / self._rate) + 1  # no higher ones are looked at
        self._lines = _lines_of(self._rate, self.samples, self.step)
        self._window = np.hanning(self.samples + 1)[:-1].astype(np.float32)
        self._channels = channels
        self._band: F32 = np.empty((channels, 0), np.float32)  # has room for a stretch and what comes at a time
        self._filled = 0
        self._rows: F32 = np.empty((0, self.samples), np.float32)
        self._waiting: list[F32] = []  # spectra, each (channels, stretches, bins)
        self._level: list[F32] = []
        self._mean: list[F32] = []
        self._mains: list[F32] = []
        self._stride, self._seen = 1, 0
        self._kept: list[int] = []  # which stretches
        self._excerpts: F32 = np.empty((channels, MOST_EXCERPTS, self.samples), np.float32)

    def add(self, cells: I32, first: int, count: int) -> None:
        """Add sums of cells, (channels, cells), from the first on so many; whole samples, but for the last time."""
        new = count // self._cells_per
        if self._filled + new > self._band.shape[1]:
            room: F32 = np.empty((self._channels, self.samples + new), np.float32)
            room[:, : self._filled] = self._band[:, : self._filled]
            self._band = room
        self._kernels.fold(cells, first, self._cells_per, self._scale, self._band, self._filled, new)
        self._filled += new
        whole = self._filled // self.samples
        if whole:
            used = whole * self.samples
            self._take(self._band[:, :used].reshape(self._channels, whole, self.samples))
            self._band[:, : self._filled - used] = self._band[:, used : self._filled].copy()
            self._filled -= used

    def _take(self, band: F32) -> None:
        """Take stretches, (channels, stretches, samples)."""
        for place in range(band.shape[1]):
            self._keep(band[:, place])
        count = self._channels * band.shape[1]
        if count > len(self._rows):
            self._rows = np.zeros((-(-count // _ABREAST) * _ABREAST, self.samples), np.float32)
        rows = self._rows[: -(-count // _ABREAST) * _ABREAST]
        shaped = rows[:count].reshape(band.shape)
        self._level.append(np.multiply(band, band, out=shaped).mean(axis=2))
        self._mean.append(band.mean(axis=2))
        np.multiply(band, self._window, out=shaped)
        spectra = np.abs(self._fourier(rows)[:count, : self._bins])
        self._waiting.append(spectra.reshape(*band.shape[:2], -1))
        if sum(one.shape[1] for one in self._waiting) * self._channels >= _BATCH:
            self._look()

    def _keep(self, stretch: F32) -> None:
        """Keep every so many stretches; twice as many lie between once there are enough."""
        if self._seen % self._stride == 0:
            if len(self._kept) == MOST_EXCERPTS:
                self._kept, self._stride = self._kept[::2], self._stride * 2
                self._excerpts[:, : len(self._kept)] = self._excerpts[:, : 2 * len(self._kept) : 2]
            if self._seen % self._stride == 0:
                self._excerpts[:, len(self._kept)] = stretch
                self._kept.append(self._seen)
        self._seen += 1

    def _look(self) -> None:
        """Find the lines of the spectra that wait."""
        if not self._waiting:
            return
        spectra = np.concatenate(self._waiting, axis=1) * (2 / self._window.sum())
        self._waiting = []
        flat, one = spectra.reshape(-1, spectra.shape[2]), self._lines
        at: I64 = np.empty((len(flat), len(one.centre_hz)), np.int64)
        near: F32 = np.empty((3, *at.shape), np.float32)
        beside: F32 = np.empty(at.shape, np.float32)
        self._kernels.lines(flat, one.places, at, near, beside)
        begin, end = one.places[:, 0], one.places[:, 1]
        inside = (at > begin) & (at < end - 1)
        amplitude, offset = _between_bins(*near)
        hz = (np.clip(at, begin + 1, end - 2) + offset) * (self._rate / self.samples)
        inside &= np.abs(hz - one.centre_hz) <= (MAINS_TOLERANCE + _READING) * one.centre_hz
        lines = np.zeros((len(flat), len(MAINS_HZ), HARMONICS, 3), np.float32)
        lines[:, one.mains, one.harmonic - 1] = np.stack(
            [np.where(inside, amplitude * one.lost, 0.0), hz / one.harmonic, beside], axis=2
        )
        self._mains.append(lines.reshape(*spectra.shape[:2], *lines.shape[1:]))

    def lows(self) -> list[Low]:
        """Return the low band of every channel."""
        self._look()
        channels = self._channels
        level = _whole(self._level, (channels, 0))
        mean = _whole(self._mean, (channels, 0))
        mains = _whole(self._mains, (channels, 0, len(MAINS_HZ), HARMONICS, 3))
        at: I64 = np.array(self._kept, np.int64)
        return [
            Low(self.step * self.samples, self.step, level[c], mean[c], mains[c], at, self._excerpts[c, : len(at)])
            for c in range(channels)
        ]


def _whole(parts: list[F32], none: tuple[int, ...]) -> F32:
    """Put parts together, and let go of them."""
    whole = np.concatenate([np.empty(none, np.float32), *parts], axis=1)
    parts.clear()
    return whole


def _between_bins(below: Spectra, peak: Spectra, above: Spectra) -> tuple[Spectra, Spectra]:
    """Amplitude of a steady tone and its place past the highest bin, from three bins under a Hann window.

    With r the ratio of the higher neighbour to the peak, the tone lies d = (2r - 1)/(r + 1) of a bin towards it, and
    the bin shows sinc(d)/(1 - d²) of it: both follow from the window's transform.
    """
    side = np.where(above >= below, 1.0, -1.0)
    ratio = np.maximum(above, below) / np.maximum(peak, 1e-30)
    offset = np.clip((2 * ratio - 1) / (ratio + 1), 0.0, 0.5)
    return peak * (1 - offset**2) / np.sinc(offset), side * offset
