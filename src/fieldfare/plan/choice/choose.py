"""Which inputs are kept and what each of them gets, proven best goal by goal."""

from __future__ import annotations

from collections.abc import Mapping

from fieldfare.plan.choice.case import prepare
from fieldfare.plan.choice.goals import goals_of
from fieldfare.plan.choice.program import program_of
from fieldfare.plan.choice.solver import smallest_clash, solve_in_order
from fieldfare.plan.choice.tags import chosen_rows, picked
from fieldfare.plan.wanted import Choice, NotKept, Wanted
from fieldfare.show.kit import Kit
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed


def choose(
    wanted: tuple[Wanted, ...],
    kit: Kit,
    needed_m: Mapping[tuple[str, str], float],
    *,
    show: Show,
    venue: Venue | None = None,
    fitness: Mapping[tuple[str, str], int] = {},
    joins_allowed: Mapping[tuple[str, str], bool] = {},
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
    case = prepare(wanted, kit, needed_m, show, venue, fitness, joins_allowed)
    program = program_of(case)
    solved = solve_in_order(program.model, goals_of(program))
    if solved is None:
        clash = smallest_clash(program.model)
        together = "cannot be done" if len(clash) == 1 else "cannot all be done"
        remedy = "take the pin out" if len(clash) == 1 else "take one of these pins out"
        raise Fault(f"{listed(clash)}: that {together}", "pins of the show", remedy)
    values, goals, _ = solved
    found = picked(program, values)
    rows, numbering = chosen_rows(program, found)
    left_out = tuple(
        NotKept(
            one.wanted,
            blocks="",
            cure="",
            shares=case.inputs[found.host[number]].wanted.id if number in found.host else "",
        )
        for number, one in enumerate(case.inputs)
        if number not in rows
    )
    return Choice(
        chosen=tuple(sorted(rows.values(), key=lambda row: row.channel)), not_kept=left_out, goals=(*goals, *numbering)
    )
