"""Where our boxes and the stage end of the trunk stand: so that the fewest metres of cable lie about, unless pinned.

A box may stand at a corner of the stage, at a corner or the middle of a riser's side, where a way leaves the stage, or
in the middle of the back or a side of the stage; never on keep-clear ground nor close to it. The choice of places is
exact: one mixed-integer program (HiGHS) over places of boxes, place of the trunk's end and who plugs in where.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fieldfare.plan.choice.case import recorder_of
from fieldfare.plan.choice.stock import natural
from fieldfare.plan.ground import Floats, Ground, ground
from fieldfare.plan.remember import remembered
from fieldfare.plan.runs import JOIN_CLEAR_M, SPARE_SHARE, Path, clear_of, starts, weighed_m
from fieldfare.plan.wanted import Wanted
from fieldfare.show.kit import Box, Kit, Trunk
from fieldfare.show.plan import PlacedBox
from fieldfare.show.record import Place
from fieldfare.show.show import Show
from fieldfare.show.venue import Riser, Venue

if TYPE_CHECKING:
    from scipy.sparse import csr_array

FREE_M = JOIN_CLEAR_M  # a box stands no nearer to keep-clear ground
RANK = {"must": 0, "want": 1, "nice": 2}
BIG_M = 1000.0  # what an input without a socket costs: more than any run
ORDER_M = 1e-6  # so that of equal places the first is taken


@dataclass(frozen=True, slots=True)
class Lot:
    """Boxes that are alike for this show."""

    thing: Box
    tags: tuple[str, ...]
    pinned: Place | None = None
    holds: frozenset[str] = frozenset()  # inputs that a pin sends to it

    @property
    def lines(self) -> int:
        """How many sockets of each work."""
        return len(self.thing.working(self.tags[0]))


@dataclass(frozen=True, slots=True)
class Floor:
    """What the program is about: who plugs in, what there is, and how far everything is from everything."""

    inputs: tuple[str, ...]
    lots: tuple[Lot, ...]
    places: tuple[Place, ...]
    heads: tuple[int, ...]  # of the places, where the trunk's end or the recorder may stand
    head_lines: int
    head_holds: frozenset[str]
    run_m: Mapping[tuple[str, int], float]  # input, place
    tail_m: Mapping[tuple[int, int], float]  # place of a box, place of the head
    trunk_m: Mapping[int, float]  # place of the head


@dataclass(frozen=True, slots=True)
class Standing:
    """Where everything stands, and how many metres of cable that takes."""

    head: int  # of the places
    boxes: tuple[tuple[int, int], ...] = ()  # lot, place
    metres: float = np.inf


def place_boxes(venue: Venue, show: Show, kit: Kit, wanted: tuple[Wanted, ...]) -> tuple[PlacedBox, ...]:
    """Place the trunk's stage end and as many boxes as save cable.

    Parameters
    ----------
    venue, show, kit
        The documents; the places and boxes that the show pins are kept.
    wanted
        Everything that may be plugged in. Where there are more inputs than lines or channels, the more important ones
        decide.

    Returns
    -------
    The trunk, or the recorder itself where the kit has no trunk, then the boxes in use, by tag.
    """
    floor = _floor(venue, show, kit, wanted)
    standing = solve(floor)
    spare = [list(lot.tags) for lot in floor.lots]
    placed = [
        PlacedBox(
            tag=spare[lot].pop(0), item=thing.item, at=floor.places[place], tail_m=thing.tail_m, sockets=thing.lines
        )
        for lot, place in standing.boxes
        for thing in (floor.lots[lot].thing,)
    ]
    at = floor.places[standing.head]
    head = [
        PlacedBox(tag=tag, item=one.item, at=at, sockets=one.lines, trunk=True)
        for one, tag in _trunks(kit, len(floor.inputs))
    ]
    one, tag = recorder_of(kit)
    if not head and one is not None:
        head = [PlacedBox(tag=tag, item=one.item, at=at, sockets=one.size)]
    return (*head, *sorted(placed, key=lambda one: natural(one.tag)))


@remembered(8)
def solve(floor: Floor) -> Standing:
    """Find the places that need the fewest metres: runs to boxes, tails to the head, and the trunk.

    Head by head, the most promising first, as far as is known: by what it needs at least, then by what it would need if
    boxes could be parted. No head is passed over whose least could still be better.
    """
    pinned = [
        (number, floor.places.index(lot.pinned)) for number, lot in enumerate(floor.lots) if lot.pinned is not None
    ]
    best = Standing(head=floor.heads[0], boxes=tuple(pinned))
    heads = [(_least(floor, head), number, head, False) for number, head in enumerate(floor.heads) if floor.inputs]
    heapify(heads)
    while heads and heads[0][0] < best.metres:
        least, number, head, parted = heappop(heads)
        if parted:
            best = _with_head(floor, head, best.metres) or best
        elif (standing := _with_head(floor, head, best.metres, parted=True)) is not None:
            heappush(heads, (max(least, standing.metres), number, head, True))
    return best


def _spots(floor: Floor, lot: Lot, head: int) -> list[int]:
    """Where a box of a lot may stand: as far as its tail reaches, or where it is pinned, whether it reaches or not."""
    if lot.pinned is not None:
        return [floor.places.index(lot.pinned)]
    reach_m = lot.thing.tail_m / (1 + SPARE_SHARE)
    return [place for place in range(len(floor.places)) if floor.tail_m[place, head] <= reach_m]


def _least(floor: Floor, head: int) -> float:
    """What a place of the head needs at least: as if there were a box without a tail wherever a box may stand."""
    spots = {head, *(place for lot in floor.lots for place in _spots(floor, lot, head))}
    return floor.trunk_m[head] + sum(min(floor.run_m[name, place] for place in spots) for name in floor.inputs)


def _with_head(floor: Floor, head: int, below_m: float, *, parted: bool = False) -> Standing | None:
    """Place the boxes for one place of the head; none where that takes no less than what is known already.

    Boxes that may be parted need no more metres than whole ones, and are placed in a fraction of the time.

    Columns: how many boxes of each lot stand at each place; then, input by input, whether it plugs in at the head, at
    each lot's boxes at each place, or nowhere.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    boxes = [(lot, place) for lot, one in enumerate(floor.lots) for place in _spots(floor, one, head)]
    units = [len(floor.lots[lot].tags) for lot, _ in boxes]
    spots = (head, *(place for _, place in boxes))
    tails = [floor.tail_m[place, head] + ORDER_M * place for _, place in boxes]
    runs = [[*(floor.run_m[name, place] for place in spots), BIG_M] for name in floor.inputs]
    cost = np.concatenate([tails, np.ravel(runs)])
    found = milp(
        cost,
        integrality=np.repeat([0 if parted else 1, 0], [len(boxes), len(cost) - len(boxes)]),
        bounds=Bounds(0, np.concatenate([units, _allowed(floor, boxes).ravel()])),
        constraints=[
            LinearConstraint(*_rules(floor, boxes)),
            LinearConstraint(cost[None, :], -np.inf, below_m - floor.trunk_m[head] - ORDER_M),
        ],
    )
    if found.x is None or found.fun is None:
        return None
    placed = [box for box, number in zip(boxes, found.x, strict=False) for _ in range(round(number))]
    return Standing(head, tuple(placed), float(found.fun) + floor.trunk_m[head])


def _rules(floor: Floor, boxes: list[tuple[int, int]]) -> tuple[csr_array, Floats, Floats]:
    """What every placing keeps to, as rows over the columns, with the least and the most that each may come to."""
    from scipy.sparse import csr_array

    inputs, count = len(floor.inputs), len(boxes)
    box = np.arange(count)
    plug = count + np.arange(inputs * (count + 2)).reshape(inputs, count + 2)
    socket = inputs + 1 + box
    there = inputs + 1 + count + np.arange(inputs * count).reshape(inputs, count)
    lot = inputs + 1 + count + inputs * count + np.array([lot for lot, _ in boxes], dtype=np.int_)
    entries = (
        (np.arange(inputs)[:, None], plug, 1.0),  # every input plugs in somewhere, or nowhere
        (np.array(inputs), plug[:, 0], 1.0),  # no more at the head than it has lines
        (socket, box, np.array([-float(floor.lots[lot].lines) for lot, _ in boxes])),  # a socket for each plug
        (socket, plug[:, 1:-1], 1.0),
        (there, box, -1.0),  # and a box for each; the solver needs that said to be quick
        (there, plug[:, 1:-1], 1.0),
        (lot, box, 1.0),
    )
    spread = [[part.ravel() for part in np.broadcast_arrays(*entry)] for entry in entries]
    rows, columns, factors = (np.concatenate(part) for part in zip(*spread, strict=True))
    by_hand = [float(one.pinned is not None) for one in floor.lots]
    least = np.concatenate([np.ones(inputs), np.full(1 + count + inputs * count, -np.inf), by_hand])
    units = [float(len(one.tags)) for one in floor.lots]
    most = np.concatenate([np.ones(inputs), [floor.head_lines], np.zeros(count + inputs * count), units])
    return csr_array((factors, (rows, columns)), shape=(len(least), count + plug.size)), least, most


def _allowed(floor: Floor, boxes: list[tuple[int, int]]) -> NDArray[np.float64]:
    """Where each input may plug in: anywhere, or nowhere, unless a pin sends it to one box."""
    holds = [floor.head_holds, *(floor.lots[lot].holds for lot, _ in boxes)]
    sent = frozenset[str]().union(*holds)
    return np.array([[*(float(name in here or name not in sent) for here in holds), 1.0] for name in floor.inputs])


def candidates(venue: Venue, floor: Ground) -> tuple[Place, ...]:
    """Where a box may stand: on edges, clear of keep-clear ground, and not in the middle of the front."""
    half_m, depth_m = venue.stage.width_m / 2, venue.stage.depth_m
    corners = [(-half_m, 0.0), (half_m, 0.0), (-half_m, depth_m), (half_m, depth_m)]
    sides = [(-half_m, depth_m / 2), (half_m, depth_m / 2), (0.0, depth_m)]
    risers = [spot for riser in venue.riser for spot in _around(riser)]
    ways = [point for way in venue.way for point in (way.points[0], way.points[-1])]
    spots = [
        spot
        for spot in dict.fromkeys((*corners, *risers, *sides, *ways))
        if -half_m <= spot[0] <= half_m and 0 <= spot[1] <= depth_m
    ]
    clear = [spot for spot in spots if clear_of(floor, Path((spot,), 0, 0, 0)) >= FREE_M]
    return tuple(clear or spots)


def _around(riser: Riser) -> Iterator[Place]:
    (x, y), (wide, deep) = riser.at, riser.size_m
    for across, along in ((-1, -1), (1, -1), (-1, 1), (1, 1), (0, -1), (-1, 0), (1, 0), (0, 1)):
        yield (round(x + across * wide / 2, 3), round(y + along * deep / 2, 3))


def _floor(venue: Venue, show: Show, kit: Kit, wanted: tuple[Wanted, ...]) -> Floor:
    pins = {one.box: one.at for one in show.box_place}
    begins = starts(wanted, venue)
    rows = sorted(wanted, key=lambda one: (one.source.status == "possible", RANK[one.importance], one.order))
    recorder, recorder_tag = recorder_of(kit)
    channels = len(recorder.working(recorder_tag)) if recorder else len(rows)
    trunks = _trunks(kit, min(len(rows), channels))
    lines = sum(len(thing.working(tag)) for thing, tag in trunks) if trunks else channels
    kept = rows[: min(channels, lines)]
    ours = ground(venue, (*begins.values(), *pins.values()))
    here: Place = venue.recordist.at[:2]
    places = tuple(dict.fromkeys((*candidates(venue, ours), *pins.values(), here)))
    plugs = {(one.id, -1): begins[one.id, one.accept[0].taking] for one in kept}
    spots = {("", number): place for number, place in enumerate(places)}
    found = weighed_m(ours, {**plugs, **spots}, dict(enumerate(places)))
    tail_m = {(start, end): metres for ((_, start), end), metres in found.items() if start >= 0}
    recordist = places.index(here)
    heads = _heads(places, [thing for thing, _ in trunks], [pins.get(tag) for _, tag in trunks], recordist, tail_m)
    return Floor(
        inputs=tuple(one.id for one in kept),
        lots=tuple(_lots(kit, show, pins)),
        places=places,
        heads=heads,
        head_lines=lines,
        head_holds=_held(show, {tag for _, tag in trunks} or {recorder_tag}),
        run_m={(name, end): metres for ((name, start), end), metres in found.items() if start < 0},
        tail_m=tail_m,
        trunk_m={head: tail_m[head, recordist] for head in heads},
    )


def _heads(
    places: tuple[Place, ...],
    trunks: list[Trunk],
    pinned: list[Place | None],
    recordist: int,
    long_m: Mapping[tuple[int, int], float],
) -> tuple[int, ...]:
    """Where the trunk's end may stand; where it reaches nothing, at the nearest place, which a check then tells."""
    if not trunks:
        return (recordist,)
    by_hand = [places.index(at) for at in pinned if at is not None]
    if by_hand:
        return (by_hand[0],)
    reach_m = min(thing.length_m for thing in trunks)
    spots = [number for number in range(len(places)) if number != recordist]
    within = [number for number in spots if (1 + SPARE_SHARE) * long_m[number, recordist] <= reach_m]
    return tuple(within or sorted(spots, key=lambda number: long_m[number, recordist])[:1])


def _trunks(kit: Kit, lines: int) -> list[tuple[Trunk, str]]:
    """The fewest trunks that have so many lines, the smallest that does where one does."""
    units = sorted(
        ((thing, tag) for thing in kit.trunk for tag in thing.good_tags),
        key=lambda one: (
            len(one[0].working(one[1])) < lines,
            len(one[0].working(one[1])) * (1 if len(one[0].working(one[1])) >= lines else -1),
            natural(one[1]),
        ),
    )
    taken: list[tuple[Trunk, str]] = []
    for unit in units:
        if sum(len(thing.working(tag)) for thing, tag in taken) < lines:
            taken.append(unit)
    return taken


def _lots(kit: Kit, show: Show, pins: Mapping[str, Place]) -> Iterator[Lot]:
    named = {pin.box for pin in show.pin if pin.box} | set(pins) | {tag for box in kit.box for tag in box.dead}
    for thing in kit.box:
        alike = tuple(sorted((tag for tag in thing.good_tags if tag not in named), key=natural))
        if alike:
            yield Lot(thing, alike)
        for tag in thing.good_tags:
            if tag in named:
                yield Lot(thing, (tag,), pins.get(tag), _held(show, {tag}))


def _held(show: Show, tags: set[str]) -> frozenset[str]:
    return frozenset(pin.input for pin in show.pin if pin.box in tags)
