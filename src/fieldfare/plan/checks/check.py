"""What a check is: one line of the table, and where it fired."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from fieldfare.plan.checks.context import Context
from fieldfare.show.record import Severity


class Fired(NamedTuple):
    """Where a check fired and what cures it."""

    hop: str  # the station, or the piece of it that a person would go to
    remedy: str
    input: str = ""  # id; "" where it is about the whole show
    detail: str = ""  # a figure or a name that the sentence holds


@dataclass(frozen=True, slots=True)
class Check:
    """One line of the table: everything said about a check but how it looks."""

    id: str
    severity: Severity
    says: str  # with {hop}, {remedy} and, where it needs one, {detail}
    source: str
    find: Callable[[Context], Iterator[Fired]]
