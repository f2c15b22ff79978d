"""What a person decided by hand, as rows of the integer program."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence

from fieldfare.plan.choice.columns import Program, pinned_channel
from fieldfare.plan.choice.solver import ones
from fieldfare.show.show import Pin


def pins(program: Program) -> None:
    """What a person decided by hand. A pin that gives an input something keeps that input too."""
    for number, one in enumerate(program.case.inputs):
        pin, model = one.pin, program.model
        if pin is None:
            continue
        if pin.keep is False:
            model.row(ones(program.kept(number)), most=0, by_hand=True)
            continue
        if pin.keep:
            model.row(ones(program.kept(number)), least=1, by_hand=True)
        if pin.use:
            model.row(ones(_using(program, number, (pin.use,))), least=1)
        if pin.stand:
            model.row(ones(_standing(program, number, pin.stand)), least=1)
        if pin.box:
            model.row(ones(_landing(program, number, pin.box)), least=1)
        if pin.never:
            model.row(ones(_using(program, number, pin.never)), most=0)
        channel = pinned_channel(one)
        if channel is not None:
            model.row([(program.own[number], 1)], least=1, by_hand=True)
            _pinned_channel(program, number, channel)
    _one_each(program)


def _pinned_channel(program: Program, number: int, channel: int) -> None:
    case, model = program.case, program.model
    at_line = channel in case.line_channels
    on_preamp = any(channel in bank.channels for bank in case.banks)
    pin = case.inputs[number].pin
    lines = set(range(1, 1 + sum(lines for _, lines in case.trunks))) - case.dead_lines
    beyond = pin is not None and pin.line is not None and case.trunk_lines is not None and pin.line not in lines
    if beyond or not (at_line or on_preamp):
        model.row([(program.own[number], 1)], most=0, by_hand=True)
    elif on_preamp:
        model.row(ones(program.ways_where(number, line=True)), most=0, by_hand=True)
    else:
        pinned = [n for n, one in enumerate(case.inputs) if pinned_channel(one) in case.line_channels]
        for phantom, outside in program.outboard.items():
            mics = [column for n in pinned for column in program.asking(n, phantom)]
            model.row([*ones(outside), *((column, -1.0) for column in mics)], least=0, by_hand=True)


def _one_each(program: Program) -> None:
    """Two inputs cannot be on one channel."""
    holders: dict[int, list[int]] = defaultdict(list)
    for number, one in enumerate(program.case.inputs):
        channel = pinned_channel(one)
        if channel is not None:
            holders[channel].append(program.own[number])
    for columns in holders.values():
        if len(columns) > 1:
            program.model.row(ones(columns), most=1, by_hand=True)


def _using(program: Program, number: int, tags: tuple[str, ...]) -> list[int]:
    return [
        program.way[number, index]
        for index, way in enumerate(program.case.inputs[number].ways)
        if way.item_heap is not None and set(tags) & set(_tags(program, way.item_heap))
    ]


def _standing(program: Program, number: int, tag: str) -> list[int]:
    return [column for (i, heap), column in program.stand.items() if i == number and tag in _tags(program, heap)]


def _landing(program: Program, number: int, tag: str) -> list[int]:
    landings = program.case.landings
    return [column for (i, land), column in program.land.items() if i == number and landings[land].tag == tag]


def _tags(program: Program, heap: int) -> tuple[str, ...]:
    return program.case.stock.heaps[heap].tags


def smallest_clash(
    pins: Sequence[Pin], labels: Mapping[str, str], holds: Callable[[tuple[Pin, ...]], bool]
) -> tuple[str, ...]:
    """Name a smallest set of decisions that cannot hold together: without any one of them, the others could.

    Parameters
    ----------
    pins
        All of them, which do not hold together.
    labels
        Of the inputs, by id.
    holds
        Tells whether some pins can hold together.

    Sources
    -------
    Deletion filter for irreducible infeasible sets: common practice, no source.
    """
    wishes = [wish for pin in pins for wish in _wishes(pin, labels[pin.input])]
    for wish in list(wishes):
        rest = [one for one in wishes if one != wish]
        if not holds(_joined(rest)):
            wishes = rest
    return tuple(text for text, _ in wishes)


def _wishes(pin: Pin, label: str) -> list[tuple[str, Pin]]:
    """Take a pin apart into single decisions, each in words."""
    if pin.keep is False:
        return [(f"{label} is left out", Pin(input=pin.input, keep=False))]
    said: list[tuple[str, dict[str, object]]] = [
        (f"{label} is kept", {"keep": pin.keep}),
        (f"{label} uses {pin.use}", {"use": pin.use}),
        (f"{label} stands on {pin.stand}", {"stand": pin.stand}),
        (f"{label} ends on {pin.box}", {"box": pin.box}),
        (f"{label} is on line {pin.line}", {"line": pin.line}),
        (f"{label} is on channel {pin.channel}", {"channel": pin.channel}),
    ]
    for tag in pin.never:
        said.append((f"{label} never uses {tag}", {"never": (tag,)}))
    return [(text, Pin.model_validate({"input": pin.input, **field})) for text, field in said if any(field.values())]


def _joined(wishes: Sequence[tuple[str, Pin]]) -> tuple[Pin, ...]:
    """Put single decisions together again, one pin an input."""
    fields: dict[str, dict[str, object]] = {}
    never: dict[str, tuple[str, ...]] = {}
    for _, pin in wishes:
        given = pin.model_dump(exclude_defaults=True)
        mine = fields.setdefault(pin.input, {})
        never[pin.input] = (*never.get(pin.input, ()), *pin.never)
        mine.update(given)
    return tuple(Pin.model_validate({**one, "never": never[name]}) for name, one in fields.items())
