"""Sockets, lines, preamps and line inputs, counted by what they ask of the phantom switch."""

from __future__ import annotations

from fieldfare.plan.choice.case import Bank
from fieldfare.plan.choice.columns import PHANTOMS, Program, pinned_channel
from fieldfare.plan.choice.solver import ones
from fieldfare.show.kit import Phantom


def sockets(program: Program) -> None:
    """No more inputs on a box, the trunk or a house split than it has sockets."""
    case, model = program.case, program.model
    through: list[tuple[int, float]] = []
    for index, landing in enumerate(case.landings):
        here = [column for (_, land), column in program.land.items() if land == index]
        plugged = [(column, -1.0) for (_, land), column in program.beside.items() if land == index]
        more = [(column, -1.0) for name, column in program.extra.items() if landing.own and name != "preamps"]
        model.row([*ones(here), *plugged, *more], most=landing.sockets)
        if landing.trunk:
            through += [*ones(here), *plugged]
        if not landing.own:
            used = program.box_used[index] = model.column()
            for column in here:
                model.row([(column, 1), (used, -1)], most=0)
            model.row([*ones(here), *plugged, (used, -landing.sockets)], most=0)  # needless, but spares a search
    if case.trunk_lines is not None:
        bought = [(program.extra["trunk lines"], -1.0)] if program.extra else []
        model.row([*through, *bought], most=case.trunk_lines)
    for box in case.house:
        taken = [
            column for number in range(len(case.inputs)) for column in program.ways_where(number, house_box=box.name)
        ]
        if taken:
            model.row(ones(taken), most=box.split_outputs)


def preamps(program: Program) -> None:
    """Every mic-level input gets a preamp whose phantom suits it; every line-level input a line input.

    Inputs that ask the same of the phantom switch are alike here, so that counting them by bank is exact.
    """
    case, model = program.case, program.model
    counts: dict[Phantom, list[int]] = {phantom: [] for phantom in PHANTOMS}
    for bank in case.banks:
        _bank(program, bank, counts)
    for outboard in case.outboards:
        _outboard(program, len(outboard.tags), outboard.channels, outboard.thing.phantom, counts)
    more_lines = _bought_channels(program, counts) if program.extra else []
    for phantom in PHANTOMS:
        need = [column for number in range(len(case.inputs)) for column in program.asking(number, phantom)]
        model.equal(ones(need), ones(counts[phantom]))
    lines = [column for number in range(len(case.inputs)) for column in program.ways_where(number, line=True)]
    model.row([*ones([*lines, *program.outside]), *more_lines], most=len(case.line_channels))


def _bank(program: Program, bank: Bank, counts: dict[Phantom, list[int]]) -> None:
    model, size = program.model, len(bank.channels)
    columns = {phantom: model.column(0, size) for phantom in PHANTOMS}
    program.bank.append(columns)
    for phantom, column in columns.items():
        counts[phantom].append(column)
    model.row(ones(columns.values()), most=size)
    if bank.switched:
        switch = model.column()
        model.row([(columns["needed"], 1), (switch, -size)], most=0)
        model.row([(columns["harmful"], 1), (switch, size)], most=size)
    pinned = [n for n, one in enumerate(program.case.inputs) if pinned_channel(one) in bank.channels]
    for phantom, column in columns.items():
        held = [asked for n in pinned for asked in program.asking(n, phantom)]
        if held:
            model.row([(column, 1), *((way, -1.0) for way in held)], least=0, by_hand=True)


def _outboard(program: Program, units: int, channels: int, phantom: str, counts: dict[Phantom, list[int]]) -> None:
    """Preamps outside the recorder: each input through them takes a line input of the recorder."""
    model, size = program.model, units * channels
    columns = {need: model.column(0, 0 if (phantom, need) == ("none", "needed") else size) for need in PHANTOMS}
    program.outside_of.append(columns)
    for need, column in columns.items():
        counts[need].append(column)
        program.outboard[need].append(column)
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
        program.outboard[phantom].append(outside)
    model.row([*ones(by_twos), (program.extra["preamps"], -2)], most=0)
    more_lines = model.column(0, most)
    model.row([*ones(larger), (more_lines, 1), (program.extra["recorder"], -1)], most=0)
    return [(more_lines, -1)]
