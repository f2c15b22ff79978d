"""From the power of short stretches to loudness: windows, gates and range."""

from __future__ import annotations

import numpy as np

from fieldfare.takes.loudness.weighting import OFFSET_DB
from fieldfare.takes.measure.grain import F64

ABSOLUTE_LUFS = -70.0  # [BS1770] annex 1, equation 4
RELATIVE_LU = -10.0  # [BS1770] annex 1, equation 6
RANGE_RELATIVE_LU = -20.0  # [EBU3342] section 3.1
RANGE_LOW, RANGE_HIGH = 10.0, 95.0  # per cent; [EBU3342] section 3.1


def lufs(power: F64 | float) -> F64:
    """Turn weighted mean squares, summed over the channels, into loudness; silence is -inf. [LUFS]"""
    with np.errstate(divide="ignore"):
        loudness: F64 = OFFSET_DB + 10 * np.log10(np.asarray(power, np.float64))  # [BS1770] annex 1, equation 2
    return loudness


def windows(power: F64, count: int, hop: int = 1) -> F64:
    """Mean power of windows of so many stretches, each `hop` after the one before; none where there are too few."""
    if len(power) < count:
        return np.empty(0)
    total = np.concatenate([[0.0], np.cumsum(power)])
    means: F64 = np.maximum(total[count::hop] - total[:-count:hop], 0.0) / count
    return means


def integrated_lufs(blocks: F64) -> float:
    """Gated loudness of blocks of 400 ms that overlap by three quarters; -inf where nothing passes the gate.

    Parameters
    ----------
    blocks
        Weighted mean square of each, summed over the channels. [1]

    Sources
    -------
    [BS1770] annex 1, equations 3 to 7.
    """
    loud = blocks[lufs(blocks) > ABSOLUTE_LUFS]
    if not len(loud):
        return -np.inf
    gate = lufs(loud.mean()) + RELATIVE_LU
    return float(lufs(loud[lufs(loud) > gate].mean()))


def loudness_range_lu(blocks: F64) -> float:
    """Loudness range of windows of 3 s; 0 where nothing passes the gates.

    Parameters
    ----------
    blocks
        Weighted mean square of each window, at 10 Hz. [1]

    Sources
    -------
    [EBU3342] section 3.1 and the code of its section 5.
    """
    loud = blocks[lufs(blocks) > ABSOLUTE_LUFS]
    if not len(loud):
        return 0.0
    gate = lufs(loud.mean()) + RANGE_RELATIVE_LU
    course = np.sort(lufs(loud[lufs(loud) > gate]))
    low, high = (course[int(np.floor((len(course) - 1) * part / 100 + 0.5))] for part in (RANGE_LOW, RANGE_HIGH))
    return float(high - low)
