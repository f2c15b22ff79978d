"""Patch, power and media, pack list, and the sheets to print: on the screen what they say on paper."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from fieldfare.desk.book import Open
from fieldfare.desk.desk import Editing, Missing
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.jobs import JobView, begin_job, job_view
from fieldfare.desk.printing import Printed, Printing, keep
from fieldfare.desk.render import html
from fieldfare.desk.works.whatif import kept_whatif
from fieldfare.plan.recipes import show_recipes
from fieldfare.sheets.figures import FigureRow
from fieldfare.sheets.head import Setting
from fieldfare.sheets.pack import BinBlock, pack_sheet
from fieldfare.sheets.patch import Bank, BoxPatch, patch_sheet
from fieldfare.sheets.questions import cautions, hearing_figures, media_figures, power_figures
from fieldfare.sheets.threads import Thread
from fieldfare.sheets.write import SHEETS, write_sheets

router = APIRouter(prefix="/shows/{key}")
WHATIF = "whatif"
ABOUT = {
    "inputs": "The input list, with every figure's working",
    "patch": "Every box by its sockets, every channel as a thread",
    "signal": "Every channel in the symbols of circuit diagrams",
    "stage": "The stage to scale, with runs and lengths",
    "pack": "Bin by bin, to tick out and back",
    "day": "The day's tasks and times",
    "changeovers": "What is changed from one act to the next, in order",
    "set-list": "The songs of each set, with room for the marks of the night",
    "tape": "Strips to cut and tape",
    "tags": "Labels for units, with codes",
    "questions": "What stands open, and whom to ask",
    WHATIF: "What to do if something dies, and what alone loses a must",
}


@dataclass(frozen=True, slots=True)
class PatchPage:
    """The patch."""

    frame: Frame
    boxes: tuple[BoxPatch, ...]
    banks: tuple[Bank, ...]
    columns: tuple[str, ...]
    threads: tuple[Thread, ...]


@dataclass(frozen=True, slots=True)
class PowerPage:
    """Mains, battery, bytes and copies."""

    frame: Frame
    power: tuple[FigureRow, ...]
    cautions: tuple[str, ...]
    media: tuple[FigureRow, ...]
    notes: tuple[str, ...]
    hearing: tuple[FigureRow, ...]
    ears: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PackPage:
    """What goes into the van."""

    frame: Frame
    summary: str
    detail: str
    bins: tuple[BinBlock, ...]


@dataclass(frozen=True, slots=True)
class SheetsPage:
    """What can be printed."""

    frame: Frame
    sheets: tuple[tuple[str, str], ...]
    printing: Printing
    whatif: JobView | None
    tried: bool  # every failure, of the plan as it stands
    tried_before: bool  # of an earlier plan


def _setting(now: Open) -> Setting:
    printed = dt.datetime.now(ZoneInfo(now.read.venue.zone))
    return Setting(now.plan, now.read.show, now.read.venue, "a4", now.revision, printed)


@router.get("/patch")
def patch(here: TheShow) -> HTMLResponse:
    """Show boxes, banks and threads."""
    now = here.book.open()
    sheet = patch_sheet(_setting(now), now.read.kit)
    frame = here.frame("patch", "patch", now)
    return html("patch.html", PatchPage(frame, sheet.boxes, sheet.banks, sheet.columns, sheet.threads))


@router.get("/power")
def power(here: TheShow) -> HTMLResponse:
    """Show what hangs on which circuit, and how many bytes the night makes."""
    now = here.book.open()
    plan = now.plan
    return html(
        "power.html",
        PowerPage(
            frame=here.frame("power", "power and media", now),
            power=tuple(power_figures(plan.power)),
            cautions=(
                *plan.power.cautions,
                *(f"{one.circuit}: {note}." for one in plan.power.circuit for note in one.notes),
            ),
            media=tuple(media_figures(plan.media)),
            notes=plan.media.notes,
            hearing=tuple(hearing_figures(plan)),
            ears=cautions("hearing") if plan.hearing else (),
        ),
    )


@router.get("/pack")
def pack(here: TheShow) -> HTMLResponse:
    """Show the pack list, bin by bin."""
    now = here.book.open()
    sheet = pack_sheet(_setting(now), now.read.kit)
    return html("pack.html", PackPage(here.frame("pack", "pack list", now), sheet.summary, sheet.detail, sheet.bins))


@router.get("/sheets")
def sheets(here: TheShow, printing: Printed) -> HTMLResponse:
    """List what can be printed, and choose how; the device keeps what it chose."""
    now = here.book.open()
    tried = kept_whatif(here.book.folder)
    current = tried is not None and tried.digest == now.plan.digest
    names = (*SHEETS, *((WHATIF,) if current else ()))
    answer = html(
        "sheets.html",
        SheetsPage(
            frame=here.frame("sheets", "sheets", now),
            sheets=tuple((name, ABOUT.get(name, "")) for name in names),
            printing=printing,
            whatif=job_view(here, "whatif"),
            tried=current,
            tried_before=tried is not None and not current,
        ),
    )
    keep(answer, paper=printing.paper, units=printing.units)
    return answer


@router.post("/sheets/whatif")
def try_failures(here: TheShow, editor: Editing) -> RedirectResponse:
    """Try every single failure, for the sheet that says what to do then."""
    begin_job(here, "whatif", {}, "planning again without one thing after the other")
    return here.to("sheets")


@router.get("/sheets/{name}.pdf", response_class=Response)
def sheet(here: TheShow, name: str, printing: Printed) -> Response:
    """Print one sheet as PDF."""
    now = here.book.open()
    tried = kept_whatif(here.book.folder) if name == WHATIF else None
    if tried is not None and tried.digest != now.plan.digest:
        raise Missing("every failure was tried for an earlier plan", name, "try them again on the page of sheets")
    if name not in SHEETS and tried is None:
        raise Missing("there is no such sheet", name[:60], "the page of sheets has them all")
    read = now.read
    with TemporaryDirectory(prefix="fieldfare-") as folder:
        write_sheets(
            now.plan, read.show, read.venue, read.kit, Path(folder), paper=printing.paper, revision=now.revision,
            printed=dt.datetime.now(ZoneInfo(read.venue.zone)), units=printing.units, language=printing.language,
            recipes=show_recipes(read.folder), whatif=tried,
        )  # fmt: skip
        content = (Path(folder) / f"{name}.pdf").read_bytes()
    shown = f'inline; filename="{name}-{now.revision}.pdf"'
    return Response(content, media_type="application/pdf", headers={"Content-Disposition": shown})
