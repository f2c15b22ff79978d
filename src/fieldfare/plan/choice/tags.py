"""From counts to things: each chosen input gets its pieces by tag, its socket, its line and its channel."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from fieldfare.plan.choice.case import Case
from fieldfare.plan.choice.columns import Program, pinned_channel
from fieldfare.plan.choice.numbering import Numbered, Seat, number_inputs
from fieldfare.plan.choice.shares import Manner
from fieldfare.plan.choice.solver import Solution
from fieldfare.plan.choice.stock import take
from fieldfare.plan.choice.ways import Lay, Way
from fieldfare.plan.wanted import Chosen
from fieldfare.show.kit import Di, Mic, Phantom, Thing
from fieldfare.show.plan import Goal


@dataclass(slots=True)
class Picked:
    """What the solved program says about each kept input."""

    way: dict[int, Way] = field(default_factory=dict)
    stand: dict[int, int] = field(default_factory=dict)
    cable: dict[int, Lay] = field(default_factory=dict)
    lead: dict[int, Lay] = field(default_factory=dict)
    jumper: dict[int, Lay] = field(default_factory=dict)
    landing: dict[int, int] = field(default_factory=dict)
    host: dict[int, int] = field(default_factory=dict)  # guest to host
    manner: dict[int, Manner] = field(default_factory=dict)  # of each guest
    matched: list[tuple[int, int, int, int]] = field(default_factory=list)
    shared_di: list[tuple[int, int, int]] = field(default_factory=list)
    on_bar: dict[int, int] = field(default_factory=dict)  # right side of a pair to the left, whose stand holds both
    outboard_inputs: int = 0

    @property
    def rows(self) -> list[int]:
        """The inputs with a row of their own, in the order of the list."""
        return sorted(number for number in self.way if number not in self.host)

    def guests_of(self, host: int) -> list[int]:
        """The guests on a row, in the order of the list."""
        return sorted(guest for guest, one in self.host.items() if one == host)


def picked(program: Program, values: Solution) -> Picked:
    """Read the solved program."""
    found = Picked()
    for (number, index), column in program.way.items():
        if values[column]:
            found.way[number] = program.case.inputs[number].ways[index]
    found.stand = {number: heap for (number, heap), column in program.stand.items() if values[column]}
    found.cable = {
        number: lay for lays in (program.cable, program.line_cable) for (number, lay), c in lays.items() if values[c]
    }
    found.lead = {number: lay for (number, lay), column in program.lead.items() if values[column]}
    found.jumper = {number: lay for (number, lay), column in program.jumper.items() if values[column]}
    found.landing = {number: land for (number, land), column in program.land.items() if values[column]}
    manners = {share.pair: share.manner for share in program.case.shares if share.manner != "own"}
    for (guest, host, _), column in program.guest.items():
        if values[column]:
            found.host[guest], found.manner[guest] = host, manners[guest, host]
    for (guest, host), column in program.plugged.items():
        if values[column]:
            found.host[guest], found.manner[guest] = host, "own"
    found.on_bar = {right: left for (_, left, right), column in program.on_bar.items() if values[column]}
    found.matched = [key for key, column in program.matched.items() if values[column]]
    found.shared_di = _sides_together(
        program, found, [key for key, column in program.shared_di.items() if values[column]]
    )
    found.outboard_inputs = sum(int(values[column]) for column in program.outside)
    return found


def _sides_together(program: Program, found: Picked, shared: list[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """Let the two sides of a stereo source share a DI rather than each with a stranger; as many DIs as before."""
    mates = {(heap, one): other for heap, *pair in shared for one, other in (pair, reversed(pair))}
    for heap, left, right in program.shared_di:
        if not _are_sides(program, found, heap, left, right) or mates.get((heap, left)) == right:
            continue
        strangers = sorted(mates[heap, one] for one in (left, right) if (heap, one) in mates)
        if strangers and (len(strangers) == 1 or (heap, *strangers) in program.shared_di):
            for one in strangers:
                del mates[heap, one]
            for one, other in ((left, right), strangers) if len(strangers) == 2 else ((left, right),):
                mates |= {(heap, one): other, (heap, other): one}
    return sorted((heap, one, other) for (heap, one), other in mates.items() if one < other)


def _are_sides(program: Program, found: Picked, heap: int, left: int, right: int) -> bool:
    """Whether two inputs are the sides of one stereo source, both taken by a DI of one heap."""
    wanted = [program.case.inputs[number].wanted for number in (left, right)]
    taken = [found.way[number].heap for number in (left, right) if number in found.way]
    return wanted[0].pair == wanted[1].id and taken == [heap, heap]


def chosen_rows(program: Program, found: Picked) -> tuple[dict[int, Chosen], dict[int, Chosen], tuple[Goal, ...]]:
    """Give every kept input its pieces by tag.

    Parameters
    ----------
    program, found
        The program and what it chose.

    Returns
    -------
    The rows by number of the input, without reasons; the guests on them that carry a mic or plug in their own; and the
    goals of numbering.
    """
    case = program.case
    numbered, goals = number_inputs(case, [_seat(program, found, n) for n in found.rows], found.outboard_inputs)
    pieces = _pieces(program, found)
    preamps = _preamps(program, found, numbered)
    lines, sockets = _lines(program, found, numbered), _sockets(program, found, numbered)
    rows: dict[int, Chosen] = {}
    for number in found.rows:
        landing, line = case.landings[found.landing[number]], lines.get(number, 0)
        preamp, preamp_channel = preamps[number]
        rows[number] = replace(
            pieces[number],
            box=landing.tag,
            socket=line if landing.own and landing.trunk else sockets[number],
            trunk_line=line,
            preamp=preamp,
            preamp_channel=preamp_channel,
            channel=numbered[number].channel,
            shared_by=tuple(case.inputs[guest].wanted.id for guest in found.guests_of(number)),
        )
    rows = with_phantom(program, found, rows)
    return rows, guest_rows(program, found, rows, pieces), goals


def _pieces(program: Program, found: Picked) -> dict[int, Chosen]:
    """Name mic or DI, stand, splitter, leads and cables of every input that has its own."""
    case = program.case
    used: set[str] = set()
    units = _units(program, found, sorted(found.way), used)
    told: dict[int, Chosen] = {}
    for number in sorted(found.way):
        way = found.way[number]
        tag, di_channel = units.get(number, ("", None))
        told[number] = Chosen(
            wanted=case.inputs[number].wanted,
            taking=way.accept.taking,
            accept=way.accept,
            unit=tag,
            item=case.stock.heaps[way.heap].thing.item if way.heap is not None else "",
            di_channel=di_channel,
            stand=told[found.on_bar[number]].stand if number in found.on_bar else _stand(program, found, number, used),
            splitter=_one(program, way.splitter, used),
            house_split=way.house_box,
            lead=(*_laid(program, found.lead.get(number), used), *_laid(program, found.jumper.get(number), used)),
            cable=_laid(program, found.cable[number], used),
        )
    return told


def guest_rows(
    program: Program, found: Picked, rows: Mapping[int, Chosen], pieces: Mapping[int, Chosen]
) -> dict[int, Chosen]:
    """The rows as they are while a guest is on them that carries the host's mic elsewhere or plugs in its own."""
    told: dict[int, Chosen] = {}
    for guest, host in sorted(found.host.items()):
        row, wanted = rows[host], program.case.inputs[guest].wanted
        if found.manner[guest] == "carried":
            told[guest] = replace(row, wanted=wanted, shared_by=())
        elif found.manner[guest] == "own":
            mine = pieces[guest]
            told[guest] = replace(
                mine, box=row.box, socket=row.socket, trunk_line=row.trunk_line, preamp=row.preamp,
                preamp_channel=row.preamp_channel, channel=row.channel, phantom=row.phantom,
            )  # fmt: skip
    return told


def _seat(program: Program, found: Picked, number: int) -> Seat:
    case, way = program.case, found.way[number]
    one = case.inputs[number]
    pair = next((n for n in found.rows if case.inputs[n].wanted.id == one.wanted.pair), None)
    return Seat(number, asked_of_phantom(found, number), way.line, pinned_channel(one), pair)


def asked_of_phantom(found: Picked, number: int) -> Phantom:
    """What a row asks of the phantom switch: what its own mic asks, or one that a guest plugs in."""
    asked = [found.way[one].phantom for one in (number, *found.guests_of(number)) if one in found.way]
    return next((one for one in asked if one != "ignored"), "ignored")


def _stand(program: Program, found: Picked, number: int, used: set[str]) -> str:
    return _one(program, found.stand.get(number), used)


def _one(program: Program, heap: int | None, used: set[str]) -> str:
    return "" if heap is None else take(program.case.stock.heaps[heap].tags, used)


def _laid(program: Program, lay: Lay | None, used: set[str]) -> tuple[str, ...]:
    return () if lay is None else tuple(take(program.case.stock.heaps[heap].tags, used) for heap in lay.heaps)


def _units(
    program: Program, found: Picked, numbers: Iterable[int], used: set[str]
) -> dict[int, tuple[str, int | None]]:
    """Name mics and DIs: matched pairs first, then DIs that two share, then the rest in the order of the list."""
    heaps = program.case.stock.heaps
    named: dict[int, tuple[str, int | None]] = {}
    for left, right, first, second in found.matched:
        pair = _free_pair(program, first, second, used)
        used |= set(pair)
        named[left], named[right] = (pair[0], None), (pair[1], None)
    for heap, one, other in found.shared_di:
        tag = take(heaps[heap].tags, used)
        named[one], named[other] = (tag, 1), (tag, 2)
    for number in numbers:
        own = found.way[number].heap
        if own is not None and number not in named:
            thing = heaps[own].thing
            two = isinstance(thing, Di) and thing.channels == 2
            named[number] = (take(_unmatched_first(thing, heaps[own].tags), used), 1 if two else None)
    return named


def _free_pair(program: Program, first: int, second: int, used: set[str]) -> tuple[str, str]:
    heaps = program.case.stock.heaps
    if first != second:
        return heaps[first].tags[0], heaps[second].tags[0]
    return next(pair for pair in heaps[first].pairs if not set(pair) & used)


def _unmatched_first(thing: Thing, tags: tuple[str, ...]) -> list[str]:
    """Sort tags so that matched pairs are broken last."""
    matched = {tag for pair in thing.pairs for tag in pair} if isinstance(thing, Mic) else set()
    return sorted(tags, key=lambda tag: (tag in matched, tags.index(tag)))


def _preamps(program: Program, found: Picked, numbered: Mapping[int, Numbered]) -> dict[int, tuple[str, int]]:
    """Tell what amplifies each input: the recorder, or an outboard preamp by unit and channel; 0 for a line input."""
    case = program.case
    told: dict[int, tuple[str, int]] = {}
    for entry, outboard in enumerate(case.outboards):
        inputs = sorted(
            (n for n, place in numbered.items() if place.outboard == entry), key=lambda n: numbered[n].channel
        )
        spots = outboard.spots
        if (
            outboard.thing.phantom == "all at once"
        ):  # those that need phantom from the front, those it harms from the back
            asked = {n: asked_of_phantom(found, n) for n in inputs}
            front, back, middle = (
                [n for n in inputs if asked[n] == phantom] for phantom in ("needed", "harmful", "ignored")
            )
            told |= dict(zip([*front, *middle], spots, strict=False))
            told |= dict(zip(back, reversed(spots), strict=False))
        else:
            told |= dict(zip(inputs, spots, strict=False))
    for number, place in numbered.items():
        if place.outboard is None:
            told[number] = (case.recorder_tag, 0 if found.way[number].line else place.channel)
    return told


def _lines(program: Program, found: Picked, numbered: Mapping[int, Numbered]) -> dict[int, int]:
    """Give each input through the trunk its line: its channel's number where that is free; pairs side by side."""
    case = program.case
    ranges: dict[str, range] = {}
    for tag, lines in case.trunks:
        first = 1 + sum(len(one) for one in ranges.values())
        ranges[tag] = range(first, first + lines)
    every = range(1, 1 + sum(len(one) for one in ranges.values()))
    through = [n for n in numbered if case.landings[found.landing[n]].trunk]
    open_to = {n: ranges.get(case.landings[found.landing[n]].tag, every) for n in through}
    told: dict[int, int] = {}
    for number in through:
        pin = case.inputs[number].pin
        if pin and pin.line:
            told[number] = pin.line
    sides = {
        one: other
        for one in through
        for other in through
        if open_to[one] == open_to[other] and _are_pair(case, one, other)
    }

    def own_number(number: int, taken: set[int]) -> bool:
        channel = numbered[number].channel
        return number in told or (channel in open_to[number] and channel not in taken)

    bound_first = sorted(through, key=lambda n: (open_to[n] is every, numbered[n].channel))
    for same in (True, False):
        for number in (n for n in bound_first if n not in told):
            taken, other = {*told.values(), *case.dead_lines}, sides.get(number, number)
            if same and own_number(number, taken) and own_number(other, taken):
                told[number] = numbered[number].channel
            elif not same:
                told |= _free_lines([line for line in open_to[number] if line not in taken], number, other, told)
    return told


def _are_pair(case: Case, one: int, other: int) -> bool:
    return bool(case.inputs[one].wanted.pair) and case.inputs[one].wanted.pair == case.inputs[other].wanted.id


def _free_lines(free: list[int], number: int, other: int, told: Mapping[int, int]) -> dict[int, int]:
    """Take the first free line; for both sides of a pair the first two side by side, where there are any."""
    beside = next((line for line in free if line + 1 in free), None)
    if beside is None or other == number or other in told:
        return {number: free[0]}
    return {number: beside, other: beside + 1}


def _sockets(program: Program, found: Picked, numbered: Mapping[int, Numbered]) -> dict[int, int]:
    """Number the sockets of each box in the order of the channels; the recorder's own wear the channel's number."""
    told: dict[int, int] = {}
    for index, landing in enumerate(program.case.landings):
        here = sorted((n for n in numbered if found.landing[n] == index), key=lambda n: numbered[n].channel)
        free = (socket for socket in range(1, 1 + landing.sockets + len(landing.dead)) if socket not in landing.dead)
        for socket, number in zip(free, here, strict=False):
            told[number] = numbered[number].channel if landing.own else socket
    return told


def with_phantom(program: Program, found: Picked, rows: dict[int, Chosen]) -> dict[int, Chosen]:
    """Set the phantom switches: on where anything behind the switch needs it."""
    case = program.case
    once = {tag for one in case.outboards if one.thing.phantom == "all at once" for tag in one.tags}
    bank_of = {channel: bank.channels for bank in case.banks if bank.switched for channel in bank.channels}
    switch: dict[int, object] = {}
    for number, row in rows.items():
        inside = row.preamp == case.recorder_tag
        group = bank_of.get(row.channel) if inside else (row.preamp if row.preamp in once else None)
        switch[number] = group or (row.preamp, row.channel)
    live = {switch[number] for number in rows if asked_of_phantom(found, number) == "needed"}
    return {number: replace(row, phantom=switch[number] in live) for number, row in rows.items()}
