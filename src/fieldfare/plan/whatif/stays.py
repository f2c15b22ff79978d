"""Columns that tell who stays: on the channel it has, and on the line of the trunk it has.

The program counts channels and lines; these columns claim single ones for those that hold them, and never more of them
than the counts leave room for, so that a claim can always be kept and whoever must move finds what is left.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from fieldfare.plan.choice.columns import PHANTOMS, Program
from fieldfare.plan.choice.solver import ones
from fieldfare.show.kit import Phantom
from fieldfare.show.plan import PlannedInput

Claim: TypeAlias = tuple[str, int, Phantom]  # "bank" or "outboard", its number, what is asked of its switch


@dataclass(slots=True)
class Stays:
    """The columns: who stays on its channel, by what it asks of phantom, and who stays on its line from a box."""

    channel: dict[int, list[int]] = field(default_factory=lambda: defaultdict[int, list[int]](list))
    line: dict[int, int] = field(default_factory=dict)
    claims: dict[Claim, list[int]] = field(default_factory=lambda: defaultdict[Claim, list[int]](list))


def stays_of(program: Program, rows: Mapping[int, PlannedInput], ranges: Mapping[str, range]) -> Stays:
    """Add the columns to a program.

    Parameters
    ----------
    program
        Whose columns count channels and lines.
    rows
        The rows as they stand, by number of the input.
    ranges
        The lines of each trunk.
    """
    stays = Stays()
    for number, row in rows.items():
        place = _place(program, row)
        if place is None:
            stays.channel[number].append(_claim(program, program.ways_where(number, line=True)))
            continue
        for phantom in PHANTOMS:
            column = _claim(program, program.asking(number, phantom))
            stays.claims[*place, phantom].append(column)
            stays.channel[number].append(column)
    for (where, place_number, phantom), columns in stays.claims.items():
        counted = (program.bank if where == "bank" else program.outside_of)[place_number][phantom]
        program.model.row([*ones(columns), (counted, -1.0)], most=0)
    _lines(program, stays, rows, ranges)
    return stays


def _claim(program: Program, ways: list[int]) -> int:
    column = program.model.column()
    program.model.row([(column, 1.0), *((way, -1.0) for way in ways)], most=0)
    return column


def _place(program: Program, row: PlannedInput) -> tuple[str, int] | None:
    """The bank or the outboard preamp that amplifies a row; none where it comes at line level."""
    case = program.case
    for number, outboard in enumerate(case.outboards):
        if row.preamp in outboard.tags:
            return "outboard", number
    for number, bank in enumerate(case.banks):
        if row.preamp_channel and row.channel in bank.channels:
            return "bank", number
    return None


def _lines(program: Program, stays: Stays, rows: Mapping[int, PlannedInput], ranges: Mapping[str, range]) -> None:
    case, model = program.case, program.model
    boxes = {number for number, one in enumerate(case.landings) if one.trunk and not one.own}
    for number, row in rows.items():
        if row.trunk_line:
            through = [column for (one, land), column in program.land.items() if one == number and land in boxes]
            column = stays.line[number] = model.column()
            model.row([(column, 1.0), *((land, -1.0) for land in through)], most=0)
    for tag, lines in ranges.items():
        own = next((number for number, one in enumerate(case.landings) if one.own and one.tag == tag), None)
        claimed = [stays.line[number] for number, row in rows.items() if row.trunk_line in lines]
        model.row([*plugged_at(program, own), *ones(claimed)], most=len(set(lines) - case.dead_lines))


def plugged_at(program: Program, landing: int | None) -> list[tuple[int, float]]:
    """Who plugs in at a landing with a plug of their own: a guest takes its host's."""
    here = [(column, 1.0) for (_, land), column in program.land.items() if land == landing]
    return here + [(column, -1.0) for (_, land), column in program.beside.items() if land == landing]
