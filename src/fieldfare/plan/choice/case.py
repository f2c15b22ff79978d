"""What the choice is made from, prepared: inputs with their ways, heaps, landings, channels and pins."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TypeVar

from fieldfare.plan.choice.shares import Share, sets_in, shares_among
from fieldfare.plan.choice.stock import OWNERS, Stock, natural, preferred, stock_of
from fieldfare.plan.choice.ways import (
    Fitness,
    Lay,
    Way,
    cables_of,
    decimetres,
    jumpers_of,
    leads_of,
    stands_of,
    ways_of,
)
from fieldfare.plan.wanted import Wanted
from fieldfare.show.kit import Kit, Preamp, Recorder, Thing
from fieldfare.show.show import Importance, Pin, Show
from fieldfare.show.venue import HouseBox, Venue
from fieldfare.units.faults import Fault
from fieldfare.units.text import nearest

SHARE_DI_M = 3.0  # how far apart two sources may be that share a DI of two channels
STEP_DOWN: Mapping[Importance, Importance] = {"must": "want", "want": "nice", "nice": "nice"}


AnyThing = TypeVar("AnyThing", bound=Thing)


@dataclass(frozen=True, slots=True)
class Landing:
    """Where cables may end: a box, the trunk's own sockets, or the recorder itself."""

    tag: str
    sockets: int  # that work
    trunk: bool  # it takes a line of the trunk
    tail_dm: int = 0
    own: bool = False  # the trunk's or the recorder's own sockets: no box on the way
    dead: frozenset[int] = frozenset()  # numbers of sockets that do not work


@dataclass(frozen=True, slots=True)
class Bank:
    """Neighbouring preamps of the recorder that share one phantom switch; none where each has its own."""

    channels: tuple[int, ...]  # that work
    switched: bool = True


@dataclass(frozen=True, slots=True)
class Outboard:
    """Preamps outside the recorder: units of one entry with as many channels that work."""

    thing: Preamp
    tags: tuple[str, ...]
    channels: int  # of each, that work

    @property
    def spots(self) -> tuple[tuple[str, int], ...]:
        """Tag and number of every channel that works."""
        return tuple((tag, channel) for tag in self.tags for channel in self.thing.working(tag))


@dataclass(frozen=True, slots=True)
class Input:
    """One wanted input with all that could be done about it."""

    wanted: Wanted
    importance: Importance  # a possible source counts a step lower
    ways: tuple[Way, ...]
    stands: tuple[tuple[int, int], ...]  # heap, cost in score
    leads: tuple[Lay, ...]
    cables: tuple[Lay, ...]  # from a mic, DI or splitter
    line_cables: tuple[Lay, ...]  # from a line output
    needs_dm: Mapping[str, int]  # by landing
    joins: frozenset[str]  # landings on the way to which two cables may be joined
    pin: Pin | None


@dataclass(frozen=True, slots=True)
class Case:
    """Everything the choice is made from."""

    inputs: tuple[Input, ...]
    stock: Stock
    landings: tuple[Landing, ...]
    trunk_lines: int | None  # that work; none where there is no trunk
    trunks: tuple[tuple[str, int], ...]  # tag, lines, dead ones among them
    dead_lines: frozenset[int]
    recorder: Recorder | None
    recorder_tag: str
    banks: tuple[Bank, ...]
    outboards: tuple[Outboard, ...]
    house: tuple[HouseBox, ...]
    jumpers: tuple[Lay, ...]
    shares: tuple[Share, ...]  # who may use whose row
    sets: tuple[int, ...]  # the sets in which those who play differ, in the order of the evening

    @property
    def line_channels(self) -> tuple[int, ...]:
        """The recorder's channels that are line inputs."""
        there = self.recorder.working(self.recorder_tag) if self.recorder else ()
        return tuple(channel for channel in there if self.recorder and channel > self.recorder.preamps)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a choice is asked with: documents, and what other rooms found out about them."""

    wanted: tuple[Wanted, ...]
    kit: Kit
    needed_m: Mapping[tuple[str, str], float]
    show: Show
    venue: Venue | None
    fitness: Fitness
    joins: Mapping[tuple[str, str], bool]
    alone: frozenset[str] = frozenset()  # units that lie in heaps of their own


def prepare(asked: Asked) -> Case:
    """Prepare everything the choice is made from.

    Raises
    ------
    Fault
        A pin names an input or a unit that does not exist, or a unit that is faulty.
    """
    kit, show = asked.kit, asked.show
    _check_pins(asked.wanted, kit, show)
    stock = stock_of(kit, show, asked.alone)
    landings = _landings(kit, {tag for _, tag in asked.needed_m})
    recorder, recorder_tag = recorder_of(kit)
    rows = sorted(asked.wanted, key=lambda one: one.order)
    inputs = tuple(_input(asked, one, stock, {landing.tag for landing in landings}) for one in rows)
    return Case(
        inputs=inputs,
        stock=stock,
        landings=landings,
        trunk_lines=sum(len(one.working(tag)) for one in kit.trunk for tag in one.good_tags) if kit.trunk else None,
        trunks=tuple((tag, len(lines)) for tag, lines in trunk_lines(kit).items()),
        dead_lines=frozenset(
            lines[number - 1]
            for tag, lines in trunk_lines(kit).items()
            for thing in kit.trunk
            for number in thing.dead.get(tag, ())
            if 1 <= number <= len(lines)
        ),
        recorder=recorder,
        recorder_tag=recorder_tag,
        banks=_banks(recorder, recorder_tag),
        outboards=tuple(one for thing in _good(kit.preamp) for one in _outboards(thing) if recorder is not None),
        house=asked.venue.house_box if asked.venue else (),
        jumpers=jumpers_of(stock),
        shares=shares_among(inputs),
        sets=sets_in(inputs),
    )


def _input(asked: Asked, wanted: Wanted, stock: Stock, lands: set[str]) -> Input:
    possible = wanted.source.status == "possible"
    house = asked.venue.house_box if asked.venue else ()
    pin = next((pin for pin in asked.show.pin if pin.input == wanted.id), None)
    lengths = {
        tag: length for (name, tag), length in sorted(asked.needed_m.items()) if name == wanted.id and tag in lands
    }
    return Input(
        wanted=wanted,
        importance=STEP_DOWN[wanted.importance] if possible else wanted.importance,
        ways=ways_of(wanted, stock, house, asked.fitness, pin),
        stands=stands_of(wanted, stock, pin),
        leads=leads_of(wanted, stock),
        cables=cables_of("xlr-f", stock, lengths.values()),
        line_cables=cables_of(wanted.lead_end, stock, lengths.values()),
        needs_dm={tag: decimetres(length) for tag, length in lengths.items()},
        joins=frozenset(tag for tag in lengths if asked.joins.get((wanted.id, tag), True)),
        pin=pin,
    )


def _landings(kit: Kit, tags: set[str]) -> tuple[Landing, ...]:
    trunk = bool(kit.trunk)
    found = [
        Landing(tag, len(box.working(tag)), trunk, decimetres(box.tail_m), dead=frozenset(box.dead.get(tag, ())))
        for box in kit.box
        for tag in box.good_tags
        if tag in tags
    ]
    for things, through in ((kit.trunk, True), (kit.recorder, False)):
        found += [
            Landing(tag, len(one.working(tag)), through, own=True)
            for one in things
            for tag in one.good_tags
            if tag in tags
        ]
    return tuple(sorted(found, key=lambda landing: natural(landing.tag)))


def recorder_of(kit: Kit) -> tuple[Recorder | None, str]:
    """Return the recorder that is used and its tag: the unit with the most working channels.

    Of those with as many the one with the most preamps, then ours before others, then the first by tag.
    """
    units = [(one, tag) for one in _good(kit.recorder) for tag in sorted(one.good_tags, key=natural)]
    return max(units, key=_worth, default=(None, ""))


def _worth(unit: tuple[Recorder, str]) -> tuple[int, int, int]:
    one, working = unit[0], unit[0].working(unit[1])
    return len(working), sum(channel <= one.preamps for channel in working), -OWNERS.index(one.owner)


def _banks(recorder: Recorder | None, tag: str) -> tuple[Bank, ...]:
    if recorder is None:
        return ()
    channels = tuple(channel for channel in recorder.working(tag) if channel <= recorder.preamps)
    if recorder.phantom_bank == 1:
        return (Bank(channels, switched=False),) if channels else ()
    banks: dict[int, list[int]] = {}
    for channel in channels:
        banks.setdefault((channel - 1) // recorder.phantom_bank, []).append(channel)
    return tuple(Bank(tuple(one)) for one in banks.values())


def _outboards(thing: Preamp) -> Iterator[Outboard]:
    """Put units with as many working channels together; a unit of which none works is no preamp."""
    by_channels: dict[int, list[str]] = {}
    for tag in _plannable(thing):
        by_channels.setdefault(len(thing.working(tag)), []).append(tag)
    for channels, tags in sorted(by_channels.items(), reverse=True):
        if channels:
            yield Outboard(thing, tuple(tags), channels)


def trunk_lines(kit: Kit) -> dict[str, range]:
    """Number the lines of all trunks that are fit, one after the other: by tag, the numbers of its lines."""
    found: dict[str, range] = {}
    first = 1
    for thing in _good(kit.trunk):
        for tag in sorted(thing.good_tags, key=natural):
            found[tag] = range(first, first + thing.lines)
            first += thing.lines
    return found


def _good(things: Iterable[AnyThing]) -> list[AnyThing]:
    return [thing for thing in preferred(things) if thing.good_tags]


def _plannable(thing: Preamp) -> tuple[str, ...]:
    tags = sorted(thing.good_tags, key=natural)
    return tuple(tags[: max(0, len(tags) - thing.keep_back)])


def _check_pins(wanted: tuple[Wanted, ...], kit: Kit, show: Show) -> None:
    ids = [one.id for one in wanted]
    twice = [pin.input for number, pin in enumerate(show.pin) if pin.input in {one.input for one in show.pin[:number]}]
    if twice:
        raise Fault("there are two pins of it", f"pin of {twice[0]}", "write everything about an input in one pin")
    tags = kit.by_tag
    for pin in show.pin:
        if pin.input not in ids:
            raise _unknown("input", pin.input, pin, ids)
        for tag in (pin.use, pin.stand, pin.box, *pin.never):
            if tag and tag not in tags:
                raise _unknown("unit", tag, pin, tags)
        for tag in (pin.use, pin.stand, pin.box):
            if tag and tag in tags[tag].faulty:
                why = f"{tag} is marked faulty: {tags[tag].faulty[tag]}"
                raise Fault(why, f"pin of {pin.input}", "pin another unit, or mark it mended in the kit")


def _unknown(what: str, name: str, pin: Pin, known: Iterable[str]) -> Fault:
    close = nearest(name, known)
    remedy = f"did you mean {close!r}?" if close else "write one that there is"
    return Fault(f"there is no {what} {name!r}", f"pin of {pin.input}", remedy)
