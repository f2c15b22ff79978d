"""fieldfare recipes: what a source may be called, and the inputs that it becomes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.say import heading, say, show_json
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed, nearest

if TYPE_CHECKING:
    from fieldfare.plan.recipes import Recipe


def recipes(
    name: Annotated[str, typer.Argument(help="One recipe to open; without it, all their names.")] = "",
    show: Annotated[Path | None, typer.Option(help="A show's folder, whose own recipes count too.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Write them as JSON.")] = False,
) -> None:
    """List the recipes that turn a source into inputs, or open one."""
    from fieldfare.plan.recipes import own_recipes, show_recipes

    known = show_recipes(show) if show else own_recipes()
    if name and name not in known:
        near = nearest(name, known)
        close = [one for one in known if name.casefold() in one] or ([near] if near else [])
        raise Fault(
            f"there is no recipe {name!r}",
            "the command",
            f"did you mean {listed(close).replace(' and ', ' or ')}?" if close else "fieldfare recipes lists them",
        )
    chosen = {name: known[name]} if name else known
    if as_json:
        show_json({"recipe": [recipe.model_dump(mode="json") for recipe in chosen.values()]})
    elif name:
        _open(known[name])
    else:
        _list(known)


def _list(known: Mapping[str, Recipe]) -> None:
    say(f"{len(known)} recipes; fieldfare recipes NAME opens one.")
    for family in dict.fromkeys(recipe.family for recipe in known.values()):
        names = [name for name, recipe in known.items() if recipe.family == family]
        say(f"{family}: {', '.join(names)}", indent=1, hang=2)


def _open(recipe: Recipe) -> None:
    say(f"{recipe.name}: {recipe.says}")
    if recipe.uses:
        say(f"has = [...] may name: {', '.join(recipe.uses)}")
    if recipe.usual:
        usual = ", ".join(f"{what} = {count}" for what, count in recipe.usual.items())
        say(f"counts = {{ ... }} may set: {usual} where the show says nothing")
    if len(recipe.part) > 1:
        say(f"leave_out = [...] may name: {', '.join(part.part for part in recipe.part)}")
    for part in recipe.part:
        heading(f"{part.part}, {part.importance}")
        if part.why:
            say(part.why, indent=1)
        for way in part.way:
            what = listed([*way.kinds, *way.patterns]) or way.taking
            say(f"{way.score:>3}  {way.taking}, {what}: {way.why}", indent=1, hang=5)
