"""The integer program: columns for every decision, rows for what is there and what fits together.

A column is 1 where something is done. Heaps, boxes and preamps are counted, not named: which tag and which channel each
input gets is settled afterwards, among units that are alike.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from math import dist

from fieldfare.plan.choice.case import SHARE_DI_M, Bank, Case, Input
from fieldfare.plan.choice.solver import Model, ones
from fieldfare.plan.choice.stock import matched_heaps
from fieldfare.plan.choice.ways import Lay
from fieldfare.show.kit import Di, Mic, Phantom

PHANTOMS: tuple[Phantom, ...] = ("needed", "ignored", "harmful")


@dataclass(slots=True)
class Program:
    """The model with the meaning of its columns; inputs, ways, heaps and landings go by their numbers in the case."""

    case: Case
    model: Model = field(default_factory=Model)
    own: list[int] = field(default_factory=list)  # by input: it has a row of its own
    guest: dict[tuple[int, int, int], int] = field(default_factory=dict)  # guest, host, way of the host
    way: dict[tuple[int, int], int] = field(default_factory=dict)  # input, way
    stand: dict[tuple[int, int], int] = field(default_factory=dict)  # input, heap
    land: dict[tuple[int, int], int] = field(default_factory=dict)  # input, landing
    cable: dict[tuple[int, Lay], int] = field(default_factory=dict)
    line_cable: dict[tuple[int, Lay], int] = field(default_factory=dict)
    lead: dict[tuple[int, Lay], int] = field(default_factory=dict)
    jumper: dict[tuple[int, Lay], int] = field(default_factory=dict)
    shared_di: dict[tuple[int, int, int], int] = field(default_factory=dict)  # heap, two inputs
    matched: dict[tuple[int, int, int, int], int] = field(default_factory=dict)  # left, right, heap of each
    unmatched: list[int] = field(default_factory=list)  # a pair that would rather be matched and is not
    box_used: dict[int, int] = field(default_factory=dict)  # landing
    outboard: list[int] = field(default_factory=list)  # inputs that go through preamps outside the recorder
    extra: dict[str, int] = field(default_factory=dict)  # what is bought beyond the kit, in a cure

    def ways_where(self, number: int, **wanted: object) -> list[int]:
        """Return the columns of an input's ways whose fields are as given."""
        return [
            self.way[number, index]
            for index, way in enumerate(self.case.inputs[number].ways)
            if all(getattr(way, name) == value for name, value in wanted.items())
        ]

    def kept(self, number: int) -> list[int]:
        """Return the columns of which one is 1 where an input is recorded: on its own row or on another's."""
        return [self.own[number], *(column for (guest, *_), column in self.guest.items() if guest == number)]


def program_of(case: Case, *, extras: bool = False) -> Program:
    """Write the program of a case.

    Parameters
    ----------
    case
        What the choice is made from.
    extras
        Whether channels and lines beyond what the kit has may be bought.
    """
    program = Program(case)
    for number, one in enumerate(case.inputs):
        _one_input(program, number, one)
    if extras:
        for name in ("preamps", "recorder", "trunk lines"):
            program.extra[name] = program.model.column(0, len(case.inputs))
    _guests(program)
    _units(program)
    _pairs(program)
    _sockets(program)
    _preamps(program)
    _pins(program)
    return program


def _one_input(program: Program, number: int, one: Input) -> None:
    model, case = program.model, program.case
    own = model.column()
    program.own.append(own)
    for index in range(len(one.ways)):
        program.way[number, index] = model.column()
    model.equal(ones(program.ways_where(number)), [(own, 1)])
    for heap, _ in one.stands:
        program.stand[number, heap] = model.column()
    model.equal(
        ones(program.stand[number, heap] for heap, _ in one.stands), ones(program.ways_where(number, stands=True))
    )
    for index, landing in enumerate(case.landings):
        if landing.tag in one.needs_dm:
            program.land[number, index] = model.column()
    model.equal(ones(column for (input_, _), column in program.land.items() if input_ == number), [(own, 1)])
    _cables(program, number, one)
    for lay in one.leads:
        program.lead[number, lay] = model.column()
    model.equal(ones(program.lead[number, lay] for lay in one.leads), ones(program.ways_where(number, lead=True)))
    ours = [program.way[number, index] for index, way in enumerate(one.ways) if way.splitter is not None]
    if ours:
        for lay in case.jumpers:
            program.jumper[number, lay] = model.column()
        model.equal(ones(program.jumper[number, lay] for lay in case.jumpers), ones(ours))


def _cables(program: Program, number: int, one: Input) -> None:
    """Give an input a cable that reaches whichever landing it takes."""
    model, case = program.model, program.case
    for lay in one.cables:
        program.cable[number, lay] = model.column()
    model.equal(ones(program.cable[number, lay] for lay in one.cables), ones(program.ways_where(number, line=False)))
    lines = program.ways_where(number, line=True)
    if lines:
        for lay in one.line_cables:
            program.line_cable[number, lay] = model.column()
        model.equal(ones(program.line_cable[number, lay] for lay in one.line_cables), ones(lines))
    laid = [(lay, column) for (input_, lay), column in _all_cables(program) if input_ == number]
    for need in sorted(set(one.needs_dm.values())):
        reach = [column for lay, column in laid if lay.length_dm >= need]
        far = [
            column
            for (input_, index), column in program.land.items()
            if input_ == number and one.needs_dm[case.landings[index].tag] >= need
        ]
        model.row([*ones(reach), *((column, -1.0) for column in far)], least=0)
    joined = [column for lay, column in laid if len(lay.heaps) > 1]
    for (input_, index), column in program.land.items():
        if joined and input_ == number and case.landings[index].tag not in one.joins:
            model.row([*ones(joined), (column, 1)], most=1)


def _all_cables(program: Program) -> Iterable[tuple[tuple[int, Lay], int]]:
    yield from program.cable.items()
    yield from program.line_cable.items()


def _guests(program: Program) -> None:
    """Let an input use the row of another of the same player, if what that one takes suits both."""
    case, model = program.case, program.model
    for guest, host in case.guests:
        suits = {way.heap for way in case.inputs[guest].ways if way.heap is not None and not _clips(case, way.heap)}
        for index, way in enumerate(case.inputs[host].ways):
            if way.heap in suits:
                column = program.guest[guest, host, index] = model.column()
                model.row([(column, 1), (program.way[host, index], -1)], most=0)
    for number in range(len(case.inputs)):
        hosted = [column for (_, host, _), column in program.guest.items() if host == number]
        if len(program.kept(number)) > 1:
            model.row(ones(program.kept(number)), most=1)
        if len(hosted) > 1:
            model.row(ones(hosted), most=1)


def _clips(case: Case, heap: int) -> bool:
    thing = case.stock.heaps[heap].thing
    return isinstance(thing, Mic) and thing.mount == "clip"


def uses(program: Program) -> Iterator[tuple[int, int, int]]:
    """List every use of units: column, heap, how many."""
    for (number, index), column in program.way.items():
        way = program.case.inputs[number].ways[index]
        for heap in (way.heap, way.splitter):
            if heap is not None:
                yield column, heap, 1
    for (_, heap), column in program.stand.items():
        yield column, heap, 1
    for lays in (program.cable, program.line_cable, program.lead, program.jumper):
        for (_, lay), column in lays.items():
            for heap in dict.fromkeys(lay.heaps):
                yield column, heap, lay.heaps.count(heap)
    for (heap, *_), column in program.shared_di.items():
        yield column, heap, -1


def _units(program: Program) -> None:
    """No more units than are there and fit for use; what is kept back stays back."""
    case, model = program.case, program.model
    _shared_dis(program)
    by_heap: dict[int, list[tuple[int, float]]] = defaultdict(list)
    by_entry: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for column, heap, number in uses(program):
        by_heap[heap].append((column, number))
        by_entry[case.stock.heaps[heap].entry].append((column, number))
    for heap, terms in by_heap.items():
        model.row(terms, most=len(case.stock.heaps[heap].tags))
    for entry, terms in by_entry.items():
        model.row(terms, most=case.stock.limits[entry])


def _shared_dis(program: Program) -> None:
    """Let two inputs that are near each other share a DI of two channels."""
    case, model = program.case, program.model
    for heap, _ in case.stock.of(Di):
        thing = case.stock.heaps[heap].thing
        takers = list(_takers(program, heap))
        if not isinstance(thing, Di) or thing.channels == 1:
            continue
        sharing: dict[int, list[int]] = defaultdict(list)
        for place, (first, left) in enumerate(takers):
            for second, right in takers[place + 1 :]:
                if dist(case.inputs[first].wanted.at, case.inputs[second].wanted.at) > SHARE_DI_M:
                    continue
                column = program.shared_di[heap, first, second] = model.column()
                model.row([(column, 1), (left, -1)], most=0)
                model.row([(column, 1), (right, -1)], most=0)
                sharing[first].append(column)
                sharing[second].append(column)
        for columns in sharing.values():
            model.row(ones(columns), most=1)


def _takers(program: Program, heap: int) -> Iterable[tuple[int, int]]:
    for number, one in enumerate(program.case.inputs):
        for index, way in enumerate(one.ways):
            if way.heap == heap:
                yield number, program.way[number, index]


def _pairs(program: Program) -> None:
    """Both sides of a stereo pair or neither, with units of one entry; matched where that is asked for."""
    case, model = program.case, program.model
    by_id = {one.wanted.id: number for number, one in enumerate(case.inputs)}
    matches = matched_heaps(case.stock)
    used: dict[tuple[int, int], list[int]] = defaultdict(list)
    for left, one in enumerate(case.inputs):
        right = by_id.get(one.wanted.pair, -1)
        if right < left:
            continue
        model.equal([(program.own[left], 1)], [(program.own[right], 1)])
        if one.wanted.matched == "no":
            continue
        _same_entry(program, left, right)
        together = []
        for first, second, _ in matches:
            a, b = (dict(_takers(program, heap)) for heap in (first, second))
            if left in a and right in b:
                column = program.matched[left, right, first, second] = model.column()
                model.row([(column, 1), (a[left], -1)], most=0)
                model.row([(column, 1), (b[right], -1)], most=0)
                together.append(column)
                used[first, second].append(column)
        mics = [
            program.way[left, index]
            for index, way in enumerate(one.ways)
            if way.heap is not None and isinstance(case.stock.heaps[way.heap].thing, Mic)
        ]
        if one.wanted.matched == "must":
            model.equal(ones(together), ones(mics))
        elif mics:
            apart = model.column()
            program.unmatched.append(apart)
            model.row([(apart, 1), *ones(together), *((column, -1.0) for column in mics)], least=0)
    for first, second, number in matches:
        if used[first, second]:
            model.row(ones(used[first, second]), most=number)


def _same_entry(program: Program, left: int, right: int) -> None:
    case = program.case
    sums: dict[object, tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    for side, number in enumerate((left, right)):
        for index, way in enumerate(case.inputs[number].ways):
            heap = way.item_heap
            key = case.stock.heaps[heap].entry if heap is not None else (way.house_box, way.line)
            sums[key][side].append(program.way[number, index])
    for first, second in sums.values():
        program.model.equal(ones(first), ones(second))


def _sockets(program: Program) -> None:
    """No more inputs on a box, the trunk or a house split than it has sockets."""
    case, model = program.case, program.model
    through: list[int] = []
    for index, landing in enumerate(case.landings):
        here = [column for (_, land), column in program.land.items() if land == index]
        more = [(column, -1.0) for name, column in program.extra.items() if landing.own and name != "preamps"]
        model.row([*ones(here), *more], most=landing.sockets)
        if landing.trunk:
            through += here
        if not landing.own:
            used = program.box_used[index] = model.column()
            for column in here:
                model.row([(column, 1), (used, -1)], most=0)
    if case.trunk_lines is not None:
        bought = [(program.extra["trunk lines"], -1.0)] if program.extra else []
        model.row([*ones(through), *bought], most=case.trunk_lines)
    for box in case.house:
        taken = [
            column for number in range(len(case.inputs)) for column in program.ways_where(number, house_box=box.name)
        ]
        if taken:
            model.row(ones(taken), most=box.split_outputs)


def _preamps(program: Program) -> None:
    """Every mic-level input gets a preamp whose phantom suits it; every line-level input a line input.

    Inputs that ask the same of the phantom switch are alike here, so that counting them by bank is exact.
    """
    case, model = program.case, program.model
    counts: dict[Phantom, list[int]] = {phantom: [] for phantom in PHANTOMS}
    for bank in case.banks:
        _bank(program, bank, counts)
    for outboard in case.outboards:
        _outboard(program, len(outboard.tags), outboard.thing.channels, outboard.thing.phantom, counts)
    more_lines = _bought_channels(program, counts) if program.extra else []
    for phantom in PHANTOMS:
        need = [
            column
            for number in range(len(case.inputs))
            for column in program.ways_where(number, phantom=phantom, line=False)
        ]
        model.equal(ones(need), ones(counts[phantom]))
    lines = [column for number in range(len(case.inputs)) for column in program.ways_where(number, line=True)]
    model.row([*ones([*lines, *program.outboard]), *more_lines], most=len(case.line_channels))


def _bank(program: Program, bank: Bank, counts: dict[Phantom, list[int]]) -> None:
    model, size = program.model, len(bank.channels)
    columns = {phantom: model.column(0, size) for phantom in PHANTOMS}
    for phantom, column in columns.items():
        counts[phantom].append(column)
    model.row(ones(columns.values()), most=size)
    if bank.switched:
        switch = model.column()
        model.row([(columns["needed"], 1), (switch, -size)], most=0)
        model.row([(columns["harmful"], 1), (switch, size)], most=size)
    pinned = [n for n, one in enumerate(program.case.inputs) if pinned_channel(one) in bank.channels]
    for phantom, column in columns.items():
        held = [way for n in pinned for way in program.ways_where(n, phantom=phantom, line=False)]
        if held:
            model.row([(column, 1), *((way, -1.0) for way in held)], least=0)


def _outboard(program: Program, units: int, channels: int, phantom: str, counts: dict[Phantom, list[int]]) -> None:
    """Preamps outside the recorder: each input through them takes a line input of the recorder."""
    model, size = program.model, units * channels
    columns = {need: model.column(0, 0 if (phantom, need) == ("none", "needed") else size) for need in PHANTOMS}
    for need, column in columns.items():
        counts[need].append(column)
        program.outboard.append(column)
    model.row(ones(columns.values()), most=size)
    if phantom == "all at once":
        switched_on = model.column(0, units)
        model.row([(columns["needed"], 1), (switched_on, -channels)], most=0)
        model.row([(columns["harmful"], 1), (switched_on, channels)], most=size)


def _bought_channels(program: Program, counts: dict[Phantom, list[int]]) -> list[tuple[int, float]]:
    """Let a cure buy preamps by twos for free line inputs, and channels of a larger recorder one by one."""
    model, most = program.model, len(program.case.inputs)
    by_twos = [model.column(0, most) for _ in PHANTOMS]
    larger = [model.column(0, most) for _ in PHANTOMS]
    for phantom, outside, inside in zip(PHANTOMS, by_twos, larger, strict=True):
        counts[phantom] += [outside, inside]
    program.outboard += by_twos
    model.row([*ones(by_twos), (program.extra["preamps"], -2)], most=0)
    more_lines = model.column(0, most)
    model.row([*ones(larger), (more_lines, 1), (program.extra["recorder"], -1)], most=0)
    return [(more_lines, -1)]


def pinned_channel(one: Input) -> int | None:
    """Return the channel that a pin asks for; a pinned line is a pinned channel too, for both wear one number."""
    return (one.pin.channel or one.pin.line) if one.pin and one.pin.keep is not False else None


def _pins(program: Program) -> None:
    """What a person decided by hand. A pin that gives an input something keeps that input too."""
    for number, one in enumerate(program.case.inputs):
        pin = one.pin
        if pin is None:
            continue
        name, model = one.wanted.label, program.model
        if pin.keep is False:
            model.row(ones(program.kept(number)), most=0, pin=f"{name} is left out")
            continue
        if pin.keep:
            model.row(ones(program.kept(number)), least=1, pin=f"{name} is kept")
        if pin.use:
            model.row(ones(_using(program, number, (pin.use,))), least=1, pin=f"{name} uses {pin.use}")
        if pin.stand:
            held = [
                column
                for (i, heap), column in program.stand.items()
                if i == number and pin.stand in _tags(program, heap)
            ]
            model.row(ones(held), least=1, pin=f"{name} stands on {pin.stand}")
        if pin.box:
            here = [
                column
                for (i, land), column in program.land.items()
                if i == number and program.case.landings[land].tag == pin.box
            ]
            model.row(ones(here), least=1, pin=f"{name} ends on {pin.box}")
        if pin.never:
            model.row(ones(_using(program, number, pin.never)), most=0)
        channel = pinned_channel(one)
        if channel is not None:
            model.row([(program.own[number], 1)], least=1, pin=f"{name} is on {channel}")
            _pinned_channel(program, number, channel)
    _one_each(program)


def _pinned_channel(program: Program, number: int, channel: int) -> None:
    case, model = program.case, program.model
    at_line = channel in case.line_channels
    on_preamp = any(channel in bank.channels for bank in case.banks)
    pin = case.inputs[number].pin
    beyond = pin is not None and pin.line is not None and case.trunk_lines is not None and pin.line > case.trunk_lines
    if beyond or not (at_line or on_preamp):
        model.row([(program.own[number], 1)], most=0)
    elif on_preamp:
        model.row(ones(program.ways_where(number, line=True)), most=0)
    else:
        pinned = [n for n, one in enumerate(case.inputs) if pinned_channel(one) in case.line_channels]
        mics = [column for n in pinned for column in program.ways_where(n, line=False)]
        model.row([*ones(program.outboard), *((column, -1.0) for column in mics)], least=0)


def _one_each(program: Program) -> None:
    """Two inputs cannot be on one channel."""
    holders: dict[int, list[int]] = defaultdict(list)
    for number, one in enumerate(program.case.inputs):
        channel = pinned_channel(one)
        if channel is not None:
            holders[channel].append(program.own[number])
    for columns in holders.values():
        if len(columns) > 1:
            program.model.row(ones(columns), most=1)


def _using(program: Program, number: int, tags: tuple[str, ...]) -> list[int]:
    return [
        program.way[number, index]
        for index, way in enumerate(program.case.inputs[number].ways)
        if way.item_heap is not None and set(tags) & set(_tags(program, way.item_heap))
    ]


def _tags(program: Program, heap: int) -> tuple[str, ...]:
    return program.case.stock.heaps[heap].tags
