"""Which inputs are kept and what each of them gets, proven best goal by goal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from fieldfare.plan.choice.case import Asked, Case, prepare
from fieldfare.plan.choice.columns import Program
from fieldfare.plan.choice.cures import Cure, cures
from fieldfare.plan.choice.explain import next_best, reason
from fieldfare.plan.choice.goals import goals_of, importance
from fieldfare.plan.choice.pins import smallest_clash
from fieldfare.plan.choice.program import program_of
from fieldfare.plan.choice.shares import Manner
from fieldfare.plan.choice.solver import Row, solve, solve_around
from fieldfare.plan.choice.tags import Picked, chosen_rows, picked
from fieldfare.plan.wanted import Choice, Chosen, NotKept, Wanted
from fieldfare.show.kit import Kit
from fieldfare.show.show import Pin, Show
from fieldfare.show.venue import Venue
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed

MANNERS: dict[Manner, str] = {
    "stays": "shares {}",
    "carried": "shares {}, whose mic is carried over between the sets,",
    "own": "shares {}, plugged over between the sets,",
}


def choose(
    wanted: tuple[Wanted, ...],
    kit: Kit,
    needed_m: Mapping[tuple[str, str], float],
    *,
    show: Show,
    venue: Venue | None = None,
    fitness: Mapping[tuple[str, str], int] = {},
    joins_allowed: Mapping[tuple[str, str], bool] = {},
    words: Mapping[tuple[str, str], str] = {},
    explain: bool = True,
) -> Choice:
    """Choose inputs, mics, DIs, stands, splitters, boxes, lines, preamps, channels and cables.

    Parameters
    ----------
    wanted
        The inputs that somebody would like to have.
    kit
        What may be used.
    needed_m
        Length of cable by input and by tag of the box, trunk or recorder where it may end; a place that is not given
        cannot be reached. [m]
    show
        Its pins, and which sources double each other.
    venue
        Its house boxes, whose split outputs may be used.
    fitness
        How well an item suits an input, by the input's id and the item's name; from the recipe where it is not given.
        Nothing at or below 0 is ever used.
    joins_allowed
        Whether two cables may be joined on the way from an input to a box; they may where it is not given.
    words
        Why an item is worth what it is worth to an input, for the reasons; the recipe's words where it is not given.
    explain
        Whether to tell the next best and the cures, each of which is a choice of its own.

    Returns
    -------
    The rows in the order of their channels, what is not kept, and the goals with their proof.

    Raises
    ------
    Fault
        Pins that cannot hold together (the smallest such set is named), or that name what does not exist.
    NotDone
        No plan was found in the time that there is.
    """
    asked = Asked(wanted, kit, needed_m, show, venue, fitness, joins_allowed)
    program = program_of(prepare(asked))
    solved = solve_around(program.model, goals_of(program))
    if solved is None:
        raise _clash(asked)
    values, goals, held = solved
    found = picked(program, values)
    rows, guests, numbering = chosen_rows(program, found)
    left = [number for number in range(len(program.case.inputs)) if number not in rows]
    told: dict[int, Cure] = {}
    if explain:
        rows = {number: _explained(program, found, held, number, row, words) for number, row in rows.items()}
        told = cures(asked, program, found, values)
    return Choice(
        chosen=tuple(sorted(rows.values(), key=lambda row: row.channel)),
        guests=tuple(sorted(guests.values(), key=lambda row: (row.channel, row.wanted.order))),
        not_kept=tuple(_not_kept(program.case, found, rows, number, told.get(number)) for number in left),
        goals=(*goals, *numbering),
        notes=tuple(_notes(program.case, found)),
    )


def _explained(
    program: Program, found: Picked, held: Sequence[Row], number: int, row: Chosen, words: Mapping[tuple[str, str], str]
) -> Chosen:
    levels, wanted = len(importance(program)), row.wanted
    item = wanted.house_mic.item if row.taking == "split" and wanted.house_mic else row.item
    why = reason(program, found, held[: levels + 1], number, words.get((wanted.id, item), row.accept.why))
    return replace(row, reason=why, next_best=next_best(program, found, held[:levels], number))


def _clash(asked: Asked) -> Fault:
    def holds(pins: tuple[Pin, ...]) -> bool:
        case = prepare(replace(asked, show=asked.show.model_copy(update={"pin": pins})))
        return solve(program_of(case).model, ()) is not None

    pins = smallest_clash(asked.show.pin, {one.id: one.label for one in asked.wanted}, holds)
    if len(pins) == 1:
        return Fault(f"{pins[0]}: that cannot be done", "pins of the show", "take the pin out")
    return Fault(f"{listed(pins)}: that cannot all be done", "pins of the show", "take one of these pins out")


def _not_kept(case: Case, found: Picked, rows: Mapping[int, Chosen], number: int, cure: Cure | None) -> NotKept:
    wanted = case.inputs[number].wanted
    host = found.host.get(number)
    said = cure or Cure("", "")
    if host is None:
        return NotKept(wanted, said.blocks, said.cure)
    row = rows[host]
    line = f"line {row.trunk_line or row.channel}"
    shares = f"{MANNERS[found.manner[number]].format(line)} with {row.wanted.label}; never both at once"
    return NotKept(wanted, shares, said.cure, shares=row.wanted.id)


def _notes(case: Case, found: Picked) -> Iterator[str]:
    for left, one in enumerate(case.inputs):
        right = next((n for n in found.way if case.inputs[n].wanted.id == one.wanted.pair), -1)
        matched = any(pair[:2] == (left, right) for pair in found.matched)
        if one.wanted.matched == "rather" and left < right and left in found.way and not matched:
            yield f"{one.wanted.label} and {case.inputs[right].wanted.label} are alike but not a matched pair."
