"""Copying a card: what is copied where, how far it is, and whether the card may be wiped."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Local
from fieldfare.desk.frame import Frame
from fieldfare.desk.jobs import Asks
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.jobs import JobView, begin_job, job_view
from fieldfare.desk.render import html
from fieldfare.show.findings import OffloadReport
from fieldfare.takes.offload.kept import kept_report
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure

router = APIRouter(prefix="/shows/{key}")


@dataclass(frozen=True, slots=True)
class OffloadPage:
    """Copying a card."""

    frame: Frame
    work: JobView | None
    report: OffloadReport | None
    sizes: str
    local: bool


@router.get("/offload")
def offload(here: TheShow) -> HTMLResponse:
    """Show how far the offload is, what lies where, and what may be wiped."""
    now = here.book.open()
    report = kept_report(here.book.folder)
    size = sum(file.bytes for file in report.file) if report else 0
    return html(
        "offload.html",
        OffloadPage(
            frame=here.frame("offload", "offload", now),
            work=job_view(here, "offload"),
            report=report,
            sizes=f"{len(report.file)} files, {figure(size / 1e9, 2)} GB" if report else "",
            local=here.session.local,
        ),
    )


@router.post("/offload")
def begin(
    here: TheShow,
    local: Local,
    card: Annotated[str, Form(max_length=1000)] = "",
    first: Annotated[str, Form(max_length=1000)] = "",
    second: Annotated[str, Form(max_length=1000)] = "",
    same_device: Annotated[str, Form(max_length=3)] = "",
) -> RedirectResponse:
    """Begin to copy a card, or go on where it was stopped. Only the laptop's own browser may name folders."""
    places = [place.strip() for place in (first, second) if place.strip()]
    if not card.strip() or not Path(card.strip()).is_dir():
        raise Fault("there is no such folder", card.strip()[:200] or "the card", "name the card, or the folder on it")
    if len(places) < 2 and not same_device:
        raise Fault("one copy is not safe", "offload", "name two folders, on different devices")
    asks: Asks = {"card": card.strip(), "to": places, "same_device": bool(same_device)}
    begin_job(here, "offload", asks, "reading the card")
    return here.to("offload")
