"""Whether a channel hums: lines at one mains frequency and its multiples, steady through the quiet stretches.

A single line is not hum: the low G of a bass is 1 Hz from 50. So at least two multiples must be there, agree on the
mains frequency, and stay where they are and as strong as they are in most of the quietest stretches, where music covers
least.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from fieldfare.takes.measure.grain import F64, I64, LOW_S
from fieldfare.takes.measure.lowband import HARMONICS, MAINS_HZ, MAINS_TOLERANCE
from fieldfare.takes.measure.shapes import Low

LEAST_STRETCHES = 3
QUIET_SHARE = 0.3
ABOVE_FLOOR = 4.0  # 12 dB
PRESENT_SHARE = 0.75
STEADY_RATIO = 2.0  # between the 90th and the 10th percentile of a line's height: 6 dB
STEADY_HZ = 0.15
PAUSE_S = 0.2  # frame in which hum is looked for in short pauses
PAUSE_SHARE = 0.08  # of the frames, the quietest, are looked at
PAUSE_HUM = 0.5  # of what sounds in them below 750 Hz has to lie in the lines
LEAST_PAUSES = 6
LEAST_PAIRS = 3  # frames that overlap, to tell the mains by
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
    return max((one for one in found if one), key=lambda one: one.dbfs, default=None) or _in_pauses(low, mains_hz)


def _in_pauses(low: Low, mains_hz: float | None) -> Hum | None:
    """Look for hum in pauses that are too short for a stretch: the quietest fifths of a second of the excerpts.

    Lines are 50 Hz apart there and 10 Hz wide, so the mains is told by how far their phases go from one frame to the
    next, half a frame later.
    """
    count = round(PAUSE_S * low.excerpt.shape[1] / LOW_S) // 2 * 2
    if len(low.excerpt) < LEAST_STRETCHES or count < 8:
        return None
    frames = sliding_window_view(low.excerpt, count, axis=1)[:, :: count // 2].astype(np.float64)
    frames = (frames - frames.mean(axis=2, keepdims=True)) * np.hanning(count + 1)[:-1]
    power = np.mean(frames**2, axis=2)
    heard = np.sort(power[power > _SILENT])
    if len(heard) < LEAST_PAUSES / PAUSE_SHARE:
        return None
    quiet = (power > _SILENT) & (power <= heard[round(PAUSE_SHARE * len(heard))])
    rate_hz = low.excerpt.shape[1] / LOW_S
    found = [_lines_in(frames, power, quiet, rate_hz, one) for one in MAINS_HZ if mains_hz in (None, one)]
    return max((one for one in found if one), key=lambda one: one.dbfs, default=None)


def _lines_in(frames: F64, power: F64, quiet: NDArray[np.bool_], rate_hz: float, mains_hz: float) -> Hum | None:
    """Judge the multiples of one mains in quiet frames, (stretches, frames, samples), each with its power."""
    numbers = np.arange(1, HARMONICS + 1)
    numbers = numbers[numbers * mains_hz * (1 + MAINS_TOLERANCE) < 0.45 * rate_hz]
    count, hop = frames.shape[2], frames.shape[2] // 2
    turns = np.exp(-2j * np.pi * np.outer(np.arange(count), numbers * mains_hz) / rate_hz)
    lines = frames @ turns * (4 / count)  # the window's mean is a half
    height = np.abs(lines)
    share = np.sum(height[quiet] ** 2, axis=1) * (3 / 16) / power[quiet]  # a half of the window's mean square
    pairs = quiet[:, :-1] & quiet[:, 1:]
    if float(np.median(share)) < PAUSE_HUM or np.count_nonzero(pairs) < LEAST_PAIRS:
        return None
    ahead = np.angle(np.sum((lines[:, 1:] * np.conj(lines[:, :-1]))[pairs], axis=0))
    ahead -= 2 * np.pi * numbers * mains_hz * hop / rate_hz
    off_hz = (ahead + np.pi) % (2 * np.pi) - np.pi
    hz = mains_hz + off_hz * rate_hz / (2 * np.pi * hop) / numbers
    weak, middle, strong = np.percentile(height[quiet], (10, 50, 90), axis=0)
    strongest = int(np.argmax(middle))
    steady = (strong <= STEADY_RATIO * weak) & (np.abs(hz - hz[strongest]) <= 2 * STEADY_HZ)
    steady &= middle >= middle[strongest] / 30
    if (
        np.count_nonzero(steady) < 2
        or abs(hz[strongest] - mains_hz) > MAINS_TOLERANCE * mains_hz
        or not steady[strongest]
    ):
        return None
    heights = middle[steady]
    return Hum(
        mains_hz=float(np.average(hz[steady], weights=heights**2)),
        harmonics=tuple(numbers[steady].tolist()),
        line_dbfs=tuple((20 * np.log10(heights)).tolist()),
        dbfs=10 * log10(float(np.sum(heights**2))),
        share=float(np.mean(share >= PAUSE_HUM)),
    )


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
