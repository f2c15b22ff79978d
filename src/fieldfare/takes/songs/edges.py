"""From the frame in which a song begins or ends to the moment: where all tracks rise or fall together the most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.songs.levels import Levels
from fieldfare.takes.songs.pulse import Pulse

NEAR_S = 1.0  # compared on the side where the music is
FAR_S = 1.0  # and on the other
CLEAR_S = 0.1  # left out where a sound dies away or a player is late
UNDER_LOUD_DB = 35.0  # further down nothing counts
STEP_MOST_DB = 20.0  # of one track
ALL_BUT = 0.98  # of the largest step: among these the sharpest is taken
BEGIN_WITHIN_S = (-1.5, 2.5)  # searched around the frame
END_WITHIN_S = (-6.0, 1.5)
PLATEAU = 0.9  # of a change of pulse
STRONG_SHARE, STROKE_SHARE = 0.95, 0.25  # of hops under a strong stroke, and of that strength to be one at all
REST_MOST_S = 2.0  # a longer rest counts no more
F64 = NDArray[np.float64]


@dataclass(frozen=True)
class Edges:
    """What the edges of songs are found in: levels of the tracks that tell, above what counts. [dB]"""

    hop_s: float
    sums: F64  # (tracks, hops + 1): levels summed up
    pulse: Pulse

    @property
    def hops(self) -> int:
        """How many there are."""
        return int(self.sums.shape[1]) - 1


def edges_of(levels: Levels, own: NDArray[np.bool_], pulse: Pulse) -> Edges:
    """Prepare a take.

    Parameters
    ----------
    levels
        Of all tracks.
    own
        Which tracks tell whether a song is played.
    pulse
        Of the take.
    """
    tracks = np.flatnonzero(own)
    sums = np.zeros((len(tracks), levels.hops + 1))
    for row, track in zip(sums, tracks, strict=True):  # one at a time: a night of many tracks is large
        db = levels.db[track, 0].astype(np.float64)
        floor = np.quantile(db, 0.95) - UNDER_LOUD_DB if levels.hops else 0.0
        np.cumsum(np.maximum(db, floor), out=row[1:])
    return Edges(levels.hop_s, sums, pulse)


def begin_hop(edges: Edges, at_s: float) -> int:
    """Find where a song begins, near a time: the largest rise of all tracks together. [hop]"""
    return _steepest(edges, at_s, BEGIN_WITHIN_S, falls=False)


def end_hop(edges: Edges, at_s: float) -> int:
    """Find where a song ends, near a time: the largest fall of all tracks together. [hop]"""
    return _steepest(edges, at_s, END_WITHIN_S, falls=True)


def seam_hop(edges: Edges, at_s: float) -> int:
    """Find the stroke with which a song begins that another runs into. [hop]

    The pulse has changed all over a plateau of some seconds around it; in that, the stroke is looked for that is strong
    and comes after the longest rest, as after a last chord that is held.
    """
    first, last = _plateau(edges.pulse, at_s)
    strokes = edges.pulse.strokes
    strong = np.quantile(strokes, STRONG_SHARE)
    both = strokes + np.append(strokes[1:], 0.0)  # a stroke falls into one hop or two
    rest = 0
    best, best_score = min(edges.hops - 1, round(at_s / edges.hop_s)), -1.0
    middle, half = (first + last) / 2, max(1.0, (last - first) / 2)
    for hop in range(max(0, first - round(REST_MOST_S / edges.hop_s)), last):
        if strokes[hop] > STROKE_SHARE * strong:
            rested = min(1.0, rest * edges.hop_s / REST_MOST_S)
            score = min(1.0, both[hop] / (2 * strong)) + 2 * rested - abs(hop - middle) / half / 2
            if hop >= first and rest > 1 and score > best_score:
                best, best_score = hop, score
            rest = 0
        else:
            rest += 1
    return best


def _plateau(pulse: Pulse, at_s: float) -> tuple[int, int]:
    """Where around a time the pulse has changed as much as it does, less a little: first hop and hop after the last."""
    change = pulse.change()
    at = min(len(change) - 1, round(at_s / pulse.hop_s / pulse.step))
    reach = pulse.window // pulse.step
    near = slice(max(0, at - reach), at + reach)
    least = PLATEAU * float(change[at])
    first, last = at, at
    while first > near.start and change[first - 1] >= least:
        first -= 1
    while last + 1 < min(len(change), near.stop) and change[last + 1] >= least:
        last += 1
    return first * pulse.step, (last + 1) * pulse.step


def _window(edges: Edges, at_s: float, within_s: tuple[float, float]) -> tuple[int, int]:
    first, last = (round((at_s + by) / edges.hop_s) for by in within_s)
    return max(0, first), min(edges.hops, last)


def _steepest(edges: Edges, at_s: float, within_s: tuple[float, float], *, falls: bool) -> int:
    first, last = _window(edges, at_s, within_s)
    places = np.arange(first, last)
    if not len(places):
        return min(edges.hops, max(0, round(at_s / edges.hop_s)))
    clear = round(CLEAR_S / edges.hop_s)
    step = _steps(edges, places, round((NEAR_S if falls else FAR_S) / edges.hop_s), clear, falls=falls)
    likely = places[step >= ALL_BUT * step.max()]  # where every track has risen as far as counts, many are alike
    sharp = _steps(edges, likely, clear, 0, falls=falls)
    return int(likely[np.argmax(sharp)])


def _steps(edges: Edges, places: NDArray[np.int64], side: int, clear: int, *, falls: bool) -> F64:
    """By how much all tracks together rise, or fall, from the one side of each place to the other. [dB]"""
    early, late = (0, clear) if falls else (clear, 0)
    before = _mean(edges, places - side - early, places - early)
    after = _mean(edges, places + late, places + side + late)
    steps: F64 = np.clip((before - after) if falls else (after - before), 0.0, STEP_MOST_DB).sum(axis=0)
    return steps


def _mean(edges: Edges, first: NDArray[np.int64], last: NDArray[np.int64]) -> F64:
    """Mean levels of stretches of hops, shape (tracks, stretches); where there are none, that of the nearest hop."""
    first = np.clip(first, 0, edges.hops - 1)
    last = np.clip(last, first + 1, edges.hops)
    mean: F64 = (edges.sums[:, last] - edges.sums[:, first]) / (last - first)
    return mean
