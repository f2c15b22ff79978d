"""Cable paths on the real stage, exactly the cheapest, and the length that each of them needs.

A metre along the edge of the stage, the foot of a riser or a way off the stage costs 1, a metre across open floor costs
OPEN_FLOOR, a step up or down costs its height, and keep-clear ground is crossed only where nothing goes round it.

Why this is exact: between two turns a cheapest path is straight. It turns at a corner of the ground, or where it joins
an edge, and from any given point it joins a given edge at one angle only, as light would that is faster along the edge
(cos of the angle to the edge = 1 / OPEN_FLOOR). A piece of open floor between two edges can be slid along both without
getting dearer until it passes a corner. So corners, places and those joining points are all the turns there can be.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from fieldfare.plan.ground import TOUCH_M, Floats, Ground, Points, unique
from fieldfare.plan.remember import remembered
from fieldfare.plan.wanted import Wanted
from fieldfare.show.kit import StandKind
from fieldfare.show.plan import Taking
from fieldfare.show.record import Place
from fieldfare.show.venue import Venue
from fieldfare.units.sources import PRACTICE
from fieldfare.units.working import Given, Working

if TYPE_CHECKING:
    from scipy.sparse import csr_array

OPEN_FLOOR = 3.0
CROSSING = {"fire route": 1e7, "door": 1e6, "steps": 1e6, "walkway": 1e5}  # paid once for each that is crossed
SPARE_SHARE = 0.10  # of the way, for what a drawing does not know
STAND_COIL_M = 2.0  # coiled at the foot of a stand: a player moves
STILL_COIL_M = 1.0  # beside a DI or a splitter, and where a mic is held by what does not move
JOIN_CLEAR_M = 0.3  # nearer to keep-clear ground a join is trodden on
BOOM_M: dict[StandKind, float] = {"tall boom": 1.0, "short boom": 0.5}  # along the boom, from the top of the stand

Start = TypeVar("Start", bound=Hashable)
End = TypeVar("End", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Path:
    """A way over the floor, from the microphone or DI to its box."""

    points: tuple[Place, ...]
    floor_m: float
    rise_m: float  # up and down risers and the stage edge, in all
    weighed_m: float  # what was made least: edges as they are, open floor times OPEN_FLOOR, steps, crossings
    crosses: tuple[str, ...] = ()  # keep-clear ground that nothing goes round


@dataclass(frozen=True, slots=True)
class Length:
    """What an input needs to reach a box."""

    path: Path
    needed: Working


def path(ground: Ground, start: Place, end: Place) -> Path:
    """Find the cheapest path between two places. See `paths`."""
    return paths(ground, {"": start}, {"": end})["", ""]


def paths(ground: Ground, starts: Mapping[Start, Place], ends: Mapping[End, Place]) -> dict[tuple[Start, End], Path]:
    """Find the cheapest path from every start to every end.

    Parameters
    ----------
    ground
        Ground that reaches as far as the places do.
    starts
        Where microphones, DIs and splitters stand. [m]
    ends
        Where boxes stand. [m]

    Returns
    -------
    The path of each pair, from start to end.
    """
    points, nodes, weighed, came_from = _cheapest(ground, starts, ends)
    firsts = [(row, nodes[_key(start)]) for row in range(len(ends)) for start in starts.values()]
    lines = [points[_chain(came_from[row], first)] for row, first in firsts]
    walked = _walked(ground, lines, [float(weighed[row, first]) for row, first in firsts])
    return dict(zip(((name, tag) for tag in ends for name in starts), walked, strict=True))


def weighed_m(
    ground: Ground, starts: Mapping[Start, Place], ends: Mapping[End, Place]
) -> dict[tuple[Start, End], float]:
    """What the cheapest path from every start to every end costs, without the paths themselves. See `paths`."""
    _, nodes, weighed, _ = _cheapest(ground, starts, ends)
    return {
        (name, tag): float(weighed[row, nodes[_key(start)]])
        for row, tag in enumerate(ends)
        for name, start in starts.items()
    }


def needed_length(path: Path, height_m: float, boom_m: float = 0.0, coil_m: float = STAND_COIL_M) -> Working:
    """Length that a cable needs along a path.

    Parameters
    ----------
    path
        Its way over the floor.
    height_m
        How high over the floor the microphone is. [m]
    boom_m
        How far the cable lies along a boom. [m]
    coil_m
        Slack that lies coiled where the path starts. [m]
    """
    way_m = path.floor_m + path.rise_m + height_m + boom_m
    return Working(
        value=round((1 + SPARE_SHARE) * way_m + coil_m, 2),
        unit="m",
        formula="(1 + spare) · (floor + steps + height + boom) + coil",
        given=(
            Given(name="spare", value=SPARE_SHARE),
            Given(name="floor", value=round(path.floor_m, 2), unit="m"),
            Given(name="steps", value=round(path.rise_m, 2), unit="m"),
            Given(name="height", value=round(height_m, 2), unit="m"),
            Given(name="boom", value=boom_m, unit="m"),
            Given(name="coil", value=coil_m, unit="m"),
        ),
        source=PRACTICE,
        sure="estimate",
    )


def starts(wanted: tuple[Wanted, ...], venue: Venue) -> dict[tuple[str, Taking], Place]:
    """Where the run of each input starts, for each way in which it may be taken: a split starts at the house's box."""
    return {(one.id, taking): _start(one, taking, venue) for one in wanted for taking in _takings(one)}


@remembered(8)
def lengths(
    ground: Ground, venue: Venue, wanted: tuple[Wanted, ...], boxes: Mapping[str, Place]
) -> dict[tuple[str, Taking, str], Length]:
    """Path and needed length from every input, taken in every way it may be, to every box.

    Parameters
    ----------
    ground
        Ground that reaches as far as the inputs and boxes do.
    venue
        The venue it was made from.
    wanted
        The inputs.
    boxes
        Tag and place of each box. [m]

    Returns
    -------
    By id of the input, how it is taken, and tag of the box.
    """
    begins = starts(wanted, venue)
    found = paths(ground, begins, boxes)
    by_id = {one.id: one for one in wanted}
    return {
        (name, taking, tag): Length(way, _needed(by_id[name], taking, way))
        for ((name, taking), tag), way in found.items()
    }


def trunk_length(ground: Ground, venue: Venue, at: Place) -> Length:
    """Path and needed length of the trunk, from its stage end to the recordist; what is left over lies there.

    Parameters
    ----------
    ground
        Ground that reaches as far as the trunk's end does.
    venue
        The venue it was made from.
    at
        Where its stage end stands. [m]
    """
    way = path(ground, at, venue.recordist.at[:2])
    return Length(way, needed_length(way, 0.0, coil_m=0.0))


def needed_m(lengths: Mapping[tuple[str, Taking, str], Length]) -> dict[tuple[str, str], float]:
    """Length by input and box that does for every way in which the input may be taken. [m]"""
    needed: dict[tuple[str, str], float] = {}
    for (name, _, tag), length in lengths.items():
        needed[name, tag] = max(needed.get((name, tag), 0.0), length.needed.value or 0.0)
    return needed


def joins_clear(ground: Ground, lengths: Mapping[tuple[str, Taking, str], Length]) -> dict[tuple[str, str], bool]:
    """Whether two cables may be joined on the way from an input to a box: nobody walks over the join anywhere on it."""
    clear: dict[tuple[str, str], bool] = {}
    for (name, _, tag), length in lengths.items():
        clear[name, tag] = clear.get((name, tag), True) and clear_of(ground, length.path) >= JOIN_CLEAR_M
    return clear


def clear_of(ground: Ground, path: Path) -> float:
    """How far a path stays from keep-clear ground; infinite where there is none. [m]"""
    import shapely

    line = shapely.linestrings(path.points) if len(path.points) > 1 else shapely.points(path.points[0])
    if not len(ground.barred):
        return float("inf")
    return float(shapely.distance(line, shapely.box(*ground.barred.T)).min())


def _takings(wanted: Wanted) -> tuple[Taking, ...]:
    return tuple(dict.fromkeys(accept.taking for accept in wanted.accept))


def _start(wanted: Wanted, taking: Taking, venue: Venue) -> Place:
    if taking == "split" and wanted.house_mic is not None:
        for box in venue.house_box:
            if box.name == wanted.house_mic.house_box or len(venue.house_box) == 1:
                return box.at
    return wanted.at[:2]


def _needed(wanted: Wanted, taking: Taking, way: Path) -> Working:
    if taking != "mic":
        return needed_length(way, 0.0, coil_m=STILL_COIL_M)
    height_m = max(0.0, wanted.height_m)
    stand = wanted.stands[0] if wanted.stands else None
    still = height_m == 0 or stand in ("clamp", "table")
    return needed_length(
        way, height_m, BOOM_M.get(stand, 0.0) if stand else 0.0, STILL_COIL_M if still else STAND_COIL_M
    )


def _key(place: Place | Floats) -> tuple[float, float]:
    return float(place[0]), float(place[1])


def _cheapest(
    ground: Ground, starts: Mapping[Start, Place], ends: Mapping[End, Place]
) -> tuple[Points, dict[tuple[float, float], int], Floats, NDArray[np.signedinteger]]:
    """Search from every end: the turns, the number of each place among them, costs and predecessors by end and turn."""
    from scipy.sparse.csgraph import dijkstra

    places = np.array([*starts.values(), *ends.values()], dtype=np.float64).reshape(-1, 2)
    points, costs = _net(ground, places)
    nodes = {_key(place): int(np.hypot(*(points - place).T).argmin()) for place in places}
    targets = np.array([nodes[_key(end)] for end in ends.values()], dtype=np.int_)
    weighed, came_from = dijkstra(costs, directed=False, indices=targets, return_predecessors=True)
    return points, nodes, weighed, came_from


def _net(ground: Ground, places: Points) -> tuple[Points, csr_array]:
    """Every turn that a cheapest path may take, and what it costs to get from one to the next."""
    from scipy.sparse import csr_array

    turns = unique(np.concatenate([ground.corners, places]))
    points, pairs, prices = [turns], [], []
    first, second = np.triu_indices(len(turns), k=1)
    pairs.append(np.stack([first, second], axis=1))
    prices.append(_price(ground, turns[first], turns[second], OPEN_FLOOR))
    count = len(turns)
    for start, end in ground.lanes:
        where, whose, on = _joins(np.array(start), np.array(end), turns)
        joins = np.arange(count, count + len(where))
        count += len(where)
        points.append(where)
        pairs.append(np.stack([whose, joins], axis=1))
        prices.append(_price(ground, turns[whose], where, OPEN_FLOOR))
        along = np.concatenate([turns[on], where])
        order = np.argsort((along - start) @ (np.array(end) - start), kind="stable")
        names, along = np.concatenate([on, joins])[order], along[order]
        pairs.append(np.stack([names[:-1], names[1:]], axis=1))
        prices.append(_price(ground, along[:-1], along[1:], 1.0))
    pair, price = np.concatenate(pairs), np.concatenate(prices)
    order = np.lexsort((price, pair[:, 1], pair[:, 0]))
    pair, price = pair[order], price[order]
    cheapest = np.concatenate([[True], (pair[1:] != pair[:-1]).any(axis=1)])
    pair, price = pair[cheapest], price[cheapest]
    return np.concatenate(points), csr_array((price, (pair[:, 0], pair[:, 1])), shape=(count, count))


def _joins(start: Points, end: Points, turns: Points) -> tuple[Points, NDArray[np.int_], NDArray[np.int_]]:
    """Where straight pieces from the turns join a lane, from which turn each comes, and which turns lie on the lane."""
    long_m = float(np.linalg.norm(end - start))
    ahead = (end - start) / long_m
    gap = turns - start
    foot, off = gap @ ahead, np.abs(gap[:, 0] * ahead[1] - gap[:, 1] * ahead[0])
    on = np.flatnonzero((off <= TOUCH_M) & (foot >= -TOUCH_M) & (foot <= long_m + TOUCH_M))
    slip = off / np.sqrt(OPEN_FLOOR**2 - 1)
    reach = np.concatenate([foot - slip, foot + slip])
    whose = np.tile(np.arange(len(turns)), 2)
    keep = (np.tile(off, 2) > TOUCH_M) & (reach > TOUCH_M) & (reach < long_m - TOUCH_M)
    return start + reach[keep, None] * ahead, whose[keep], on


def _price(ground: Ground, start: Points, end: Points, metre: float) -> Floats:
    fines = np.array([CROSSING[clear.kind] for clear in ground.keep_clear])
    crossing = ground.crossed(start, end) @ fines if len(fines) else 0.0
    along = metre * np.linalg.norm(end - start, axis=1)
    return np.asarray(along + ground.rise_m(start, end) + crossing + TOUCH_M**2)


def _chain(came_from: NDArray[np.signedinteger], start: int) -> list[int]:
    nodes = [start]
    while came_from[nodes[-1]] >= 0:
        nodes.append(int(came_from[nodes[-1]]))
    return nodes


def _walked(ground: Ground, lines: list[Points], weighed_m: list[float]) -> Iterator[Path]:
    """Tell of each way, from point to point, how long it is and what it goes up, down and across."""
    nothing = np.zeros((0, 2))
    begin = np.concatenate([nothing, *(line[:-1] for line in lines)])
    end = np.concatenate([nothing, *(line[1:] for line in lines)])
    long_m, rise_m, crossed = np.linalg.norm(end - begin, axis=1), ground.rise_m(begin, end), ground.crossed(begin, end)
    first = 0
    for line, points, weighed in zip(lines, _straightened(lines), weighed_m, strict=True):
        pieces = slice(first, first := first + len(line) - 1)
        over = np.flatnonzero(crossed[pieces].any(axis=0))
        yield Path(
            points=points,
            floor_m=float(long_m[pieces].sum()),
            rise_m=float(rise_m[pieces].sum()),
            weighed_m=weighed,
            crosses=tuple(dict.fromkeys(ground.keep_clear[int(i)].name for i in over)),
        )


def _straightened(lines: list[Points]) -> Iterator[tuple[Place, ...]]:
    """Leave out points at which a way does not turn."""
    import shapely

    turning = [line for line in lines if len(line) > 2]
    whose = np.repeat(np.arange(len(turning)), [len(line) for line in turning])
    drawn = np.array([], dtype=object)
    if turning:
        drawn = np.asarray(shapely.linestrings(np.concatenate(turning), indices=whose))
    straight = iter(shapely.simplify(drawn, 10 * TOUCH_M))
    for line in lines:
        points = shapely.get_coordinates(next(straight)) if len(line) > 2 else line
        yield tuple((float(x), float(y)) for x, y in points)
