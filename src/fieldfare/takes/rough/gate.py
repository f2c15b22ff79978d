"""Idle microphones: when nobody uses one, from its own level alone, and how far it is turned down.

Its level has two heaps, what it is meant for and what spills into it; where they lie too near to one another nothing is
done. It is open a quarter of a second before its level passes the upper edge of the spill, so that no note loses its
start, however softly it begins; and it closes only where it would stay closed for a while.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.mix import IdleGate
from fieldfare.takes.loudness.gates import lufs
from fieldfare.takes.rough.levels import GRAINS, TrackPower

APART_LU = 12.0  # between the heaps, at least; PRACTICE, as all below
EDGE_LU = 3.0  # above nearly all of the spill
CLEAR_LU = 6.0  # below what it is meant for
IDLE_SHARE, IDLE_MOST = 0.1, 0.97
AHEAD = GRAINS // 4  # grains that it is open before its own sound
AFTER = GRAINS * 6 // 10
SHORTEST = GRAINS * 3 // 2  # it does not close for less
SLOPE = GRAINS // 5
_SMOOTH = 5
_LOWEST_LUFS = -90.0
F64 = NDArray[np.float64]


def gate_of(power: TrackPower, place: int, songs: Sequence[tuple[int, int]]) -> IdleGate | None:
    """Choose the level below which a microphone is idle; none where its own sound does not stand clear of the spill.

    Parameters
    ----------
    power
        Loudness of all tracks from moment to moment.
    place
        Which track.
    songs
        First sample and sample after the last of every song.
    """
    course = _level(power, place)
    inside = np.concatenate([np.empty(0), *(course[power.grains(*song)] for song in songs)])
    inside = inside[inside > _LOWEST_LUFS]
    if len(inside) < 10 * GRAINS:
        return None
    parted = _parting(inside)
    idle, own = inside[inside < parted], inside[inside >= parted]
    if not IDLE_SHARE <= len(idle) / len(inside) <= IDLE_MOST:
        return None
    spill, used = float(np.mean(idle)), float(np.mean(own))
    below = min(float(np.percentile(idle, 90)) + EDGE_LU, used - CLEAR_LU)
    if used - spill < APART_LU or below < float(np.percentile(idle, 60)):
        return None
    return IdleGate(below_lufs=round(below, 1))


def gate_course(power: TrackPower, place: int, gate: IdleGate) -> F64:
    """Gain of a gate over the take, at the start of every grain; 1 where it is open.

    Parameters
    ----------
    power, place
        As for `gate_of`.
    gate
        Its settings.
    """
    used = _level(power, place) >= gate.below_lufs
    count = len(used)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], used.astype(np.int8), [0]])))
    open_spans: list[list[int]] = []
    for first, last in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        begin, end = max(0, first - AHEAD), min(count, last + AFTER)
        if open_spans and begin - open_spans[-1][1] < SHORTEST + 2 * SLOPE:
            open_spans[-1][1] = end
        else:
            open_spans.append([begin, end])
    closed = 10 ** (-gate.down_db / 20)
    points, values = [0.0], [closed if not open_spans or open_spans[0][0] > 0 else 1.0]
    for begin, end in open_spans:
        points += [begin - SLOPE, begin, end, end + SLOPE]
        values += [closed, 1.0, 1.0, closed]
    course: F64 = np.interp(np.arange(count + 1), points, values)
    return course


def _level(power: TrackPower, place: int) -> F64:
    """Loudness of a tenth of a second around every grain. [LUFS]"""
    row = power.power[place].astype(np.float64)
    return np.maximum(lufs(np.convolve(row, np.full(_SMOOTH, 1 / _SMOOTH), "same")), _LOWEST_LUFS - 10)


def _parting(levels: F64) -> float:
    """Part levels into two heaps so that each varies least in itself (Otsu's criterion). [LUFS]"""
    counts, edges = np.histogram(levels, bins=np.arange(np.floor(levels.min()), np.ceil(levels.max()) + 1.5, 0.5))
    middle = (edges[:-1] + edges[1:]) / 2
    below = np.cumsum(counts)
    above = below[-1] - below
    total = np.cumsum(counts * middle)
    with np.errstate(invalid="ignore", divide="ignore"):
        between = below * above * (total / below - (total[-1] - total) / above) ** 2
    return float(edges[1 + int(np.nanargmax(between))]) if np.any(between > 0) else float(levels.max()) + 1
