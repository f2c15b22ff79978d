"""The count-in: even strokes, of sticks or of a voice, that lead up to a song's first note."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.songs.levels import Levels

BEAT_S = (0.25, 1.5)
LATE_S = 0.05  # a stroke may be off its beat by this
LEAST_RISE_DB = 6.0  # in some track, in 50 ms
UNDER_LOUD_DB = 34.0  # further under a track's loud parts no stroke counts
LEAST_BEATS, MOST_BEATS = 2, 8
OTHERS_SHARE = 0.5  # strokes off the beat, for one on it, that a count-in may hold
ALIKE_DB = 9.0  # by which the strokes differ in strength at most
I64 = NDArray[np.int64]
F64 = NDArray[np.float64]


def count_in_hop(levels: Levels, tracks: NDArray[np.bool_], begin: int) -> int | None:
    """Find the first stroke of a count-in.

    Parameters
    ----------
    levels
        Of all tracks.
    tracks
        Which of them may hold it.
    begin
        Hop of the song's first note.

    Returns
    -------
    Its hop; none where nobody counts.
    """
    reach = round((MOST_BEATS + 1) * BEAT_S[1] / levels.hop_s)
    first = max(0, begin - reach)
    if begin - first < 4:
        return None
    db = levels.db[tracks, 0]
    loud = np.quantile(db, 0.95, axis=1, keepdims=True)
    near = np.maximum(db[:, first : begin + 3], loud - UNDER_LOUD_DB).astype(np.float64)
    strokes, heights = _strokes(near)
    late = max(1, round(LATE_S / levels.hop_s))
    best: tuple[int, int] | None = None
    for beat in range(round(BEAT_S[0] / levels.hop_s), round(BEAT_S[1] / levels.hop_s) + 1):
        beats = _beats(strokes, begin - first, beat, late)
        if len(beats) < LEAST_BEATS or (best is not None and len(beats) <= best[0]):
            continue
        inside = strokes[(strokes >= beats[-1]) & (strokes < begin - first - late)]
        mine = heights[np.isin(strokes, beats)]
        if len(inside) - len(beats) <= OTHERS_SHARE * len(beats) and np.ptp(mine) <= ALIKE_DB:
            best = (len(beats), beats[-1])
    return None if best is None else first + best[1]


def _strokes(db: F64) -> tuple[I64, F64]:
    """Places at which some track rises at once, and by how much the one that rises most does. [hop, dB]"""
    rise = np.zeros(db.shape[1])
    rise[2:] = (db[:, 2:] - db[:, :-2]).max(axis=0, initial=0.0)
    higher = (rise[1:-1] >= rise[:-2]) & (rise[1:-1] > rise[2:]) & (rise[1:-1] >= LEAST_RISE_DB)
    places: I64 = np.flatnonzero(higher) + 1
    return places, rise[places]


def _beats(strokes: I64, begin: int, beat: int, late: int) -> list[int]:
    """Follow strokes back from a song's first note, one a beat; the last of them is the first in time."""
    found: list[int] = []
    at = begin
    while len(found) < MOST_BEATS:
        near = strokes[np.abs(strokes - (at - beat)) <= late]
        if not len(near):
            break
        at = int(near[np.argmin(np.abs(near - (at - beat)))])
        found.append(at)
    return found
