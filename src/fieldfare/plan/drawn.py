"""Every input as it was drawn, for the takes: they know nothing of plans."""

from __future__ import annotations

from collections.abc import Mapping

from fieldfare.plan.inputs import soundings
from fieldfare.plan.recipes import Recipe
from fieldfare.show.drawn import DrawnInput, drawing_of
from fieldfare.show.plan import Plan
from fieldfare.show.toml import ShowFolder


def drawn_inputs(read: ShowFolder, plan: Plan, recipes: Mapping[str, Recipe]) -> tuple[DrawnInput, ...]:
    """Return every row of a plan as it was drawn, with all that sounds at its microphone.

    Parameters
    ----------
    read, plan
        The show and the plan that was made of it.
    recipes
        Those that hold for the show, by name.
    """
    sounding = soundings(read.show, read.venue, recipes)
    return drawing_of(plan, sounding, read.venue.temperature_c.known).input
