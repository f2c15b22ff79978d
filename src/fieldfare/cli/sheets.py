"""fieldfare sheets: the papers of a show as PDF."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal
from zoneinfo import ZoneInfo

import typer

from fieldfare.cli.options import Lengths, MetresOrFeet, OffDown, OffRight, Paper, PaperSize, ShowPath, Speaks, Tongue
from fieldfare.cli.say import leave, say, show_json

if TYPE_CHECKING:
    from fieldfare.cli.planned import Planned
    from fieldfare.sheets.language import Language
    from fieldfare.show.whatif import WhatIf


def sheets(
    show: ShowPath,
    to: Annotated[
        Path | None, typer.Option(help="Folder for the PDFs; sheets/ in the show's folder if not given.")
    ] = None,
    paper: PaperSize = Paper.a4,
    lengths: MetresOrFeet = Lengths.metres,
    first_label: Annotated[int, typer.Option(min=1, help="First free label of a part-used label sheet.")] = 1,
    off_right: OffRight = 0.0,
    off_down: OffDown = 0.0,
    language: Speaks = Tongue.en,
    what_if: Annotated[
        bool, typer.Option("--whatif", help="Also what to do if something dies; finding out takes a while.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Write the files' names as JSON.")] = False,
) -> None:
    """Print the input list, patch, stage drawing, pack list, labels, and what stands open."""
    from fieldfare.cli.plan import status_of
    from fieldfare.cli.planned import planned
    from fieldfare.cli.whatif import what_if_of

    made = planned(show)
    folder = to or made.read.folder / "sheets"
    found = what_if_of(made) if what_if else None
    written = print_sheets(
        made,
        folder,
        paper=paper.value,
        lengths=lengths.value,
        first_label=first_label,
        off_mm=(off_right, off_down),
        language=language.value,
        whatif=found,
    )
    if as_json:
        show_json({"revision": made.revision, "sheet": [str(path) for path in written]})
    else:
        say(f"{len(written)} sheets of revision {made.revision} in {folder}:")
        for path in written:
            say(path.name, indent=1)
    leave(status_of(made.plan))


def print_sheets(
    made: Planned,
    folder: Path,
    *,
    paper: Literal["a4", "letter"] = "a4",
    lengths: Literal["m", "ft"] = "m",
    first_label: int = 1,
    off_mm: tuple[float, float] = (0.0, 0.0),
    language: Language = "en",
    whatif: WhatIf | None = None,
) -> tuple[Path, ...]:
    """Print every sheet of a planned show, with the time it is at the venue."""
    from fieldfare.sheets.tags import Offset
    from fieldfare.sheets.write import write_sheets

    read = made.read
    return write_sheets(
        made.plan,
        read.show,
        read.venue,
        read.kit,
        folder,
        paper=paper,
        revision=made.revision,
        printed=dt.datetime.now(ZoneInfo(read.venue.zone)),
        units=lengths,
        first_label=first_label,
        off=Offset(*off_mm),
        recipes=made.recipes,
        language=language,
        whatif=whatif,
    )
