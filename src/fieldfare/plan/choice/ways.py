"""How each input could be taken with what the kit has: mic, DI, split or line, with its stand, lead and cable."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations_with_replacement
from math import dist

from fieldfare.plan.choice.stock import Stock
from fieldfare.plan.wanted import Accept, Wanted
from fieldfare.show.kit import Cable, Di, Mic, Phantom, Splitter, Stand
from fieldfare.show.show import Pin
from fieldfare.show.venue import HouseBox

Fitness = Mapping[tuple[str, str], int]

SPLIT_LOSS = {"transformer": 0, "active": 5, "none": 40}  # score that a splitter costs by its isolation
HOUSE_SPLIT_LOSS = {True: 0, None: 15, False: 25}  # the same for the outputs of a house box, by what is known of them
NEXT_STAND = 3  # score that each step down the list of acceptable stands costs
LEAD_SLACK_M = 0.5
LEAD_LIMIT_M = 6.0  # an unbalanced lead from an instrument is no longer than that; common practice, no source
JUMPER_M = 1.0  # from a splitter back into the house box
INTO_DI = ("jack-ts", "jack-trs", "jack-socket")


@dataclass(frozen=True, slots=True)
class Way:
    """One way to take one input with one kind of unit."""

    accept: Accept
    score: int
    heap: int | None = None  # of mics or DIs
    splitter: int | None = None  # heap
    house_box: str = ""  # that gives the split
    phantom: Phantom = "ignored"  # what our preamp must, may or must not do
    stands: bool = False  # it needs a stand
    lead: bool = False  # it needs a lead from the instrument
    line: bool = False  # it arrives at line level

    @property
    def item_heap(self) -> int | None:
        """The heap by which the choice of equipment is told: mic or DI, else splitter."""
        return self.heap if self.heap is not None else self.splitter


@dataclass(frozen=True, slots=True)
class Lay:
    """One cable, or two joined, that could lie for an input."""

    heaps: tuple[int, ...]
    length_dm: int


def ways_of(
    wanted: Wanted, stock: Stock, house: tuple[HouseBox, ...], fitness: Fitness, pin: Pin | None
) -> tuple[Way, ...]:
    """List every way to take an input: by each heap of mics and DIs that suits, each splitter, and as a line."""
    found: list[Way] = []
    for number, heap in stock.of(Mic, Di):
        thing = heap.thing
        accept = best_accept(wanted, thing)
        by_hand = pin is not None and pin.use in heap.tags
        if accept is None and by_hand:
            accept = Accept(taking="mic" if isinstance(thing, Mic) else "di", score=1, why="chosen by hand")
        if accept is None:
            continue
        score = fitness.get((wanted.id, thing.item), accept.score)
        if score > 0 or by_hand:
            found.append(_unit_way(wanted, number, thing, accept, score))
    found += _splits(wanted, stock, house, fitness)
    line = next((accept for accept in wanted.accept if accept.taking == "line"), None)
    if line is not None:
        found.append(Way(line, line.score, line=True))
    return tuple(found)


def best_accept(wanted: Wanted, thing: object) -> Accept | None:
    """Return the best of an input's ways that a mic or DI fits, or none."""
    if isinstance(thing, Mic):
        overloaded = thing.max_spl_db is not None and thing.max_spl_db < wanted.spl_db[0]
        fits = [] if overloaded else [accept for accept in wanted.accept if _mic_fits(accept, thing)]
    elif isinstance(thing, Di):
        fits = [accept for accept in wanted.accept if _di_fits(accept, thing, wanted)]
    else:
        fits = []
    return max(fits, key=lambda accept: accept.score, default=None)


def _stand_heights(wanted: Wanted, stand: Stand) -> bool:
    """Tell whether a stand holds a mic at the height that the input asks for."""
    return stand.lowest_m <= wanted.height_m <= stand.highest_m


def stands_of(wanted: Wanted, stock: Stock, pin: Pin | None) -> tuple[tuple[int, int], ...]:
    """List the heaps of stands that would do, each with what it costs in score."""
    found = []
    for number, heap in stock.of(Stand):
        assert isinstance(heap.thing, Stand)
        if heap.thing.kind in wanted.stands and _stand_heights(wanted, heap.thing):
            found.append((number, NEXT_STAND * wanted.stands.index(heap.thing.kind)))
        elif pin is not None and pin.stand in heap.tags:
            found.append((number, 0))
    return tuple(found)


def cables_of(from_end: str, stock: Stock, needed_m: Iterable[float]) -> tuple[Lay, ...]:
    """List the cables, and pairs of cables, that reach a box from a mic, DI or splitter, or from a line output.

    A pair is listed only where neither of the two would reach on its own.
    """
    fit = [(number, heap.thing) for number, heap in stock.of(Cable)]
    usable = [(number, thing) for number, thing in fit if isinstance(thing, Cable) and _fits(thing, from_end)]
    needs = [decimetres(length) for length in needed_m]
    singles = [Lay((number,), decimetres(thing.length_m)) for number, thing in usable]
    found = [lay for lay in singles if any(need <= lay.length_dm for need in needs)]
    starts = {number for number, thing in usable if thing.from_end == from_end}
    found = [lay for lay in found if starts & {*lay.heaps}]
    extends = {number for number, thing in usable if thing.from_end == "xlr-f"}
    for first, second in combinations_with_replacement(singles, 2):
        ends = ({*first.heaps}, {*second.heaps})
        if not any(ends[i] & starts and ends[1 - i] & extends for i in (0, 1)):
            continue
        longer, together = max(first.length_dm, second.length_dm), first.length_dm + second.length_dm
        if any(longer < need <= together for need in needs):
            found.append(Lay((*first.heaps, *second.heaps), together))
    return tuple(found)


def leads_of(wanted: Wanted, stock: Stock) -> tuple[Lay, ...]:
    """List the leads that reach from the instrument to the DI on the floor."""
    needed = lead_needed_m(wanted)
    return tuple(
        Lay((number,), decimetres(heap.thing.length_m))
        for number, heap in stock.of(Cable)
        if isinstance(heap.thing, Cable)
        and needed <= heap.thing.length_m <= LEAD_LIMIT_M
        and heap.thing.from_end == wanted.lead_end
        and heap.thing.to_end in INTO_DI
    )


def jumpers_of(stock: Stock) -> tuple[Lay, ...]:
    """List the cables that lead from a splitter back into the house box."""
    return tuple(
        Lay((number,), decimetres(heap.thing.length_m))
        for number, heap in stock.of(Cable)
        if isinstance(heap.thing, Cable)
        and (heap.thing.signal, heap.thing.from_end, heap.thing.to_end) == ("mic", "xlr-f", "xlr-m")
        and heap.thing.length_m >= JUMPER_M
    )


def lead_needed_m(wanted: Wanted) -> float:
    """Return how long the lead from an instrument to its DI must be: along the floor, up, and slack."""
    along = dist(wanted.at[:2], wanted.sound_at[:2])
    return round(along + abs(wanted.sound_at[2] - wanted.at[2]) + LEAD_SLACK_M, 2)


def decimetres(length_m: float) -> int:
    """Turn metres into whole decimetres, upward.

    >>> decimetres(3.0), decimetres(4.31)
    (30, 44)
    """
    return -int(-round(length_m * 1000) // 100)


def _unit_way(wanted: Wanted, heap: int, thing: object, accept: Accept, score: int) -> Way:
    if isinstance(thing, Mic):
        return Way(
            accept, score, heap=heap, phantom=thing.phantom, stands=thing.mount == "stand" and bool(wanted.stands)
        )
    assert isinstance(thing, Di)
    return Way(accept, score, heap=heap, phantom=thing.phantom, lead=not wanted.own_lead)


def _splits(wanted: Wanted, stock: Stock, house: tuple[HouseBox, ...], fitness: Fitness) -> Iterator[Way]:
    accept = next((accept for accept in wanted.accept if accept.taking == "split"), None)
    if accept is None or wanted.house_mic is None:
        return
    score = fitness.get((wanted.id, wanted.house_mic.item), accept.score)
    for number, heap in stock.of(Splitter):
        assert isinstance(heap.thing, Splitter)
        worth = max(1, score - SPLIT_LOSS[heap.thing.isolation])
        yield Way(accept, worth, splitter=number, phantom="harmful")  # the house feeds its own side, and only the house
    for box in house:
        if box.name == wanted.house_mic.house_box and box.split_outputs:
            worth = max(1, score - HOUSE_SPLIT_LOSS[box.splits_isolated.known])
            yield Way(accept, worth, house_box=box.name, phantom="harmful")


def _mic_fits(accept: Accept, mic: Mic) -> bool:
    return (
        accept.taking == "mic"
        and mic.kind in accept.kinds
        and (not accept.patterns or mic.pattern in accept.patterns)
        and (accept.clip is None or accept.clip == (mic.mount == "clip"))
    )


def _di_fits(accept: Accept, di: Di, wanted: Wanted) -> bool:
    too_loud = di.max_input_dbu is not None and wanted.signal_dbu is not None and wanted.signal_dbu > di.max_input_dbu
    return (
        accept.taking == "di"
        and (accept.active is None or accept.active == di.active)
        and di.input_ohm >= accept.least_input_ohm
        and not too_loud
    )


def _fits(cable: Cable, from_end: str) -> bool:
    signals = ("mic", "line") if from_end == "xlr-f" else ("line",)
    return cable.to_end == "xlr-m" and cable.signal in signals and cable.from_end in (from_end, "xlr-f")
