"""How much later one sound is than another: whitened correlation, averaged over many short pieces.

Conventions: a lag is positive where the second sound is the later one. Pieces are cut with a Hann window and only a
band is looked at: a source with nothing but lows, cut without a window, makes a whitened correlation lock to lag 0.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.units.faults import OutOfRange

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
FINER = 4  # times that the correlation is interpolated before a parabola goes through its peak
_QUIET = 1e-6  # of the strongest line of a piece: below it there is nothing to tell a phase from


@dataclass(frozen=True)
class Correlation:
    """A whitened correlation over lags."""

    rate_hz: float
    values: F64  # from lag 0 on, then the negative lags, `FINER` to a sample
    pieces: int

    def peak(self, low_s: float, high_s: float, *, either_sign: bool = False, first_share: float = 1.0) -> Peak:
        """Find the highest value between two lags, or the first that is nearly as high.

        Parameters
        ----------
        low_s, high_s
            The range of lags. [s]
        either_sign
            Whether a trough counts as well, as of a sound with its polarity reversed.
        first_share
            Of the highest value that the first peak must have to be taken: sound that comes straight comes before what
            comes by way of the walls, and far from its source it need not be the strongest. [1]
        """
        step = self.rate_hz * FINER
        places = np.arange(int(np.ceil(low_s * step)), int(np.floor(high_s * step)) + 1)
        if not len(places):
            raise OutOfRange(f"no lag lies between {low_s} and {high_s} s", "correlation", "give a wider range")
        near = self.values[places % len(self.values)]
        height = np.abs(near) if either_sign else near
        top = int(np.argmax(height))
        if first_share < 1:
            inside = height[1:-1]
            peaks = (inside >= height[:-2]) & (inside >= height[2:]) & (inside >= first_share * height[top])
            top = min(top, 1 + int(np.argmax(peaks))) if peaks.any() else top
        at = int(places[top])
        below, here, above = (float(self.values[(at + d) % len(self.values)]) for d in (-1, 0, 1))
        bend = below - 2 * here + above
        offset = 0.5 * (below - above) / bend if bend else 0.0
        noise = float(np.sqrt(np.mean(self.values**2)))
        lag_s = (at + float(np.clip(offset, -1, 1))) / step
        return Peak(lag_s, here, abs(here) / noise if noise else 0.0, 1 if here >= 0 else -1)


@dataclass(frozen=True, slots=True)
class Peak:
    """The peak of a correlation."""

    lag_s: float  # positive where the second sound is later
    height: float  # 1 where both are one sound, nothing else
    clear: float  # height against the root mean square of the whole correlation
    sign: int  # -1 where one is the other turned over


def correlate(
    pairs: Iterable[tuple[F32, F32]], size: int, rate_hz: float, band_hz: tuple[float, float] = (120.0, 6000.0)
) -> Correlation:
    """Correlate pieces of two sounds.

    Parameters
    ----------
    pairs
        Pieces of the first and of the second sound at the same time, each of `size` samples.
    size
        Length of a piece; at least twice the longest lag looked for. [sample]
    rate_hz
        Sample rate. [Hz]
    band_hz
        The band that is looked at. [Hz]

    Sources
    -------
    [KnappCarter]: the cross spectrum is divided by its magnitude (phase transform), here piece by piece.
    """
    from scipy.fft import irfft, rfft

    window = np.hanning(size + 1)[:-1].astype(np.float32)
    low, high = (int(hz * size / rate_hz) for hz in band_hz)
    band = slice(max(1, low), min(size // 2, high) + 1)
    total = np.zeros(size // 2 + 1, np.complex128)
    lines = pieces = 0
    for first, second in pairs:
        one, other = rfft(first * window)[band], rfft(second * window)[band]
        cross = other * np.conj(one)
        strength = np.abs(cross)
        heard = strength > _QUIET * max(float(strength.max(initial=0.0)), 1e-30)
        total[band][heard] += cross[heard] / strength[heard]
        lines += int(np.count_nonzero(heard))
        pieces += 1
    if lines:
        total *= size * FINER / (2 * lines)
    values: F64 = irfft(total, size * FINER)
    return Correlation(rate_hz, values, pieces)


def pieces_of(first: F32, second: F32, size: int, hop: int) -> Iterable[tuple[F32, F32]]:
    """Cut two sounds of the same length into pieces."""
    for start in range(0, min(len(first), len(second)) - size + 1, hop):
        yield first[start : start + size], second[start : start + size]
