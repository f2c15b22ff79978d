"""The outlines of what sounds: the pieces that a source's recipe names, or one circle where it names none."""

from __future__ import annotations

from collections.abc import Mapping

from fieldfare.plan.inputs import soundings
from fieldfare.plan.recipes import Recipe, own_recipes
from fieldfare.sheets.drawing.scene import PIECES_M, SOURCE_M, Outline
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue


def outlines(show: Show, venue: Venue, recipes: Mapping[str, Recipe] | None = None) -> tuple[Outline, ...]:
    """Return the outlines of all sources.

    Parameters
    ----------
    show, venue
        The documents.
    recipes
        By name; the program's own where none are given. A source of another recipe gets one circle.
    """
    known = own_recipes() if recipes is None else recipes
    possible = {source.name for source in show.sources if source.status == "possible"}
    told = show.model_copy(
        update={
            "act": tuple(
                act.model_copy(update={"source": tuple(one for one in act.source if one.recipe in known)})
                for act in show.act
            )
        }
    )
    pieces = [
        Outline(one.source, one.at[:2], PIECES_M.get(one.part.rstrip(" 0123456789"), SOURCE_M), one.source in possible)
        for one in soundings(told, venue, known)
    ]
    drawn = {one.name for one in pieces}
    plain = [
        Outline(one.name, one.at, SOURCE_M, one.name in possible)
        for one in show.sources
        if one.name not in drawn and one.recipe not in known
    ]
    return (*pieces, *plain)
