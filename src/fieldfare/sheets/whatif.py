"""If this dies, do that: every single failure by what dies, in the order in which one looks for it, with its remedy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import get_args

from fieldfare.plan.choice.stock import natural
from fieldfare.plan.whatif.named import alike_words, dead_words, losses
from fieldfare.sheets.head import Head, Setting
from fieldfare.show.plan import Plan
from fieldfare.show.whatif import DeadKind, Failure, Lost, Outcome, Possible, WhatIf

# The order of the sheet: from what stops everything to what stops one input.
TITLES: dict[str, tuple[DeadKind, ...]] = {
    "Power": ("power",),
    "Recorder and media": ("recorder", "medium"),
    "Trunk, boxes, lines": ("trunk", "box", "line", "socket"),
    "Preamps and channels": ("preamp", "channel"),
    "Mics": ("mic",),
    "DIs and splitters": ("DI", "splitter"),
    "Stands": ("stand",),
    "Cables and leads": ("cable", "lead"),
}
PLAIN = ("line of the trunk", "socket of a box", "channel of the recorder", "channel of a preamp")  # the name says it
NAMED = 6  # inputs that are named; of more that are lost only their number is told


@dataclass(frozen=True, slots=True)
class FailureRow:
    """One line: what dies, what to do, what is lost all the same."""

    dead: str
    what: str
    serves: str
    steps: tuple[str, ...]
    note: str
    lost: str
    single_point: bool
    stops: bool


@dataclass(frozen=True, slots=True)
class FailurePart:
    """All that dies in one place."""

    title: str
    rows: tuple[FailureRow, ...]


@dataclass(frozen=True, slots=True)
class PossibleRow:
    """A source that may come or not."""

    source: str
    comes: tuple[str, ...]
    away: str


@dataclass(frozen=True, slots=True)
class WhatIfSheet:
    """Everything on the sheet."""

    head: Head
    summary: str
    alone: tuple[str, ...]  # what alone loses a must
    parts: tuple[FailurePart, ...]
    possible: tuple[PossibleRow, ...]


def whatif_sheet(setting: Setting, found: WhatIf) -> WhatIfSheet:
    """Make the data of the sheet."""
    parts = [FailurePart(title, tuple(_rows(found, kinds, setting.plan))) for title, kinds in TITLES.items()]
    alone = losses(one for failure in found.failure for one in failure.outcome if one.musts)
    return WhatIfSheet(
        head=setting.head("if this dies, do that"),
        summary=f"{found.tried} single failures tried, each with the fewest changes",
        alone=tuple(f"{dead}: {_counted(lost)}" for dead, lost in alone),
        parts=tuple(part for part in parts if part.rows),
        possible=tuple(_possible(one) for one in found.possible),
    )


def _rows(found: WhatIf, kinds: tuple[DeadKind, ...], plan: Plan) -> Iterator[FailureRow]:
    order = get_args(DeadKind)
    failures = [one for one in found.failure if one.kind in kinds]
    for failure in sorted(failures, key=lambda one: (order.index(one.kind), natural(dead_words(one.outcome[0].dead)))):
        yield _row(failure, plan)


def _row(failure: Failure, plan: Plan) -> FailureRow:
    first = failure.outcome[0]
    alike = len(failure.outcome) > 1
    labels = dict.fromkeys(label for one in failure.outcome for label in one.serves)
    return FailureRow(
        dead=alike_words(failure.outcome),
        what="" if failure.what in (*PLAIN, *first.dead) else failure.what,
        serves=", ".join(labels) if len(labels) < len(plan.input) else "everything",
        steps=_steps(failure, first),
        note=_note(first),
        lost=_lost(failure, alike),
        single_point=failure.single_point,
        stops=first.stops,
    )


def _note(first: Outcome) -> str:
    return f"{first.note[:1].upper()}{first.note[1:]}." if first.note else ""


def _steps(failure: Failure, first: Outcome) -> tuple[str, ...]:
    if not first.move:
        return ("Nothing takes its place.",) if first.lost else ()
    says = failure.says.removesuffix(f". {first.note[:1].upper()}{first.note[1:]}" if first.note else "")
    return tuple(part if part.endswith(".") else f"{part}." for part in says.split(". "))


def _lost(failure: Failure, alike: bool) -> str:
    first = failure.outcome[0]
    if not first.lost:
        return ""
    if alike and all({lost.label for lost in one.lost} <= {*one.serves} for one in failure.outcome):
        return "the input it is on"
    return _counted(first.lost)


def _counted(lost: tuple[Lost, ...]) -> str:
    """Name what is lost, musts first; of many only how many.

    >>> _counted((Lost(input="a", label="Kick", importance="must"), Lost(input="b", label="Tom", importance="want")))
    'Kick, Tom'
    """
    musts = [one.label for one in lost if one.importance == "must"]
    others = [one.label for one in lost if one.importance != "must"]
    if len(lost) > NAMED:
        return f"{len(lost)} inputs, {len(musts)} of them must"
    return ", ".join([*musts, *others])


def _possible(one: Possible) -> PossibleRow:
    steps = [f"{move.label}: {move.says}." for move in one.comes.move]
    if one.comes.lost:
        steps.append(f"Not recorded: {_counted(one.comes.lost)}.")
    steps += [f"{one.comes.note[:1].upper()}{one.comes.note[1:]}."] if one.comes.note else []
    return PossibleRow(one.source, tuple(steps), f"{one.stays_away[:1].upper()}{one.stays_away[1:]}.")
