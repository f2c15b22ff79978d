"""A label placer: every label beside what it names, none over another, the same every time.

Each label tries places round its anchor, near ones first. What it may not touch is hard (frame, other labels, symbols);
what it should not cover is soft and costs by area. Then each label in turn looks again, with all others where they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import cos, hypot, pi, sin

import numpy as np

from fieldfare.sheets.drawing.crossing import Floats, crossing, distances, nearest, overlaps, passing
from fieldfare.sheets.drawing.marks import Point, Rect

CLEAR_MM = 0.5  # least distance between two labels
RINGS_MM = (0.0, 1.2, 2.5, 4.5, 7.0, 10.0, 14.0, 19.0, 25.0, 32.0, 40.0, 50.0, 62.0, 76.0)
TURNS = 24
ROUNDS = 3
LEADER_OVER_LABEL = 45.0
LEADER_OVER_LEADER = 22.0
LEADER_OVER_SYMBOL = 7.0
FREE_GRID_MM = (8.0, 5.0)
LOOKS = (24, 96, 320)  # so many of the cheapest places are weighed against the other labels; all only if none is free
NEAR_LOOK = 32  # and so many are worth asking another label to move for
FAR_OFF = 14.0  # cost above which a label is worth that
WORTH_IT = 2.0
CELL_MM = 0.5  # of the map of what should not be covered


def _eased(share: float) -> float:
    """Push a direction out to the sides, so that labels stand at the corners and edges of a square ring."""
    return min(1.0, max(-1.0, 1.25 * share))


WAYS = np.array([(_eased(cos(turn)), -_eased(sin(turn))) for turn in (2 * pi * step / TURNS for step in range(TURNS))])


@dataclass(frozen=True, slots=True)
class Wish:
    """A label that wants a place."""

    size: tuple[float, float]
    anchor: Point
    clear: float = 1.5  # how far its edge stays from the anchor
    pull: float = 1.0  # what a millimetre of distance costs
    inside: Rect | None = None  # must lie within this part of the page


@dataclass(frozen=True, slots=True)
class Ground:
    """The page that labels are placed on."""

    frame: Rect
    hard: tuple[Rect, ...] = ()
    soft: tuple[tuple[Rect, float], ...] = ()  # with what a square millimetre of it costs when covered
    symbols: tuple[Rect, ...] = field(default=())  # hard too, and a leader should not cross them


@dataclass(frozen=True, slots=True)
class _Board:
    """All labels, with the places that each may have and what each place costs whatever the others do."""

    wishes: Sequence[Wish]
    rects: list[Floats]  # for each label (n, 4), the cheapest first
    costs: list[Floats]  # (n,)

    def rect(self, one: int, place: int) -> Rect:
        left, top, right, bottom = (round(float(edge), 3) for edge in self.rects[one][place])
        return left, top, right, bottom


Chosen = list["int | None"]  # the place of each label, by its number among those it may have


def place_labels(wishes: Sequence[Wish], ground: Ground) -> list[Rect | None]:
    """Place labels so that none covers another.

    Parameters
    ----------
    wishes
        The labels; one that must lie in a part of the page is served first, then the more crowded before the others.
    ground
        What must and should stay free. [mm]

    Returns
    -------
    A rectangle for each label, in the same order; none where the page has no room left for it. [mm]
    """
    board = _board(wishes, ground)
    chosen: Chosen = [None] * len(wishes)
    order = sorted(range(len(wishes)), key=lambda one: (wishes[one].inside is None, -_crowd(wishes, one), one))
    for _ in range(ROUNDS):
        before = list(chosen)
        for one in order:
            chosen[one] = None
            chosen[one] = _best(board, one, chosen)[1]
        if chosen == before:
            break
    for one in order:
        _make_room(board, one, chosen)
    return [None if place is None else board.rect(one, place) for one, place in enumerate(chosen)]


def leader(anchor: Point, rect: Rect) -> tuple[Point, Point]:
    """Return the line from an anchor to the nearest point of its label."""
    x = min(max(anchor[0], rect[0]), rect[2])
    y = min(max(anchor[1], rect[1]), rect[3])
    return anchor, (x, y)


def _crowd(wishes: Sequence[Wish], one: int) -> int:
    x, y = wishes[one].anchor
    return sum(hypot(x - wish.anchor[0], y - wish.anchor[1]) < 22 for wish in wishes)


def _board(wishes: Sequence[Wish], ground: Ground) -> _Board:
    cover = _cover(ground)
    board = _Board(wishes, [], [])
    for wish in wishes:
        rects = _candidates(wish, ground.frame)
        rects = rects[~(overlaps(rects, _array([*ground.hard, *ground.symbols])) > 0).any(axis=1)]
        ends = nearest(wish.anchor, rects)
        cost = wish.pull * distances(wish.anchor, ends) + _covered(rects, cover, ground.frame)
        for blocked, price in ((ground.symbols, LEADER_OVER_SYMBOL), (ground.hard, LEADER_OVER_LABEL)):
            cost = cost + price * passing(np.array(wish.anchor), ends, _array(blocked)).sum(axis=1)
        order = np.argsort(cost, kind="stable")
        board.rects.append(rects[order])
        board.costs.append(cost[order])
    return board


def _best(board: _Board, one: int, chosen: Chosen) -> tuple[float, int | None]:
    """Return the cheapest place that is free, with its cost.

    The places stand in the order of what they cost whatever the others do, and others only add to that: no place can
    be cheaper that costs more by itself than what has been found.
    """
    costs = board.costs[one]
    for count in (*LOOKS, len(costs)):
        cost = _weighed(board, one, chosen, slice(count))
        if not len(cost) or not np.isfinite(cost).any():
            continue
        place = int(np.argmin(cost))
        if count >= LOOKS[-1] or count >= len(costs) or cost[place] <= costs[count]:
            return float(cost[place]), place
    return np.inf, None


def _weighed(board: _Board, one: int, chosen: Chosen, places: slice) -> Floats:
    """What places of a label cost with all others where they are; infinite where one is covered. Shape (n,)."""
    rects, cost = board.rects[one][places], board.costs[one][places].copy()
    others = [other for other, place in enumerate(chosen) if place is not None and other != one]
    if not others or not len(rects):
        return cost
    taken = np.array([board.rects[other][chosen[other]] for other in others])
    free = ~(overlaps(rects, taken + np.array([-1, -1, 1, 1]) * CLEAR_MM) > 0).any(axis=1)
    cost[~free] = np.inf
    anchor = np.array(board.wishes[one].anchor)
    ends = nearest(board.wishes[one].anchor, rects[free])
    cost[free] += LEADER_OVER_LABEL * passing(anchor, ends, taken).sum(axis=1)
    starts = np.array([board.wishes[other].anchor for other in others])
    tips = np.clip(starts, taken[:, :2], taken[:, 2:])
    drawn = np.hypot(*(tips - starts).T) > np.array([board.wishes[other].clear for other in others])
    starts, tips = starts[drawn], tips[drawn]
    cost[free] += LEADER_OVER_LABEL * passing(starts, tips, rects[free]).sum(axis=0)
    cost[free] += LEADER_OVER_LEADER * crossing(anchor, ends, starts, tips).sum(axis=1)
    return np.asarray(cost)


def _make_room(board: _Board, one: int, chosen: Chosen) -> None:
    """Give a label that stands far off a nearer place, if the one label in the way has somewhere else to go."""
    here = chosen[one]
    now = np.inf if here is None else _cost_here(board, one, here, chosen)
    if now < FAR_OFF:
        return
    others = [other for other, place in enumerate(chosen) if place is not None and other != one]
    taken = np.array([board.rects[other][chosen[other]] for other in others]).reshape(-1, 4)
    blocks = overlaps(board.rects[one][:NEAR_LOOK], taken + np.array([-1, -1, 1, 1]) * CLEAR_MM) > 0
    for nearer in np.flatnonzero(blocks.sum(axis=1) == 1):
        other = others[int(np.flatnonzero(blocks[nearer])[0])]
        was = chosen[other]
        if was is None:
            continue
        both = now + _cost_here(board, other, was, chosen)
        chosen[one], chosen[other] = int(nearer), None
        moved, elsewhere = _best(board, other, chosen)
        chosen[other] = elsewhere
        if elsewhere is not None and moved + _cost_here(board, one, int(nearer), chosen) < both - WORTH_IT:
            return
        chosen[one], chosen[other] = here, was


def _cost_here(board: _Board, one: int, place: int, chosen: Chosen) -> float:
    return float(_weighed(board, one, chosen, slice(place, place + 1))[0])


def _candidates(wish: Wish, frame: Rect) -> Floats:
    """Places on rings round the anchor, in the middle of the part it must lie in, and all over. Shape (n, 4)."""
    width, height = wish.size
    half = np.array([width / 2, height / 2])
    away = wish.clear + np.array(RINGS_MM)
    rings = np.array(wish.anchor) + (away[:, None, None] + half) * WAYS
    step_x, step_y = FREE_GRID_MM
    columns = np.arange(frame[0] + width / 2, frame[2] - width / 2 + 1e-9, step_x)
    rows = np.arange(frame[1] + height / 2, frame[3] - height / 2 + 1e-9, step_y)
    spread = np.stack(np.meshgrid(columns, rows), axis=-1)
    centre = np.concatenate([rings.reshape(-1, 2), spread.reshape(-1, 2)])
    if wish.inside:
        left, top = max(wish.inside[0], frame[0]), max(wish.inside[1], frame[1])
        right, bottom = min(wish.inside[2], frame[2]), min(wish.inside[3], frame[3])
        centre = np.concatenate([[((left + right) / 2, (top + bottom) / 2)], centre])
    rects = np.concatenate([centre - half, centre + half], axis=1)
    for bound in (np.array(frame), np.array(wish.inside or frame)):
        rects = rects[(rects[:, :2] >= bound[:2] - 1e-9).all(axis=1) & (rects[:, 2:] <= bound[2:] + 1e-9).all(axis=1)]
    far_enough = distances(wish.anchor, nearest(wish.anchor, rects)) >= 0.95 * wish.clear
    return np.asarray(rects[far_enough])


def _cover(ground: Ground) -> Floats:
    """Sum what should not be covered over every rectangle from the upper left corner. Shape (rows + 1, columns + 1)."""
    left, top, right, bottom = ground.frame
    cells = np.zeros((round((bottom - top) / CELL_MM) + 1, round((right - left) / CELL_MM) + 1))
    for rect, weight in ground.soft:
        x0, x1 = (max(0, round((edge - left) / CELL_MM)) for edge in (rect[0], rect[2]))
        y0, y1 = (max(0, round((edge - top) / CELL_MM)) for edge in (rect[1], rect[3]))
        cells[y0 : max(y1, y0 + 1), x0 : max(x1, x0 + 1)] += weight * CELL_MM**2
    return np.pad(cells.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))


def _covered(rects: Floats, cover: Floats, frame: Rect) -> Floats:
    """What each place covers that it should not. Shape (n,)."""
    columns = np.clip(np.rint((rects[:, [0, 2]] - frame[0]) / CELL_MM).astype(int), 0, cover.shape[1] - 1)
    rows = np.clip(np.rint((rects[:, [1, 3]] - frame[1]) / CELL_MM).astype(int), 0, cover.shape[0] - 1)
    (x0, x1), (y0, y1) = columns.T, rows.T
    return np.asarray(cover[y1, x1] - cover[y0, x1] - cover[y1, x0] + cover[y0, x0])


def _array(rects: Sequence[Rect]) -> Floats:
    return np.array(rects, dtype=np.float64).reshape(-1, 4)
