"""What if: what is done when something dies or somebody comes, with the fewest changes. Written by the program."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from pydantic import Field

from fieldfare.show.plan import Goal
from fieldfare.show.record import Name, Record
from fieldfare.show.show import Importance
from fieldfare.units.working import Working

DeadKind = Literal[
    "power", "recorder", "medium", "trunk", "line", "box", "socket", "channel", "preamp", "mic", "DI", "splitter",
    "stand", "cable", "lead",
]  # fmt: skip


class Move(Record):
    """What a person does for one input, in words to follow on a dark stage."""

    input: str = Field(description="Its id; blank where it is about a whole box, trunk or machine")
    label: Name
    says: str


class Lost(Record):
    """An input that cannot be recorded any more."""

    input: Name = Field(description="Its id")
    label: Name
    importance: Importance


class Outcome(Record):
    """What becomes of the plan, with the fewest changes."""

    dead: tuple[str, ...] = Field(description='Tags, "line 5", "channel 3", "B-01 socket 2"; none where a source comes')
    serves: tuple[str, ...] = Field(default=(), description="Labels of the inputs that it serves")
    move: tuple[Move, ...] = ()
    lost: tuple[Lost, ...] = ()
    changes: int = Field(default=0, description="Changed assignments: unit, stand, cable, socket, line, channel")
    stops: bool = Field(default=False, description="Whether nothing is recorded until that is done")
    note: str = Field(default="", description="What else to know: what is at risk, what lies at home")
    minutes: Working | None = Field(default=None, description="How long it goes on by itself")
    goal: tuple[Goal, ...] = Field(default=(), description="The goals it was planned again with, and their proof")

    @property
    def musts(self) -> int:
        """How many *must* inputs are lost."""
        return sum(one.importance == "must" for one in self.lost)

    @property
    def harm(self) -> tuple[int, int, int, int, int]:
        """Inputs lost by importance, whether recording stops, then changes: what is ranked by."""
        lost = [sum(one.importance == rank for one in self.lost) for rank in ("must", "want", "nice")]
        return lost[0], lost[1], lost[2], int(self.stops), self.changes


class Failure(Record):
    """Single failures that are cured alike: one line on the sheet."""

    kind: DeadKind
    what: Name = Field(description='What they are: "small dynamic, supercardioid"')
    says: str = Field(description="What to do")
    outcome: tuple[Outcome, ...] = Field(description="One for each that may die", min_length=1)

    @property
    def harm(self) -> tuple[int, int, int, int, int]:
        """The most that one of them does."""
        return max(one.harm for one in self.outcome)

    @property
    def single_point(self) -> bool:
        """Whether one of them alone loses a *must*."""
        return self.harm[0] > 0


class Possible(Record):
    """A source that may come or not."""

    source: Name
    planned: bool = Field(description="Whether it has a place in the plan")
    comes: Outcome
    stays_away: str = Field(description="What is free if it does not come")


class WhatIf(Record):
    """Every single failure and every possible source, planned again with the fewest changes."""

    title: Name
    date: dt.date
    venue: Name
    digest: str = Field(description="SHA-256 of the documents of the plan")
    tried: int = Field(description="How many single failures were tried")
    failure: tuple[Failure, ...] = Field(description="The most harm first")
    possible: tuple[Possible, ...] = ()

    @property
    def single_points(self) -> tuple[Failure, ...]:
        """What alone loses a *must*, the most harm first."""
        return tuple(one for one in self.failure if one.single_point)
