"""All sheets of a show, written as PDF: either every one of them, or none."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from fieldfare.plan.recipes import Recipe
from fieldfare.sheets.changeovers import changeover_sheet
from fieldfare.sheets.day import day_sheet
from fieldfare.sheets.head import Paper, Setting
from fieldfare.sheets.inputs import input_sheet
from fieldfare.sheets.language import Language
from fieldfare.sheets.pack import pack_sheet
from fieldfare.sheets.patch import patch_sheet
from fieldfare.sheets.questions import question_sheet
from fieldfare.sheets.set_list import set_list_sheet
from fieldfare.sheets.signal import signal_sheet
from fieldfare.sheets.stage import stage_sheet
from fieldfare.sheets.tags import IN_PLACE, Offset, tag_sheet
from fieldfare.sheets.tape import tape_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.whatif import whatif_sheet
from fieldfare.sheets.wording import Units
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Plan
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.show.whatif import WhatIf
from fieldfare.units.faults import Fault, NotDone

SHEETS = ("inputs", "patch", "signal", "stage", "pack", "day", "changeovers", "set-list", "tape", "tags", "questions")


def write_sheets(
    plan: Plan,
    show: Show,
    venue: Venue,
    kit: Kit,
    folder: Path,
    *,
    paper: Paper,
    revision: str,
    printed: dt.datetime,
    units: Units = "m",
    first_label: int = 1,
    off: Offset = IN_PLACE,
    recipes: Mapping[str, Recipe] | None = None,
    language: Language = "en",
    whatif: WhatIf | None = None,
) -> tuple[Path, ...]:
    """Write every sheet of ``SHEETS``: lists, drawings, labels, and what stands open.

    The same documents, revision and time give the same bytes.

    Parameters
    ----------
    plan, show, venue, kit
        The plan and the documents that it was made from.
    folder
        Where the PDFs go; made if it is not there. Sheets of an earlier printing are replaced.
    paper
        Paper size.
    revision
        Stands on every sheet.
    printed
        Time of print: with a zone it is shown as the venue's clock, without one it is taken as that.
    units
        Metres or feet.
    first_label
        The first label of the first page of tags that is still free, from 1.
    off
        How far off the printer is, by the test print: the tags are drawn as far the other way.
    recipes
        By name, for the outlines of sources; the program's own where none are given.
    language
        Of everything but names.
    whatif
        What to do if something dies: with it, the sheet that says so is written too. Finding out takes a while.

    Raises
    ------
    OutOfRange
        A first label that the page does not have, or an offset that no test print shows.
    NotDone
        A sheet could not be set, or the folder cannot be written to; the sheets that were there stay as they were.
    """
    setting = Setting(plan, show, venue, paper, revision, printed, units, language)
    pages: dict[str, object] = {
        "inputs": input_sheet(setting),
        "patch": patch_sheet(setting, kit),
        "signal": signal_sheet(setting, kit),
        "stage": stage_sheet(setting, kit, recipes),
        "pack": pack_sheet(setting, kit),
        "day": day_sheet(setting),
        "changeovers": changeover_sheet(setting),
        "set-list": set_list_sheet(setting),
        "tape": tape_sheet(setting),
        "tags": tag_sheet(setting, kit, first_label, off),
        "questions": question_sheet(setting),
    }
    if whatif is not None:
        pages["whatif"] = whatif_sheet(setting, whatif)
    names = names_of(show, kit, venue)
    made = {f"{name}.pdf": typeset(name, pages[name], printed, language, names) for name in pages}
    return put_all(made, folder)


def names_of(show: Show, kit: Kit, venue: Venue) -> frozenset[str]:
    """Return what is a name even where it looks like words of ours: what somebody called a thing, a source, a place."""
    return frozenset(
        (
            *(thing.item for thing in kit.things),
            *(thing.bin for thing in kit.things if thing.bin),
            *(one.name for one in show.sources),
            *(one.name for one in show.act),
            *(one.name for one in venue.circuit),
            *(one.name for one in venue.socket),
            venue.name,
        )
    )


def put_all(files: Mapping[str, bytes], folder: Path) -> tuple[Path, ...]:
    """Write files beside their places first, and put them there only when all of them are whole.

    Raises
    ------
    Fault
        The folder is named like a file: "report.pdf". One that is there is taken as it is.
    NotDone
        The folder cannot be written to, or a file in it is held open; what was there is there again.
    """
    if not folder.exists() and folder.suffix.casefold() in {Path(name).suffix for name in files}:
        raise Fault("a folder is wanted, and this is named like a file", str(folder), f"name it {folder.stem}")
    places = {name: folder / name for name in files}
    waiting: list[Path] = []
    set_aside: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            waiting.append(_beside(places[name], "part"))
            waiting[-1].write_bytes(content)
        for place in places.values():
            if place.exists():
                place.replace(_beside(place, "old"))
                set_aside.append(place)
            _beside(place, "part").replace(place)
    except OSError as fault:
        with suppress(OSError):
            for place in set_aside:
                _beside(place, "old").replace(place)
            for part in waiting:
                part.unlink(missing_ok=True)
        what = f"the sheets cannot be written ({fault.strerror or fault})"
        raise NotDone(what, str(folder), "close the PDFs that are open, or give another folder") from fault
    for place in set_aside:
        _beside(place, "old").unlink(missing_ok=True)
    return tuple(places.values())


def _beside(place: Path, ending: str) -> Path:
    return place.with_name(f".{place.name}.{ending}")
