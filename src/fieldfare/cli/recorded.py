"""Recordings as several commands want them: found by their show or in a folder, with what is known of their tracks."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fieldfare.cli.planned import Planned, planned
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed

if TYPE_CHECKING:
    from fieldfare.sheets.head import Paper, Printing
    from fieldfare.sheets.language import Language
    from fieldfare.show.drawn import DrawnInput
    from fieldfare.takes.axis import Axis


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
    from fieldfare.plan.drawn import drawn_inputs
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
    rows = drawn_inputs(made.read, made.plan, made.recipes)
    return Recorded(recordings or copies_of(made.read.folder, made.plan), rows, made)


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
