"""Why a row is as it is, and what would come next: each next best is a choice of its own, with that item forbidden."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fieldfare.plan.choice.case import Case
from fieldfare.plan.choice.columns import Program
from fieldfare.plan.choice.goals import fitness, importance
from fieldfare.plan.choice.solver import INFINITE, Row, held_at, ones, solve, value_of
from fieldfare.plan.choice.tags import Picked, picked
from fieldfare.plan.choice.ways import Way
from fieldfare.show.kit import Di, Mic, Splitter
from fieldfare.units.text import figure, listed

MOVES_TOLD = 3  # other rows whose change is told one by one
HOUSE_SPLIT = {
    True: "its outputs are isolated",
    None: "whether its outputs are isolated is not known yet",
    False: "its outputs are not isolated: listen for hum",
}
SPLITTERS = {
    "transformer": "its transformer keeps the two systems apart",
    "active": "it buffers the microphone and needs its supply",
    "none": "it joins the two systems and loads the microphone twice: listen for hum",
}


def reason(program: Program, found: Picked, held: Sequence[Row], number: int, why: str) -> str:
    """Say why a row takes what it takes, with figures.

    Parameters
    ----------
    program, found
        The solved program and what it chose.
    held
        The constraints that hold the importance goals at their best, and fitness at what it came to.
    number
        The input.
    why
        What makes its mic or DI suit it.
    """
    case, way = program.case, found.way[number]
    text = "; ".join([f"{why[:1].upper()}{why[1:]}", *_figures(case, number, way)]) + "."
    pin = case.inputs[number].pin
    if pin is not None and (pin.use or pin.keep):
        text = f"Pinned by hand. {text}"
    better = _better(program, found, held, number)
    if better:
        text += f" {better}"
    guests = [case.inputs[guest].wanted.label for guest, host in found.host.items() if host == number]
    if guests:
        text += f" {listed(guests)} {_verb(guests, 'shares', 'share')} this line: never both at once."
    return text


def _figures(case: Case, number: int, way: Way) -> Iterator[str]:
    wanted = case.inputs[number].wanted
    thing = case.stock.heaps[way.heap].thing if way.heap is not None else None
    if isinstance(thing, Mic):
        low, high = wanted.spl_db
        if thing.max_spl_db is not None:
            yield f"it takes {figure(thing.max_spl_db)} dB, and {figure(low)} to {figure(high)} dB are expected there"
    elif isinstance(thing, Di):
        yield f"{thing.item}, {_ohms(thing.input_ohm)}, for a source of {_ohms(wanted.source_ohm)}"
    if way.splitter is not None:
        splitter = case.stock.heaps[way.splitter].thing
        assert isinstance(splitter, Splitter)
        yield f"{splitter.item}: {SPLITTERS[splitter.isolation]}"
    for box in case.house:
        if box.name == way.house_box:
            yield f"{box.name} gives the split: {HOUSE_SPLIT[box.splits_isolated.known]}"


def _better(program: Program, found: Picked, held: Sequence[Row], number: int) -> str:
    """Name what would suit a row better, and why it has not got it: tried with one more of that item in the kit."""
    case, way = program.case, found.way[number]
    ranked = sorted(case.inputs[number].ways, key=lambda one: -one.score)
    other = next((one for one in ranked if one.score > way.score and one.item_heap is not None), None)
    if other is None or other.item_heap is None:
        return ""
    entry = case.stock.heaps[other.item_heap].entry
    takes = Row(tuple(ones(_columns(program, number, other))), 1, 1)
    one_more = solve(program.model, (), [*held, takes], freed=[program.spare[entry]])
    users = _users(case, found, other.item_heap)
    where = f"it does more good on {_labels(case, users)}" if one_more and users else "what it needs beside it is short"
    item = told(case, other)
    return f"{item[:1].upper()}{item[1:]} would suit better ({other.score} of 100, not {way.score}), but {where}."


def _columns(program: Program, number: int, like: Way) -> list[int]:
    """List the columns of an input's ways with the same item."""
    ways = program.case.inputs[number].ways
    return [program.way[number, index] for index, way in enumerate(ways) if _alike(program.case, way, like)]


def _users(case: Case, found: Picked, heap: int) -> list[int]:
    """List the inputs that use units of a heap's entry."""
    entry = case.stock.heaps[heap].entry
    of = {n: used.item_heap for n, used in found.way.items()}
    return sorted(n for n, used in of.items() if used is not None and case.stock.heaps[used].entry == entry)


def next_best(program: Program, found: Picked, held: Sequence[Row], number: int) -> str:
    """Say what a row would take if not what it takes, and what that would cost the rest.

    Parameters
    ----------
    program, found
        The solved program and what it chose.
    held
        The constraints that hold the importance goals at their best.
    number
        The input.
    """
    case = program.case
    ban = Row(tuple(ones(_columns(program, number, found.way[number]))), 0, 0)
    weight = len(case.inputs) + 1
    wish = [*((column, weight * factor) for column, factor in fitness(program).terms), *_changes(program, found)]
    answer = solve(program.model, wish, [*held, ban])
    if answer is None:
        lost = solve(program.model, [*_importance(program, weight), *_losses(program, found)], [ban])
        if lost is None:
            return "A pin holds it: nothing else is allowed."
        kept = [held_at(aim, lost[0]) for aim in importance(program)]
        same = Row(tuple(_losses(program, found)), -INFINITE, value_of(_losses(program, found), lost[0]))
        answer = solve(program.model, wish, [*kept, same, ban])
    assert answer is not None
    return _instead(program, found, picked(program, answer[0]), number)


def _alike(case: Case, one: Way, other: Way) -> bool:
    if one.item_heap is not None and other.item_heap is not None:
        return case.stock.heaps[one.item_heap].entry == case.stock.heaps[other.item_heap].entry
    return (one.item_heap, one.house_box, one.line) == (other.item_heap, other.house_box, other.line)


def _changes(program: Program, found: Picked) -> list[tuple[int, float]]:
    """One for every way that differs from what was chosen, so that the next best changes as little as it can."""
    return [
        (column, 1.0)
        for (number, index), column in program.way.items()
        if found.way.get(number) is not program.case.inputs[number].ways[index]
    ]


def _importance(program: Program, weight: int) -> list[tuple[int, float]]:
    terms: list[tuple[int, float]] = []
    for aim in reversed(importance(program)):
        terms += [(column, weight * factor) for column, factor in aim.terms]
        weight *= aim.span + 1
    return terms


def _losses(program: Program, found: Picked) -> list[tuple[int, float]]:
    kept = {*found.way, *found.host}
    return [(column, -1.0) for number in kept for column in program.kept(number)]


def _instead(program: Program, found: Picked, other: Picked, number: int) -> str:
    """Tell what the best plan without a row's item looks like, as far as it differs."""
    case = program.case
    gone, come = _difference(found, other)
    moved = [
        f"{case.inputs[n].wanted.label} takes {told(case, way)}"
        for n, way in sorted(other.way.items())
        if n != number and n in found.way and not _alike(case, way, found.way[n])
    ]
    if len(moved) > MOVES_TOLD:
        moved[MOVES_TOLD:] = [f"{len(moved) - MOVES_TOLD} more change"]
    if number in other.host:
        text = f"to share the line of {case.inputs[other.host[number]].wanted.label}"
    elif number in other.way:
        mine, score = other.way[number], found.way[number].score
        worth = "as good" if mine.score == score else f"{mine.score} instead of {score}"
        text = f"{told(case, mine)}, {worth}"
        moved += [f"{_labels(case, gone)} {_verb(gone, 'goes', 'go')}"] if gone else []
    else:
        text = f"nothing else would do: without it {_labels(case, gone)} {_verb(gone, 'goes', 'go')}"
    moved += [f"{_labels(case, come)} {_verb(come, 'comes in', 'come in')}"] if come else []
    return f"{text}; then {'; '.join(moved)}." if moved else f"{text}."


def _difference(found: Picked, other: Picked) -> tuple[list[int], list[int]]:
    """List the inputs that go and those that come in, from one plan to another."""
    before, after = {*found.way, *found.host}, {*other.way, *other.host}
    return sorted(before - after), sorted(after - before)


def _labels(case: Case, numbers: Sequence[int]) -> str:
    return listed(case.inputs[number].wanted.label for number in numbers)


def _verb(numbers: Sequence[object], one: str, several: str) -> str:
    return one if len(numbers) == 1 else several


def told(case: Case, way: Way) -> str:
    """Name what a way takes an input with."""
    if way.item_heap is not None:
        return case.stock.heaps[way.item_heap].thing.item
    return f"a split of {way.house_box}" if way.house_box else "its line output"


def _ohms(value: float) -> str:
    """Write an impedance as people read it.

    >>> _ohms(150), _ohms(50_000), _ohms(10_000_000)
    ('150 Ω', '50 kΩ', '10 MΩ')
    """
    for size, unit in ((1e6, "MΩ"), (1e3, "kΩ")):
        if value >= size:
            return f"{value / size:g} {unit}"
    return f"{value:g} Ω"
