"""How alike two channels are: by their low bands, from the excerpts that both kept of the same stretches.

Correlation weighs loud stretches most. The lag comes from the cross-spectrum of all stretches, each bin divided by the
two channels' own strength there and weighed by how well the two agree ([GCC1976]): plain phase weighting fails on
low sources.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.lag import Correlation, curve_of
from fieldfare.takes.measure.grain import F32, F64
from fieldfare.takes.measure.shapes import Low

BAND_HZ = (40.0, 500.0)


@dataclass(frozen=True, slots=True)
class Likeness:
    """How two channels agree. Heights are of the lag spectrum, 1 for a copy; lags above 0: the second is late."""

    correlation: float  # without a lag
    rest_db: float  # what a scaled copy of the first leaves of the second
    upright: float  # highest peak
    upright_lag_s: float
    reversed: float  # deepest trough
    reversed_lag_s: float
    stretches: int


def excerpts_in_common(first: Low, second: Low) -> tuple[F32, F32]:
    """Return the excerpts of the stretches that both channels kept, each (stretches, samples)."""
    _, one, other = np.intersect1d(first.excerpt_at, second.excerpt_at, assume_unique=True, return_indices=True)
    return first.excerpt[one], second.excerpt[other]


def correlations(lows: list[Low]) -> F64:
    """Return the correlation of every channel with every other, where all kept the same stretches."""
    flat = np.stack([low.excerpt.reshape(-1) for low in lows])
    strength = np.sqrt(np.einsum("ij,ij->i", flat, flat))
    strength[strength == 0] = 1.0
    flat /= strength[:, np.newaxis]
    return (flat @ flat.T).astype(np.float64)


def likeness(first: Low, second: Low, rate_hz: int, most_lag_s: float) -> Likeness | None:
    """Compare two channels of the same recording.

    Parameters
    ----------
    first, second
        Their low bands.
    rate_hz
        Sample rate of the recording. [Hz]
    most_lag_s
        Longest lag looked at, to both sides. [s]

    Returns
    -------
    How alike they are; none where one of them is silent or nothing was kept in common.
    """
    one, other = (part.astype(np.float64) for part in excerpts_in_common(first, second))
    if not one.size or not one.any() or not other.any():
        return None
    own, others, both = (float((a * b).sum()) for a, b in ((one, one), (other, other), (one, other)))
    correlation = both / np.sqrt(own * others)
    curve = _lag_spectrum(one, other, rate_hz / first.step)
    most = int(most_lag_s * curve.step_hz)
    places = np.arange(-most, most + 1)
    height, lag_s = curve.values[places % len(curve.values)], places / curve.step_hz
    up, down = int(height.argmax()), int(height.argmin())
    return Likeness(
        correlation=float(correlation),
        rest_db=float(10 * np.log10(max(1 - correlation**2, 1e-15))),
        upright=max(0.0, float(height[up])),
        upright_lag_s=float(lag_s[up]),
        reversed=max(0.0, float(-height[down])),
        reversed_lag_s=float(lag_s[down]),
        stretches=len(one),
    )


def _lag_spectrum(one: F64, other: F64, rate_hz: float) -> Correlation:
    """Return heights over lags."""
    samples = one.shape[1]
    window = np.hanning(samples + 1)[:-1]
    a, b = np.fft.rfft(one * window, axis=1), np.fft.rfft(other * window, axis=1)
    cross = _smooth((a.conj() * b).sum(axis=0))
    strength = np.sqrt(_smooth((np.abs(a) ** 2).sum(axis=0)).real * _smooth((np.abs(b) ** 2).sum(axis=0)).real)
    first, last = ceil(BAND_HZ[0] * samples / rate_hz), floor(BAND_HZ[1] * samples / rate_hz)
    agreed = (cross / np.maximum(strength, 1e-30))[first : last + 1]
    weight = np.abs(agreed)
    return curve_of(agreed * weight, first, samples, rate_hz, float(weight.mean()))


def _smooth(bins: NDArray[np.complex128 | np.float64]) -> NDArray[np.complex128]:
    """Average over five neighbouring bins, so that a single stretch can disagree with itself."""
    smooth: NDArray[np.complex128] = np.convolve(bins, np.ones(5) / 5, mode="same").astype(np.complex128)
    return smooth
