"""Which input each track carries, by what is heard on it: arrival times, levels, polarity, and whether it hears air.

Every row of the plan lets expect how late and how loud its track hears each source, and its source is heard by the
others. What a track would cost in a row is what was measured against what that row lets expect, with the others where
they are; the cheapest assignment is found exactly (scipy's solver of linear assignments), and again with the rows that
it gives, until nothing changes. Labels are only doubted where the whole then fits clearly better.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.drawn import DrawnInput
from fieldfare.takes.alignment.expected import expected, sounds_of

PLACE_M = 0.3  # by which a way may differ from the drawing and still fit well
MOST = 9.0  # what one way costs at most
NOT_DRAWN = 4.5  # what a way costs of which the drawing says nothing
LEVEL_DB, LEVEL_MOST = 6.0, 2.0
UPSIDE_DOWN = 2.0
DEAF, HEARING = 12.0, 25.0  # a mic on which no other source is heard; a DI on which one is
CHANGED = 12.0  # a track that is not what its label says: few labels are wrong
CLEARLY = 20.0  # by which the whole must fit better, all changes counted
F64 = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Heard:
    """One way that was measured, by places of the tracks."""

    a: int
    b: int
    metres: float
    level_db: float
    polarity: int
    weight: float


@dataclass(frozen=True)
class Rows:
    """What every row lets expect of every other; NaN where it does not."""

    metres: F64  # (rows, rows, sounds): of the source of one in the other
    level_db: F64
    polarity: F64
    close: NDArray[np.bool_]
    deaf: NDArray[np.bool_]  # a DI or a line


@dataclass(frozen=True)
class Labels:
    """Which row each track has."""

    row: tuple[int, ...]  # as heard, one for each track
    cost: float
    cost_as_labelled: float

    @property
    def changed(self) -> tuple[int, ...]:
        """Tracks that carry another input than their label says."""
        return tuple(track for track, row in enumerate(self.row) if track != row)


def rows_of(drawn: Sequence[DrawnInput]) -> Rows:
    """Work out what every row lets expect."""
    count = len(drawn)
    metres, level, polarity = (
        np.full((count, count, 2), np.nan),
        np.full((count, count), np.nan),
        np.zeros((count, count)),
    )
    for r, one in enumerate(drawn):
        sounds = sounds_of(one, drawn) if one.role in ("close", "voice") else ()
        for q, other in enumerate(drawn):
            fellows = one.source == other.source and bool(set(one.sound_at) & set(other.sound_at))
            for number, there in enumerate(sounds[:2]):
                way = expected(one, other, (there,), fellows=fellows) if r != q else None
                if way is not None:
                    metres[r, q, number] = way.metres
                    if number == 0:
                        level[r, q], polarity[r, q] = way.level_db, way.polarity
    close = np.array([one.role in ("close", "voice") for one in drawn])
    return Rows(metres, level, polarity, close, close & np.array([one.taking in ("di", "line") for one in drawn]))


def cost_of(row: NDArray[np.int64], heard: Sequence[Heard], hears: NDArray[np.bool_], rows: Rows) -> float:
    """What an assignment costs: `row[track]` for every track; `hears` tells which tracks hear other sources."""
    a, b = row[[one.a for one in heard]], row[[one.b for one in heard]]
    weight = np.array([one.weight for one in heard])
    each = _ways(a, b, heard, rows) + _levels(a, b, heard, rows)
    return float((weight * each).sum() + _alone_by_label(hears, rows)[np.arange(len(row)), row].sum())


def _ways(a: NDArray[np.int64], b: NDArray[np.int64], heard: Sequence[Heard], rows: Rows) -> F64:
    """Cost of delay and polarity, for any shape of rows a and b that ends in the ways."""
    metres = np.array([one.metres for one in heard])
    polarity = np.array([one.polarity for one in heard])
    miss = ((rows.metres[a, b] - metres[..., np.newaxis]) / PLACE_M) ** 2
    best = np.where(np.isnan(miss), np.inf, miss).min(axis=-1)
    cost = np.where(np.isinf(best), np.where(rows.close[a], NOT_DRAWN, MOST), np.minimum(best, MOST))
    down = (rows.polarity[a, b] * polarity < 0) & (cost < MOST / 2)
    return np.asarray(cost + UPSIDE_DOWN * down, np.float64)


def _levels(a: NDArray[np.int64], b: NDArray[np.int64], heard: Sequence[Heard], rows: Rows) -> F64:
    """Cost of levels: what is left once every track has a gain of its own, which nobody told."""
    off = np.array([one.level_db for one in heard]) - rows.level_db[a, b]
    known = np.isfinite(off)
    tracks = 1 + max(max(one.a, one.b) for one in heard)
    near, far = np.array([one.a for one in heard]), np.array([one.b for one in heard])
    gain_near, gain_far = np.zeros(tracks), np.zeros(tracks)
    for _ in range(3):
        for track in range(tracks):
            mine = known & (far == track)
            gain_far[track] = np.median(off[mine] - gain_near[near[mine]]) if mine.any() else 0.0
        for track in range(tracks):
            mine = known & (near == track)
            gain_near[track] = np.median(off[mine] - gain_far[far[mine]]) if mine.any() else 0.0
    rest = np.where(known, off - gain_near[near] - gain_far[far], 0.0)
    return np.asarray(np.minimum((rest / LEVEL_DB) ** 2, LEVEL_MOST), np.float64)


def _alone_by_label(hears: NDArray[np.bool_], rows: Rows) -> F64:
    """Cost of every track in every row, by its label and by whether it hears others: shape (tracks, rows)."""
    deafness = np.where(hears[:, np.newaxis], HEARING * rows.deaf, DEAF * ~rows.deaf)
    return np.asarray(deafness + CHANGED * ~np.eye(len(hears), dtype=np.bool_), np.float64)


def labels_of(heard: Sequence[Heard], hears: NDArray[np.bool_], rows: Rows) -> Labels:
    """Find the rows that fit best.

    Parameters
    ----------
    heard
        What was measured; a and b count the tracks as they are labelled, which is as the rows are ordered.
    hears
        Of each track, whether it hears other sources.
    rows
        What the drawing lets expect.

    Returns
    -------
    The rows; those of the labels, unless others fit clearly better.
    """
    as_labelled = np.arange(len(hears))
    first = cost_of(as_labelled, heard, hears, rows) if heard else 0.0
    best, cost = as_labelled, first
    if heard:
        starts = [as_labelled, *_swaps(as_labelled, heard, hears, rows)]
        for start in starts:
            row, least = _settled(start, heard, hears, rows)
            if least < cost - 1e-9:
                best, cost = row, least
        best, cost = _polished(best, cost, heard, hears, rows)
    if first - cost < CLEARLY:
        best, cost = as_labelled, first
    return Labels(tuple(int(one) for one in best), cost, first)


def _swaps(
    row: NDArray[np.int64], heard: Sequence[Heard], hears: NDArray[np.bool_], rows: Rows, most: int = 3
) -> list[NDArray[np.int64]]:
    """The best exchanges of two tracks."""
    tried = []
    for one, other in combinations(range(len(row)), 2):
        turned = row.copy()
        turned[[one, other]] = turned[[other, one]]
        tried.append((cost_of(turned, heard, hears, rows), one, other, turned))
    return [turned for *_, turned in sorted(tried, key=lambda each: each[:3])[:most]]


def _polished(
    row: NDArray[np.int64], cost: float, heard: Sequence[Heard], hears: NDArray[np.bool_], rows: Rows
) -> tuple[NDArray[np.int64], float]:
    """Exchange two tracks at a time for as long as that helps."""
    while True:
        turned = _swaps(row, heard, hears, rows, 1)[0]
        least = cost_of(turned, heard, hears, rows)
        if least >= cost - 1e-9:
            return row, cost
        row, cost = turned, least


def _settled(
    row: NDArray[np.int64], heard: Sequence[Heard], hears: NDArray[np.bool_], rows: Rows
) -> tuple[NDArray[np.int64], float]:
    """Assign rows to tracks with all others where they are, again and again until nothing changes."""
    from scipy.optimize import linear_sum_assignment

    cost = cost_of(row, heard, hears, rows)
    for _ in range(6):
        _, turned = linear_sum_assignment(_alone(row, heard, hears, rows))
        turned = turned.astype(np.int64)
        least = cost_of(turned, heard, hears, rows)
        if least >= cost - 1e-9:
            break
        row, cost = turned, least
    return row, cost


def _alone(row: NDArray[np.int64], heard: Sequence[Heard], hears: NDArray[np.bool_], rows: Rows) -> F64:
    """Cost of every track in every row with all others where they are: shape (tracks, rows)."""
    near, far = np.array([one.a for one in heard]), np.array([one.b for one in heard])
    weight = np.array([one.weight for one in heard])
    every = np.arange(len(row))[:, np.newaxis]
    as_source = weight * _ways(np.broadcast_to(every, (len(row), len(heard))), row[far], heard, rows)
    as_listener = weight * _ways(row[near], np.broadcast_to(every, (len(row), len(heard))), heard, rows)
    total = _alone_by_label(hears, rows)
    for track in range(len(row)):
        total[track] += as_source[:, near == track].sum(axis=1) + as_listener[:, far == track].sum(axis=1)
    return total
