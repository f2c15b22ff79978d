"""A show as most commands want it: read, kept as a revision, planned; and its store."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldfare.plan.recipes import Recipe
    from fieldfare.show.night_marks import ClockMark
    from fieldfare.show.plan import Plan
    from fieldfare.show.toml import ShowFolder
    from fieldfare.store.store import Store

STORE_VARIABLE = "FIELDFARE_STORE"  # a database URL instead of the file in the show's folder


@dataclass(frozen=True, slots=True)
class Planned:
    """A show as read, its plan, the letter of the revision it was made from, and the recipes that hold for it."""

    read: ShowFolder
    plan: Plan
    revision: str
    recipes: Mapping[str, Recipe]


def planned(path: Path) -> Planned:
    """Read a show, keep it as a revision where it changed, and make its plan."""
    from fieldfare.plan.make import make_plan
    from fieldfare.plan.recipes import show_recipes
    from fieldfare.show.toml import read_show
    from fieldfare.store.shows import save_show

    read = read_show(path)
    recipes = show_recipes(read.folder)
    plan = make_plan(read.show, read.venue, read.kit, read.digest, recipes)
    with show_store(read.folder) as store:
        return Planned(read, plan, save_show(store, read), recipes)


def marks_of_night(read: ShowFolder) -> tuple[ClockMark, ...]:
    """Return the marks that were made on the night."""
    from fieldfare.store.events import events
    from fieldfare.store.night import marks_of

    with show_store(read.folder) as store:
        return marks_of((kept.event for kept in events(store, read.show.title)), read.venue.zone)


def show_store(folder: Path) -> Store:
    """Open the store that is kept in a folder, or the database that the variable names instead."""
    from fieldfare.store.store import open_store, url_of

    return open_store(os.environ.get(STORE_VARIABLE) or url_of(folder))
