"""Which track carries which input of the plan. A name counts for more than a number: people name what they hear."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from fieldfare.show.inputs_csv import ListedInput
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.takes.wave import Lane
from fieldfare.units.text import slug

_ONLY_NUMBERED = re.compile(r"(track|trk|channel|ch|input|in|take)?\W*\d*(\W+\d+)?", re.IGNORECASE)


class Row(Protocol):
    """What any row of an input list says of itself."""

    @property
    def id(self) -> str:
        """Its short stable name."""

    @property
    def label(self) -> str:
        """What stands on the tape."""

    @property
    def number(self) -> int:
        """Number of its track."""

    @property
    def channel(self) -> int:
        """Channel of the recorder."""


AnyRow = TypeVar("AnyRow", bound=Row)


@dataclass(frozen=True, slots=True)
class Assigned(Generic[AnyRow]):
    """A lane with the row of an input list that it carries."""

    lane: Lane
    number: int
    row: AnyRow | None
    doubt: str = ""  # where name and number say different things


@dataclass(frozen=True, slots=True)
class Match:
    """A lane with the input that it carries."""

    lane: Lane
    number: int
    planned: PlannedInput | None
    doubt: str = ""  # where name and number say different things
    listed: ListedInput | None = None  # where there is no plan

    @property
    def row(self) -> PlannedInput | ListedInput | None:
        """The row of the plan or of the list of inputs that it carries."""
        return self.planned or self.listed

    @property
    def named(self) -> bool:
        """Whether anybody said what it is, beyond a number."""
        return self.row is not None or not _ONLY_NUMBERED.fullmatch(self.lane.label)

    @property
    def label(self) -> str:
        """What the track is called."""
        return self.row.label if self.row else self.lane.label


def match(lanes: Sequence[Lane], plan: Plan | None, inputs: Sequence[ListedInput] = ()) -> list[Match]:
    """Give every lane the input that it carries, as far as names and numbers tell.

    Parameters
    ----------
    lanes
        Those of one take.
    plan
        The plan, if there is one.
    inputs
        What is known of the inputs where there is no plan.

    Returns
    -------
    A match for each lane, in the order of their numbers.
    """
    if plan is None and inputs:
        return [Match(one.lane, one.number, None, one.doubt, one.row) for one in assign(lanes, inputs)]
    return [Match(one.lane, one.number, one.row, one.doubt) for one in assign(lanes, plan.input if plan else ())]


def assign(lanes: Sequence[Lane], rows: Sequence[AnyRow]) -> list[Assigned[AnyRow]]:
    """Give every lane the row of a list that it carries, as far as names and numbers tell.

    Parameters
    ----------
    lanes
        Those of one take.
    rows
        An input list.

    Returns
    -------
    What was given to each lane, in the order of their numbers.
    """
    numbered = [(lane, _number(lane, place)) for place, lane in enumerate(lanes, 1)]
    numbered.sort(key=lambda one: (one[1], str(one[0].strand.part[0].path), one[0].channel))
    free = {row.id: row for row in rows}
    by_name = {slug(name): row for row in reversed(rows) for name in (row.label, row.id)}
    by_number = {row.channel: row for row in reversed(rows)}
    given: dict[int, Assigned[AnyRow]] = {}
    for index, (lane, number) in enumerate(numbered):
        row = by_name.get(slug(lane.label.replace("_", " ")))
        if row is not None and row.id in free:
            given[index] = Assigned(lane, number, free.pop(row.id), _doubt(number, row, by_number))
    for index, (lane, number) in enumerate(numbered):
        row = by_number.get(number)
        if index not in given and row is not None and row.id in free:
            named = not _ONLY_NUMBERED.fullmatch(lane.label)
            doubt = f"it is named {lane.label}, and only its number is that of {row.label}" if named else ""
            given[index] = Assigned(lane, number, free.pop(row.id), doubt)
    return [given.get(index, Assigned(lane, number, None)) for index, (lane, number) in enumerate(numbered)]


def _number(lane: Lane, place: int) -> int:
    if lane.number is not None:
        return lane.number
    return lane.channel if lane.strand.channels > 1 else place


def _doubt(number: int, row: Row, by_number: Mapping[int, AnyRow]) -> str:
    other = by_number.get(number)
    if other is None or other is row or number in (row.number, row.channel):
        return ""
    return f"it is named {row.label}, and its number is that of {other.label}"
