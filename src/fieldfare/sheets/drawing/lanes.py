"""Cables on the same ground are drawn side by side, each in a lane of its own, and inside the edge that they follow."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from fieldfare.sheets.drawing.marks import Point

PITCH_MM = 0.95
WIDEST_MM = 5.0  # of all lanes together
ALIKE_MM = 0.3  # nearer than this, two lines are the same ground
ALIKE_TURN = 0.01  # rad
SHORT_MM = 0.05


@dataclass(frozen=True, slots=True)
class Wall:
    """An edge that cable follows, and the side on which it lies."""

    start: Point
    end: Point
    side: Point  # unit vector from the edge to the cable


@dataclass(frozen=True, slots=True)
class _Piece:
    """One straight piece of one path, on its line."""

    path: int
    place: int
    start: Point
    end: Point
    unit: Point  # direction, the same for both ways along a line
    offset: float  # of the line from the origin, along the normal
    low: float
    high: float


def in_lanes(paths: Sequence[Sequence[Point]], walls: Sequence[Wall] = ()) -> list[tuple[Point, ...]]:
    """Shift the pieces of some paths aside so that no two lie on the same line.

    Parameters
    ----------
    paths
        Where the cables lie. [mm]
    walls
        Edges of the stage or of a riser: lanes begin beside them, not on them.

    Returns
    -------
    The paths as drawn, in the same order. Each begins and ends where it did.
    """
    cleaned = [_cleaned(path) for path in paths]
    shifts: dict[tuple[int, int], Point] = {}
    for group in _same_lines(_pieces(cleaned)):
        shifts |= _shifts(group, walls)
    return [
        _drawn(path, [shifts[number, place] for place in range(len(path) - 1)]) for number, path in enumerate(cleaned)
    ]


def _cleaned(path: Sequence[Point]) -> list[Point]:
    points = list(path[:1])
    for point in path[1:]:
        if hypot(point[0] - points[-1][0], point[1] - points[-1][1]) > SHORT_MM:
            points.append(point)
    return points


def _pieces(paths: Sequence[Sequence[Point]]) -> list[_Piece]:
    pieces = []
    for number, path in enumerate(paths):
        for place, (start, end) in enumerate(pairwise(path)):
            x, y = end[0] - start[0], end[1] - start[1]
            size = hypot(x, y)
            unit = (x / size, y / size)
            if unit[0] < -1e-6 or (abs(unit[0]) <= 1e-6 and unit[1] < 0):
                unit = (-unit[0], -unit[1])
            along = sorted(point[0] * unit[0] + point[1] * unit[1] for point in (start, end))
            offset = -unit[1] * start[0] + unit[0] * start[1]
            pieces.append(_Piece(number, place, start, end, unit, offset, *along))
    return pieces


def _same_lines(pieces: list[_Piece]) -> list[list[_Piece]]:
    """Gather pieces that lie on the same line and touch or overlap one another."""
    lines: list[list[_Piece]] = []
    for piece in sorted(pieces, key=lambda one: (one.unit, one.offset, one.low)):
        home = next((line for line in lines if _alike(line[0], piece)), None)
        if home is None:
            lines.append([piece])
        else:
            home.append(piece)
    return [group for line in lines for group in _touching(line)]


def _alike(one: _Piece, other: _Piece) -> bool:
    turn = abs(one.unit[0] * other.unit[1] - one.unit[1] * other.unit[0])
    return turn < ALIKE_TURN and abs(one.offset - other.offset) < ALIKE_MM


def _touching(line: list[_Piece]) -> list[list[_Piece]]:
    groups: list[list[_Piece]] = []
    reach = 0.0
    for piece in sorted(line, key=lambda one: (one.low, one.high, one.path, one.place)):
        if groups and piece.low < reach - SHORT_MM:
            groups[-1].append(piece)
            reach = max(reach, piece.high)
        else:
            groups.append([piece])
            reach = piece.high
    return groups


def _shifts(group: list[_Piece], walls: Sequence[Wall]) -> dict[tuple[int, int], Point]:
    """Give each piece of a group the first lane that is free along it, the longest pieces next to the wall."""
    taken: dict[int, list[_Piece]] = defaultdict(list)
    lane_of: dict[tuple[int, int], int] = {}
    for piece in sorted(group, key=lambda one: (one.low - one.high, one.path, one.place)):
        lane = 0
        while any(other.low < piece.high and piece.low < other.high for other in taken[lane]):
            lane += 1
        taken[lane].append(piece)
        lane_of[piece.path, piece.place] = lane
    count = max(lane_of.values()) + 1
    pitch = min(PITCH_MM, WIDEST_MM / count)
    unit = group[0].unit
    normal = (-unit[1], unit[0])
    side = _wall_side(group, walls)
    shifts = {}
    for key, lane in lane_of.items():
        if side is None:
            by = (lane - (count - 1) / 2) * pitch
            shifts[key] = (normal[0] * by, normal[1] * by)
        else:
            by = PITCH_MM + lane * pitch
            shifts[key] = (side[0] * by, side[1] * by)
    return shifts


def _wall_side(group: list[_Piece], walls: Sequence[Wall]) -> Point | None:
    low, high = min(one.low for one in group), max(one.high for one in group)
    for wall in walls:
        for piece in _pieces([[wall.start, wall.end]]):
            if _alike(piece, group[0]) and piece.low < high - SHORT_MM and low < piece.high - SHORT_MM:
                return wall.side
    return None


def _drawn(path: list[Point], shifts: list[Point]) -> tuple[Point, ...]:
    """Join the shifted pieces: where they cross, or by a short step where they run on in the same direction."""
    if len(path) < 2:
        return tuple(path)
    moved = [
        ((start[0] + by[0], start[1] + by[1]), (end[0] + by[0], end[1] + by[1]))
        for (start, end), by in zip(pairwise(path), shifts, strict=True)
    ]
    points = [path[0], moved[0][0]]
    for before, after in pairwise(moved):
        points += _joint(before, after)
    points += [moved[-1][1], path[-1]]
    return tuple((round(x, 3), round(y, 3)) for x, y in _cleaned(points))


def _joint(before: tuple[Point, Point], after: tuple[Point, Point]) -> list[Point]:
    (x1, y1), (x2, y2) = before
    (x3, y3), (x4, y4) = after
    ux, uy, vx, vy = x2 - x1, y2 - y1, x4 - x3, y4 - y3
    cross = ux * vy - uy * vx
    if abs(cross) < 0.05 * hypot(ux, uy) * hypot(vx, vy):
        return [before[1], after[0]]
    along = ((x3 - x1) * vy - (y3 - y1) * vx) / cross
    return [(x1 + along * ux, y1 + along * uy)]
