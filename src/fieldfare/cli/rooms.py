"""What several commands do alike: read a show, save its revision, make its plan, find its copies."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fieldfare.units.faults import Fault
from fieldfare.units.text import listed

if TYPE_CHECKING:
    from fieldfare.plan.recipes import Recipe
    from fieldfare.sheets.head import Paper, Printing
    from fieldfare.sheets.language import Language
    from fieldfare.show.drawn import DrawnInput
    from fieldfare.show.night_marks import ClockMark
    from fieldfare.show.plan import Plan
    from fieldfare.show.toml import ShowFolder
    from fieldfare.store.store import Store
    from fieldfare.takes.axis import Axis

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

    read = read_show(path)
    recipes = show_recipes(read.folder)
    plan = make_plan(read.show, read.venue, read.kit, read.digest, recipes)
    return Planned(read, plan, keep_revision(read), recipes)


def keep_revision(read: ShowFolder) -> str:
    """Save the show's documents as a revision of the store and return its letter; unchanged documents keep theirs."""
    from fieldfare.store.revisions import save_revision

    body = {
        "show": read.show.model_dump(mode="json"),
        "venue": read.venue.model_dump(mode="json"),
        "kit": read.kit.model_dump(mode="json"),
        **({"recipes": json.loads(json.dumps(read.recipes, default=str))} if read.recipes else {}),
    }
    with show_store(read.folder) as store:
        return save_revision(store, "show", read.show.title, body, read.digest).letter


def rows_of(made: Planned) -> tuple[DrawnInput, ...]:
    """Return every input as it was drawn."""
    from fieldfare.plan.inputs import soundings
    from fieldfare.show.drawn import drawing_of

    read = made.read
    return drawing_of(made.plan, soundings(read.show, read.venue, made.recipes), read.venue.temperature_c.known).input


@dataclass(frozen=True, slots=True)
class Recorded:
    """Recordings, and what is known of them: by their show, or by a list of inputs, or by nothing but their names."""

    folder: Path
    rows: tuple[DrawnInput, ...]
    made: Planned | None

    @property
    def title(self) -> str:
        """Of the show; blank without one."""
        return self.made.plan.title if self.made else ""

    @property
    def temperature_c(self) -> float | None:
        """Of the room, where somebody said. [°C]"""
        return self.made.read.venue.temperature_c.known if self.made else None


def recorded(where: Path, recordings: Path | None, inputs: Path | None) -> Recorded:
    """Find recordings: a show's own, others named beside it, or any folder's.

    Raises
    ------
    Fault
        Options that do not go together, or a folder without recordings.
    """
    from fieldfare.show.drawn import drawn_list
    from fieldfare.show.inputs_csv import read_inputs
    from fieldfare.show.toml import SHOW_FILE
    from fieldfare.takes.offload.kept import copies_of

    if where.is_dir() and not (where / SHOW_FILE).is_file():
        if recordings:
            raise Fault("--recordings goes with a show", str(where), f"there is no {SHOW_FILE}; name the folder alone")
        return Recorded(where, drawn_list(read_inputs(inputs)) if inputs else (), None)
    if inputs:
        raise Fault("--inputs goes with a folder without a show", str(where), "the show has its own inputs")
    made = planned(where)
    return Recorded(recordings or copies_of(made.read.folder, made.plan), rows_of(made), made)


def takes_of(found: Recorded, take: str = "") -> tuple[Axis, ...]:
    """Put the takes of recordings on their axes, all or the one that is named.

    Raises
    ------
    Fault
        There are no recordings, or no such take.
    """
    from fieldfare.takes.axis import find_axes

    axes = find_axes(found.folder, found.rows)
    chosen = tuple(axis for axis in axes if take in ("", axis.name))
    if not chosen:
        raise Fault(f"there is no take {take}", str(found.folder), f"there is {listed(axis.name for axis in axes)}")
    return chosen


def printing_of(made: Planned | None, paper: Paper = "a4", language: Language = "en") -> Printing:
    """Tell how sheets of recordings are printed: now, by the venue's clock where they belong to a show."""
    import datetime as dt
    from zoneinfo import ZoneInfo

    from fieldfare.sheets.head import Printing

    if made is None:
        return Printing(paper, dt.datetime.now(), language=language)
    read = made.read
    now = dt.datetime.now(ZoneInfo(read.venue.zone))
    return Printing(paper, now, read.show, read.venue, made.plan, made.revision, language)


def marks_of_night(read: ShowFolder) -> tuple[ClockMark, ...]:
    """Return the marks that were made on the night."""
    from fieldfare.store.events import events
    from fieldfare.store.night import marks_of

    with show_store(read.folder) as store:
        return marks_of((kept.event for kept in events(store, read.show.title)), read.venue.zone)


def show_store(folder: Path) -> Store:
    """Open the store of a show: the database that the variable names, or the file in the show's folder."""
    from fieldfare.store.store import open_store, url_of

    return open_store(os.environ.get(STORE_VARIABLE) or url_of(folder))
