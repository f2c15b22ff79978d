"""What stands in the way of an input that is left out, and the cheapest thing that would bring it back.

Each cure is a choice of its own: the input is forced in, every row that is kept stays kept with mics as good as before,
and the fewest and cheapest things are bought beside the kit.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from fieldfare.plan.choice.case import Asked, Input, prepare
from fieldfare.plan.choice.columns import Program, uses
from fieldfare.plan.choice.goals import mic_terms
from fieldfare.plan.choice.program import program_of
from fieldfare.plan.choice.shop import BOUGHT, EXTRA_PRICES, price_of, shop
from fieldfare.plan.choice.solver import Row, Solution, ones, solve, value_of
from fieldfare.plan.choice.tags import Picked
from fieldfare.show.kit import Cable, Mic, Splitter, Stand
from fieldfare.units.text import figure, listed


@dataclass(frozen=True, slots=True)
class Cure:
    """Why an input is left out and what would bring it back."""

    blocks: str
    cure: str
    bought: Mapping[str, int] = field(default_factory=lambda: dict[str, int]())  # by name, as the shop calls it


def cures(asked: Asked, program: Program, found: Picked, values: Solution) -> dict[int, Cure]:
    """Tell the cure of every input that has no row of its own, nor uses one while another act's is silent.

    Parameters
    ----------
    asked, program
        What was asked, and the program it was solved with.
    found, values
        What was chosen, and the values of the program's columns.

    Returns
    -------
    By number of the input.
    """
    of_acts = {share.pair for share in program.case.shares if share.acts}
    left = [
        number
        for number in range(len(program.case.inputs))
        if number not in found.way and (number, found.host.get(number)) not in of_acts
    ]
    if not left:
        return {}
    stocked = shop(asked.kit, tuple(program.case.inputs[number].wanted for number in left))
    beside = program_of(prepare(replace(asked, kit=stocked)), extras=True)
    scores = {number: value_of(mic_terms(program, number), values) for number in found.way}
    return {number: _cure_of(beside, found, scores, number) for number in left}


def _cure_of(program: Program, found: Picked, scores: dict[int, int], number: int) -> Cure:
    """Tell why an input is left out and what would bring it back.

    Parameters
    ----------
    program
        Of the same case with the shop's things in the kit.
    found
        What was chosen without them.
    scores
        Fitness of each kept input.
    number
        The input that is left out.
    """
    one = program.case.inputs[number]
    if one.pin is not None and one.pin.keep is False:
        return Cure("left out by hand", "take the pin out")
    if program.case.recorder is None:
        return Cure("there is no recorder in the kit", "write a good one into the kit, or hire one")
    if not one.needs_dm:
        return Cure("no way for a cable is known from there to any box", "give a place to a box or the trunk")
    others = [other for other in found.way if other != number]
    kept = [Row(tuple(ones([program.own[other]])), 1, 1) for other in others if other not in found.host]
    kept += [Row(tuple(ones(program.kept(guest))), 1, 1) for guest in found.host if guest != number]
    forced = Row(((program.own[number], 1.0),), 1, 1)
    as_good = Row(
        tuple(term for other in others for term in mic_terms(program, other)),
        sum(scores[other] for other in others),
        float("inf"),
    )
    prices = [(column, float(price)) for column, price, _ in _prices(program)]
    answer = solve(program.model, prices, [*kept, forced, as_good])
    if answer is None:
        return Cure(_why_not(one), "change the recipe's ways or the pins of the show")
    bought = _bought(program, answer[0])
    reach = _reach(program, one, answer[0])
    names = listed(_counted(name, count, reach.get(name, "")) for name, count in bought.items())
    verb = "bring" if sum(bought.values()) > 1 else "brings"
    back = "both sides" if one.wanted.pair else "it"
    return Cure(_blocked(program, found, number, answer[0]), f"{names} {verb} {back} back", bought)


def _prices(program: Program) -> Iterator[tuple[int, int, str]]:
    """List what can be bought: column, price, name."""
    for column, heap, number in uses(program):
        thing, tags = program.case.stock.heaps[heap].thing, program.case.stock.heaps[heap].tags
        if tags[0].startswith(BOUGHT):
            yield column, number * price_of(thing), thing.item
    for name, column in program.extra.items():
        yield column, EXTRA_PRICES[name], name


def _bought(program: Program, values: Solution) -> Counter[str]:
    found: Counter[str] = Counter()
    for column, heap, number in uses(program):
        one = program.case.stock.heaps[heap]
        if values[column] and one.tags[0].startswith(BOUGHT):
            found[one.thing.item] += number * int(values[column])
    for name, column in program.extra.items():
        if values[column]:
            found[name] += int(values[column])
    return found


def _counted(name: str, count: int, reach: str) -> str:
    if name == "recorder":
        return f"a recorder with {count} more channel{'s' if count > 1 else ''}"
    if name == "preamps":
        return "one more pair of preamps" if count == 1 else f"{count} more pairs of preamps"
    if name == "trunk lines":
        return f"{count} more line{'s' if count > 1 else ''} of trunk"
    if count == 1:
        return f"one more {name}" + (f" that goes so {reach}" if reach else "")
    noun = re.split(" (?:from|of) ", name)[0]
    more = f"{count} more {noun[:-1] + 'ies' if noun.endswith('y') else noun + 's'}{name[len(noun) :]}"
    return more + (f" that go so {reach}" if reach else "")


def _blocked(program: Program, found: Picked, number: int, values: Solution) -> str:
    """Name what is short, one phrase for each thing that the cure buys."""
    case, one = program.case, program.case.inputs[number]
    phrases: dict[str, None] = {}
    if not any(way.heap is None or not _is_bought(program, way.heap) for way in one.ways):
        phrases["nothing in the kit suits it"] = None
    for column, heap, _ in uses(program):
        if values[column] and _is_bought(program, heap):
            phrases[_short(program, heap, one)] = None
    if any(values[program.extra[name]] for name in ("preamps", "recorder")):
        inside = sum(len(bank.channels) for bank in case.banks)
        there = inside + len(case.line_channels) - len(found.rows)
        outside = sum(len(one.tags) * one.channels for one in case.outboards)
        both = f"{inside} in the recorder and {outside} outside it" if outside else f"{inside} in the recorder"
        phrases["no channel of the recorder is left" if there <= 0 else f"no preamp is left ({both})"] = None
    if values[program.extra["trunk lines"]]:
        lines = case.trunk_lines or 0
        phrases[f"no line of the trunk is left ({lines})"] = None
    return listed(phrases) if phrases else "a pin holds what it needs"


def _reach(program: Program, one: Input, values: Solution) -> dict[str, str]:
    """Tell which of the stands that are bought must go lower, or higher, than any such stand of the kit does."""
    heaps = program.case.stock.heaps
    bought = {heap for column, heap, _ in uses(program) if values[column] and _is_bought(program, heap)}
    stands = [thing for heap in bought if isinstance(thing := heaps[heap].thing, Stand)]
    return {thing.item: reach for thing in stands if (reach := _too_far(program, thing, one))}


def _too_far(program: Program, thing: Stand, one: Input) -> str:
    """Return "low" or "high" where the kit has stands of the kind and none of them goes as low, or high, as it must."""
    own = [
        heap.thing
        for heap in program.case.stock.heaps
        if isinstance(heap.thing, Stand) and heap.thing.kind == thing.kind and not heap.tags[0].startswith(BOUGHT)
    ]
    height = one.wanted.height_m
    if own and all(height < stand.lowest_m for stand in own):
        return "low"
    return "high" if own and all(height > stand.highest_m for stand in own) else ""


def _is_bought(program: Program, heap: int) -> bool:
    return program.case.stock.heaps[heap].tags[0].startswith(BOUGHT)


def _short(program: Program, heap: int, one: Input) -> str:
    thing = program.case.stock.heaps[heap].thing
    if isinstance(thing, Cable):
        word = {"mic": "microphone cable", "line": "line cable", "instrument": "lead"}[thing.signal]
        barred = set(one.needs_dm) - one.joins
        apart = ", and two are not joined where people walk" if barred and thing.signal != "instrument" else ""
        return f"no {word} that reaches is left{apart}"
    if isinstance(thing, Stand) and (reach := _too_far(program, thing, one)):
        return f"no {_stand_word(thing)} goes as {reach} as {figure(one.wanted.height_m, 2)} m"
    if isinstance(thing, Stand):
        return "no clamp is left" if thing.kind == "clamp" else f"no {_stand_word(thing)} is left that holds it there"
    if isinstance(thing, Splitter):
        return "no splitter is left"
    return "no mic that suits it is left" if isinstance(thing, Mic) else "no DI that suits it is left"


def _stand_word(stand: Stand) -> str:
    """The trade says a tall boom, and a straight stand."""
    return stand.kind if stand.kind in ("tall boom", "short boom", "clamp") else f"{stand.kind} stand"


def _why_not(one: Input) -> str:
    if not one.ways:
        return "nothing is known that could take it"
    return (
        "what was decided by hand stands in the way" if one.pin else "something stands in the way that cannot be bought"
    )
