"""From act to act: whether there is time for the changeover."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.show.plan import Changeover
from fieldfare.units.text import figure

REMEDY = "ask for a later start, set more before doors, or bring another pair of hands"


def changeover_too_short(context: Context) -> Iterator[Fired]:
    """The programme gives less time than a changeover takes half of the times."""
    yield from (_fired(one) for one in context.changeovers if one.enough == "no")


def changeover_tight(context: Context) -> Iterator[Fired]:
    """A changeover is done in the time that the programme gives, but not nine times in ten."""
    yield from (_fired(one) for one in context.changeovers if one.enough == "tight")


def _fired(one: Changeover) -> Fired:
    takes, there_is = figure(one.takes.value or 0.0), figure(one.there_is_min, int(one.there_is_min % 1 > 0))
    return Fired(one.after, REMEDY, detail=f"about {takes} min of the {there_is} that there are")
