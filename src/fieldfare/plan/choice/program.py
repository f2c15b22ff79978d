"""The integer program: rows for what is there, what reaches and what fits together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from math import dist

from fieldfare.plan.choice.case import SHARE_DI_M, Case, Input
from fieldfare.plan.choice.channels import preamps, sockets
from fieldfare.plan.choice.columns import Program, uses
from fieldfare.plan.choice.guests import guests, plugged
from fieldfare.plan.choice.pins import pins
from fieldfare.plan.choice.solver import ones
from fieldfare.plan.choice.stock import matched_heaps
from fieldfare.plan.choice.ways import Lay
from fieldfare.show.kit import Di, Mic, Stand


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
    plugged(program)
    for number, one in enumerate(case.inputs):
        _one_input(program, number, one)
    if extras:
        for name in ("preamps", "recorder", "trunk lines"):
            program.extra[name] = program.model.column(0, len(case.inputs))
    guests(program)
    _units(program)
    _pairs(program)
    sockets(program)
    preamps(program)
    pins(program)
    return program


def _one_input(program: Program, number: int, one: Input) -> None:
    model, case = program.model, program.case
    holds = ones(program.holds(number))
    for index in range(len(one.ways)):
        program.way[number, index] = model.column()
    model.equal(ones(program.ways_where(number)), holds)
    for heap, _ in one.stands:
        program.stand[number, heap] = model.column()
    model.equal(
        ones(program.stand[number, heap] for heap, _ in one.stands), ones(program.ways_where(number, stands=True))
    )
    for index, landing in enumerate(case.landings):
        if landing.tag in one.needs_dm:
            program.land[number, index] = model.column()
    model.equal(ones(column for (input_, _), column in program.land.items() if input_ == number), holds)
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


def _units(program: Program) -> None:
    """No more units than are there and fit for use; what is kept back stays back."""
    case, model = program.case, program.model
    _shared_dis(program)
    _stereo_bars(program)
    by_heap: dict[int, list[tuple[int, float]]] = defaultdict(list)
    by_entry: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for column, heap, number in uses(program):
        by_heap[heap].append((column, number))
        by_entry[case.stock.heaps[heap].entry].append((column, number))
    program.spare = {entry: model.column(0, 0) for entry in by_entry}
    for heap, terms in by_heap.items():
        one = case.stock.heaps[heap]
        model.row([*terms, (program.spare[one.entry], -1)], most=len(one.tags))
    for entry, terms in by_entry.items():
        model.row([*terms, (program.spare[entry], -1)], most=case.stock.limits[entry])


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


def _stereo_bars(program: Program) -> None:
    """Let both mics of a stereo pair share a stand whose bar holds them that far apart."""
    case, model = program.case, program.model
    by_id = {one.wanted.id: number for number, one in enumerate(case.inputs)}
    for left, one in enumerate(case.inputs):
        right = by_id.get(one.wanted.pair, -1)
        if right < left:
            continue
        apart_m = dist(one.wanted.at, case.inputs[right].wanted.at)
        for heap, _ in one.stands:
            thing = case.stock.heaps[heap].thing
            if isinstance(thing, Stand) and 0 < thing.bar_m >= apart_m and (right, heap) in program.stand:
                column = program.on_bar[heap, left, right] = model.column()
                for side in (left, right):
                    model.row([(column, 1), (program.stand[side, heap], -1)], most=0)


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
        if one.wanted.matched != "alike":
            _matched(program, left, right, used)
    for first, second, number in matches:
        if used[first, second]:
            model.row(ones(used[first, second]), most=number)


def _matched(program: Program, left: int, right: int, used: dict[tuple[int, int], list[int]]) -> None:
    """Take both sides of a pair from matched units: where it must be so, or else at a price if they are not."""
    case, model = program.case, program.model
    one = case.inputs[left]
    matches = matched_heaps(case.stock)
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
