"""What a person decided by hand, as rows of the integer program."""

from __future__ import annotations

from collections import defaultdict

from fieldfare.plan.choice.columns import Program, pinned_channel
from fieldfare.plan.choice.solver import ones


def pins(program: Program) -> None:
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
        for phantom, outside in program.outboard.items():
            mics = [column for n in pinned for column in program.ways_where(n, phantom=phantom, line=False)]
            model.row([*ones(outside), *((column, -1.0) for column in mics)], least=0)


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
