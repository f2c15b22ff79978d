"""From averaged spectra to a delay: how much later one track hears what another hears, which way up, and how sure.

The cross-spectrum is divided by its own size and weighed by how well the two tracks agree at each frequency: the
maximum likelihood processor of [GCC1976]. Phase alone, without that weight, trusts frequencies that hold nothing
but noise, and fails on a bass or a kick drum.

Conventions: delays in samples; above 0, b hears it after a. Heights are of the lag function, where a clean copy
gives 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.alignment.spectra import Between

F64 = NDArray[np.float64]
C128 = NDArray[np.complex128]

FINER = 4  # lags to a sample, before the parabola: its bias is then under 0.002 sample
BEST_AGREEMENT = 0.95  # more agreement than this at a frequency counts no more
LOWEST_HZ = 30.0
NEAR_S = 0.0012  # from a peak: other peaks within this belong to it
FLOOR_REACH_S = 0.08  # lags to both sides whose unrest is the noise of the lag function


@dataclass(frozen=True, slots=True)
class Lag:
    """One track against another."""

    delay: float  # b hears it so many samples after a
    plus_minus: float  # by how much the two halves of the segments disagree, and at least what can be read off
    polarity: int  # 1 or −1
    coherence: float  # 0 to 1: mean agreement over the frequencies that count
    level_db: float  # of what they share, in b against a
    confidence: float  # that delay and polarity are right, 0 to 1
    height: float
    rival: float  # height of the next best peak, against this one
    opposite: float  # of the highest peak the other way up, against this one
    unrest: float  # of the lag function far from its peak, against this one
    halves: float  # samples between the delays of the two halves


def lag_of(between: Between, rate_hz: int, within: tuple[float, float]) -> Lag | None:
    """Find the delay between two tracks.

    Parameters
    ----------
    between
        What they hear of one another.
    rate_hz
        Sample rate. [Hz]
    within
        Least and most delay looked at. [sample]

    Returns
    -------
    The lag; none where a track is silent or there are too few segments.

    Sources
    -------
    [GCC1976], the maximum likelihood processor.
    """
    spectra = list(zip(between.power_a, between.power_b, between.cross, between.segments, strict=True))
    if min(between.segments) < 4 or not between.power_a.any() or not between.power_b.any():
        return None
    whole = _lags(*spectra[2], rate_hz)
    if whole is None:
        return None
    peak = _peak(whole[0], within)
    by_half = (_lags(*one, rate_hz) for one in spectra[:2])
    halves = [_peak(one[0], within)[0] for one in by_half if one is not None]
    apart = max(abs(one - peak[0]) for one in halves) if len(halves) == 2 else within[1] - within[0]
    return _told(whole, peak, apart, spectra[2][:3], rate_hz, within)


def _lags(power_a: F64, power_b: F64, cross: C128, segments: int, rate_hz: int) -> tuple[F64, F64] | None:
    """Return the lag function, 0 first and negative lags at its end, and the agreement at each frequency."""
    from scipy.fft import irfft

    size = 2 * (len(cross) - 1)
    both = power_a * power_b
    squared = np.divide(np.abs(cross) ** 2, both, out=np.zeros(len(both)), where=both > 0)
    agreement = np.clip((squared - 1 / segments) / (1 - 1 / segments), 0.0, 1.0)  # chance alone gives 1/segments
    agreement[: int(LOWEST_HZ * size / rate_hz) + 1] = 0.0
    counted = np.minimum(agreement, BEST_AGREEMENT)
    weights = counted / (1 - counted)
    if not weights.any():
        return None
    phase = np.divide(cross, np.abs(cross), out=np.zeros_like(cross), where=np.abs(cross) > 0)
    curve: F64 = irfft(weights * phase, size * FINER) * (size * FINER / (2 * weights.sum()))
    return curve, agreement


def _peak(curve: F64, within: tuple[float, float]) -> tuple[float, float]:
    """Find the peak of larger magnitude: its delay in samples, between the points by a parabola, and its height."""
    points = np.arange(int(np.floor(within[0] * FINER)), int(np.ceil(within[1] * FINER)) + 1)
    at = int(points[np.argmax(np.abs(curve[points]))])
    left, here, right = (abs(float(curve[at + by])) for by in (-1, 0, 1))
    bend = left - 2 * here + right
    off = max(-0.5, min(0.5, 0.5 * (left - right) / bend)) if bend else 0.0
    return (at + off) / FINER, float(curve[at])


def _told(
    whole: tuple[F64, F64],
    peak: tuple[float, float],
    apart: float,
    spectra: tuple[F64, F64, C128],
    rate_hz: int,
    within: tuple[float, float],
) -> Lag:
    curve, agreement = whole
    delay, height = peak
    rival, opposite, unrest = _rivals(curve, peak, rate_hz, within)
    strength = np.sqrt(spectra[0] * spectra[1])
    shared = float((agreement * strength).sum() / strength.sum())
    gain = float((agreement * np.abs(spectra[2])).sum() / (agreement * spectra[0]).sum())
    return Lag(
        delay=delay,
        plus_minus=max(0.05, apart),
        polarity=1 if height > 0 else -1,
        coherence=min(1.0, shared),
        level_db=20 * float(np.log10(max(gain, 1e-6))),
        confidence=sureness(abs(height), rival, opposite, unrest, apart),
        height=abs(height),
        rival=rival,
        opposite=opposite,
        unrest=unrest,
        halves=apart,
    )


def _rivals(
    curve: F64, peak: tuple[float, float], rate_hz: int, within: tuple[float, float]
) -> tuple[float, float, float]:
    """What speaks against a peak: the next best one, the best the other way up, and the unrest around, all re it."""
    delay, height = peak
    near, reach = NEAR_S * rate_hz, FLOOR_REACH_S * rate_hz
    lags = np.arange(-int(reach * FINER), int(reach * FINER)) / FINER
    values = curve[(lags * FINER).astype(np.int64)] / height
    far = np.abs(lags - delay) > near
    inside = (lags >= within[0]) & (lags <= within[1])
    rival = float(np.abs(values[far & inside]).max(initial=0.0))
    opposite = float(-values[inside].min(initial=0.0))
    unrest = float(np.median(np.abs(values[far]))) / 0.6745 if far.any() else 1.0
    return rival, max(0.0, opposite), unrest


def sureness(height: float, rival: float, opposite: float, unrest: float, apart: float) -> float:
    """Turn what speaks for and against a peak into a probability that its delay and its polarity are right.

    The weights were set on rendered shows whose delays are known, so that of the lags told as 0.9 more than nine in ten
    are right; `bench/alignment.py` holds that.
    """
    odds = 2.0 + 8.0 * (0.75 - max(rival, opposite)) + 4.0 * (0.15 - unrest) / 0.15 - 2.0 * min(apart, 4.0)
    odds += 2.0 * min(0.0, height - 0.2) / 0.2
    return 1 / (1 + exp(-max(-20.0, min(20.0, odds))))
