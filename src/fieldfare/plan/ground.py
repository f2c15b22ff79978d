"""The ground that cable lies on: where it runs easily, where it steps up or down, and where it may never lie.

Conventions: the places of `show/record.py`. A rectangle is a row x0, y0, x1, y1. The stage holds its own edge, a riser
does not: cable along a riser's edge lies at its foot. What only touches keep-clear ground does not cross it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from fieldfare.plan.remember import remembered
from fieldfare.show.record import Place
from fieldfare.show.venue import KeepClear, Venue

Points = NDArray[np.float64]  # (n, 2)
Floats = NDArray[np.float64]

TOUCH_M = 1e-6  # nearer than this is a touch


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A venue as cable sees it. Everything within the outer rectangle is floor."""

    outer: Floats  # (4,)
    raised: Floats  # (k, 4): the stage, grown to hold its edge, then the risers, shrunk to leave theirs out
    steps_m: Floats  # (k,): how high each of them stands above what it stands on
    keep_clear: tuple[KeepClear, ...]  # (m,): with the seams where two of them meet
    barred: Floats  # (m, 4): the same, shrunk so that a touch is no crossing
    lanes: tuple[tuple[Place, Place], ...]  # the edge of the stage, the foot of the risers, the ways off the stage
    corners: Points  # where a shortest path may turn, without the places that it joins

    def rise_m(self, start: Points, end: Points) -> Floats:
        """How far each straight piece goes up and down in all. Shape (n,)."""
        held = _holds(self.raised, start).astype(np.int_) + _holds(self.raised, end)
        edges = np.where(held > 0, 2 - held, 2 * (_stay_m(self.raised, start, end) > TOUCH_M))
        return np.asarray((edges * self.steps_m).sum(axis=1))

    def crossed(self, start: Points, end: Points) -> NDArray[np.bool_]:
        """Which keep-clear ground each straight piece crosses. Shape (n, m)."""
        return _stay_m(self.barred, start, end) > TOUCH_M


@remembered(16)
def ground(venue: Venue, places: Iterable[Place] = ()) -> Ground:
    """Make the ground of a venue.

    Parameters
    ----------
    venue
        Its stage, risers, keep-clear ground, ways, house boxes and where the recordist sits.
    places
        Further places that cable goes to: microphones in the hall, boxes put down by hand.

    Returns
    -------
    Floor that reaches as far as anything that is named; keep-clear ground does not make it larger.
    """
    half_m, depth_m = venue.stage.width_m / 2, venue.stage.depth_m
    stage = (-half_m, 0.0, half_m, depth_m)
    risers = [rectangle(riser.at, riser.size_m) for riser in venue.riser]
    clear, barred = _barred(venue.keep_clear)
    edges = [*_sides(stage), *(side for riser in risers for side in _sides(riser))]
    ways = [piece for way in venue.way for piece in pairwise(way.points)]
    named = [
        venue.recordist.at[:2],
        *(box.at for box in venue.house_box),
        *(point for piece in (*edges, *ways) for point in piece),
        *places,
    ]
    outer = np.concatenate([np.min(named, axis=0), np.max(named, axis=0)])
    lanes = tuple(part for lane in (*edges, *ways) if lane[0] != lane[1] for part in _outside(lane, barred))
    turns = [point for lane in lanes for point in lane]
    turns += [point for one, other in combinations(lanes, 2) if (point := _crossing(one, other)) is not None]
    turns += [corner for one in venue.keep_clear for corner in _corners(rectangle(one.at, one.size_m))]
    corners = unique(np.array(turns))
    return Ground(
        outer=outer,
        raised=np.concatenate([_rows([stage], TOUCH_M), _rows(risers, -TOUCH_M)]),
        steps_m=np.array([venue.stage.height_m, *(riser.height_m for riser in venue.riser)]),
        keep_clear=clear,
        barred=barred,
        lanes=lanes,
        corners=corners[_holds(outer[None, :], corners)[:, 0]],
    )


def _stay_m(rectangles: Floats, start: Points, end: Points) -> Floats:
    """How long each straight piece stays within each rectangle. Shapes (k, 4), (n, 2), (n, 2) to (n, k)."""
    enter, leave = _stay(rectangles, start, end)
    stay: Floats = np.maximum(leave - enter, 0) * np.linalg.norm(end - start, axis=1)[:, None]
    return stay


def unique(points: Points) -> Points:
    """Drop points that touch an earlier one, in order."""
    grid = np.round(points / TOUCH_M)
    first = np.unique(grid, axis=0, return_index=True)[1]
    return points[np.sort(first)]


def _stay(rectangles: Floats, start: Points, end: Points) -> tuple[Floats, Floats]:
    """Where along each piece, 0 to 1, it enters and leaves each rectangle; the other way round where it misses."""
    begin, along = start[:, None, :], (end - start)[:, None, :]
    low, high = rectangles[None, :, :2], rectangles[None, :, 2:]
    level = along == 0  # parallel to the sides: within all the way, or never
    inside = (begin >= low) & (begin <= high)
    rate = np.where(level, 1.0, along)
    one, other = (low - begin) / rate, (high - begin) / rate
    enter = np.where(level, np.where(inside, 0.0, 2.0), np.minimum(one, other)).max(axis=2)
    leave = np.where(level, np.where(inside, 1.0, -1.0), np.maximum(one, other)).min(axis=2)
    first: Floats = np.maximum(enter, 0.0)
    last: Floats = np.minimum(leave, 1.0)
    return first, last


def _holds(rectangles: Floats, points: Points) -> NDArray[np.bool_]:
    """Whether a rectangle holds a point. Shapes (k, 4), (n, 2) to (n, k)."""
    within = (points[:, None, :] >= rectangles[None, :, :2]) & (points[:, None, :] <= rectangles[None, :, 2:])
    return np.asarray(within.all(axis=2))


def _barred(keep_clear: tuple[KeepClear, ...]) -> tuple[tuple[KeepClear, ...], Floats]:
    """Shrink keep-clear ground, and bar the seams between pieces that meet, so that nothing slips through there."""
    rows = _rows([rectangle(one.at, one.size_m) for one in keep_clear], -TOUCH_M)
    seams, whose = [], []
    for one, other in combinations(range(len(rows)), 2):
        low = np.maximum(rows[one, :2], rows[other, :2])
        high = np.minimum(rows[one, 2:], rows[other, 2:])
        thin = np.abs(high - low) <= 3 * TOUCH_M
        if thin.sum() == 1 and (high > low)[~thin].all():
            seams.append(np.concatenate([np.minimum(low, high), np.maximum(low, high)]))
            whose.append(keep_clear[one])
    return (*keep_clear, *whose), np.concatenate([rows, *[seam[None, :] for seam in seams]])


def rectangle(at: Place, size_m: tuple[float, float]) -> tuple[float, float, float, float]:
    """Sides x0, y0, x1, y1 of a rectangle that is given by its middle and its size. [m]"""
    (x, y), (wide, deep) = at, size_m
    return x - wide / 2, y - deep / 2, x + wide / 2, y + deep / 2


def _rows(rectangles: list[tuple[float, float, float, float]], grown_m: float) -> Floats:
    sides = np.array([-grown_m, -grown_m, grown_m, grown_m])
    rows: Floats = np.array(rectangles, dtype=np.float64).reshape(-1, 4) + sides
    return rows


def _corners(rectangle: tuple[float, float, float, float]) -> tuple[Place, Place, Place, Place]:
    x0, y0, x1, y1 = rectangle
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def _sides(rectangle: tuple[float, float, float, float]) -> Iterator[tuple[Place, Place]]:
    corners = _corners(rectangle)
    return pairwise((*corners, corners[0]))


def _outside(lane: tuple[Place, Place], barred: Floats) -> Iterator[tuple[Place, Place]]:
    """Cut a lane where it crosses keep-clear ground."""
    start, end = np.array([lane[0]]), np.array([lane[1]])
    hit = _stay_m(barred, start, end)[0] > TOUCH_M
    enter, leave = _stay(barred[hit] + np.array([-TOUCH_M, -TOUCH_M, TOUCH_M, TOUCH_M]), start, end)
    done = 0.0
    for first, last in (*sorted(zip(enter[0].tolist(), leave[0].tolist(), strict=True)), (1.0, 1.0)):
        if (first - done) * float(np.linalg.norm(end - start)) > TOUCH_M:
            a, b = (tuple((start + t * (end - start))[0].tolist()) for t in (done, first))
            yield a, b
        done = max(done, last)


def _crossing(one: tuple[Place, Place], other: tuple[Place, Place]) -> Place | None:
    """Where two lanes cross or touch; none where they miss or run side by side."""
    a, b, c, d = (np.array(point) for point in (*one, *other))
    along, across = b - a, d - c
    turn = float(along[0] * across[1] - along[1] * across[0])
    if abs(turn) < TOUCH_M**2:
        return None
    gap = c - a
    s = float(gap[0] * across[1] - gap[1] * across[0]) / turn
    t = float(gap[0] * along[1] - gap[1] * along[0]) / turn
    slip, other_slip = (TOUCH_M / float(np.linalg.norm(side)) for side in (along, across))
    if not (-slip <= s <= 1 + slip and -other_slip <= t <= 1 + other_slip):
        return None
    x, y = a + s * along
    return float(x), float(y)
