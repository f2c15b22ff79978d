"""Whether a channel hums: lines at one mains frequency and its multiples, steady through the quiet stretches.

A single line is not hum: the low G of a bass is 1 Hz from 50. So at least two multiples must be there, agree on the
mains frequency, and stay where they are and as strong as they are in most of the quietest stretches, where music covers
least.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10

import numpy as np

from fieldfare.takes.measure.grain import F64, I64
from fieldfare.takes.measure.lowband import MAINS_HZ
from fieldfare.takes.measure.shapes import Low

LEAST_STRETCHES = 3
QUIET_SHARE = 0.3
ABOVE_FLOOR = 4.0  # 12 dB
PRESENT_SHARE = 0.75
STEADY_RATIO = 2.0  # between the 90th and the 10th percentile of a line's height: 6 dB
STEADY_HZ = 0.15
_SILENT = 1e-15  # mean square; digital black cannot hum


@dataclass(frozen=True, slots=True)
class Hum:
    """A steady hum."""

    mains_hz: float  # as measured
    harmonics: tuple[int, ...]
    line_dbfs: tuple[float, ...]  # of each; a full-scale sine reads 0
    dbfs: float  # all together, rms in the same convention
    share: float  # of the quiet stretches that the weakest of them is in


def find_hum(low: Low, mains_hz: float | None = None) -> Hum | None:
    """Return the hum of a channel, if it hums.

    Parameters
    ----------
    low
        The channel's low band.
    mains_hz
        Nominal frequency of the mains, where it is known. [Hz]
    """
    quiet = quiet_stretches(low)
    if not len(quiet):
        return None
    found = [
        _family(low.mains[quiet, m].astype(np.float64))
        for m, nominal_hz in enumerate(MAINS_HZ)
        if mains_hz is None or nominal_hz == mains_hz
    ]
    return max((one for one in found if one), key=lambda one: one.dbfs, default=None)


def quiet_stretches(low: Low) -> I64:
    """Return the quietest stretches in order, digital silence left out; none where there are too few to judge by."""
    heard = np.flatnonzero(low.level > _SILENT)
    if len(heard) < LEAST_STRETCHES:
        return heard[:0]
    count = max(LEAST_STRETCHES, round(QUIET_SHARE * len(heard)))
    return np.sort(heard[np.argsort(low.level[heard], kind="stable")[:count]])


def _family(lines: F64) -> Hum | None:
    """Judge the multiples of one mains; shape (stretches, harmonics, 3)."""
    steady: list[tuple[int, float, float, float]] = []
    for h in range(lines.shape[1]):
        height, hz, floor = lines[:, h].T
        there = height > ABOVE_FLOOR * floor
        share = float(there.mean())
        if share < PRESENT_SHARE:
            continue
        low, middle, high = np.percentile(height[there], (10, 50, 90))
        if high <= STEADY_RATIO * low and float(np.std(hz[there])) <= STEADY_HZ:
            steady.append((h + 1, float(middle), float(np.median(hz[there])), share))
    if len(steady) < 2:
        return None
    strongest_hz = max(steady, key=lambda one: one[1])[2]
    agreed = [one for one in steady if abs(one[2] - strongest_hz) <= STEADY_HZ]
    if len(agreed) < 2:
        return None
    power = sum(one[1] ** 2 for one in agreed)
    return Hum(
        mains_hz=sum(one[2] * one[1] ** 2 for one in agreed) / power,
        harmonics=tuple(one[0] for one in agreed),
        line_dbfs=tuple(20 * log10(one[1]) for one in agreed),
        dbfs=10 * log10(power),
        share=min(one[3] for one in agreed),
    )
