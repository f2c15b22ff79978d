"""Watching the recording from outside: what is wrong with it stands on every phone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Local
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.events import latest_of
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.jobs import JobView, begin_job, job_view
from fieldfare.desk.render import html
from fieldfare.desk.works.watch import DEVICE
from fieldfare.units.faults import Fault

router = APIRouter(prefix="/shows/{key}")
LATEST = 40


@dataclass(frozen=True, slots=True)
class Warned:
    """One warning of the watch."""

    clock: str
    text: str


@dataclass(frozen=True, slots=True)
class WatchPage:
    """The recording, watched."""

    frame: Frame
    work: JobView | None
    warnings: tuple[Warned, ...]
    latest: int
    local: bool


@router.get("/watch")
def watch(here: TheShow) -> HTMLResponse:
    """Show how the recording stands, and what was wrong with it."""
    now = here.book.open()
    kept = here.book.events()
    zone = ZoneInfo(now.read.venue.zone)
    found = [
        Warned(f"{one.event.at.astimezone(zone):%H:%M:%S}", one.event.text)
        for one in kept
        if one.event.device == DEVICE
    ]
    return html(
        "watch.html",
        WatchPage(
            frame=here.frame("watch", "the recording", now),
            work=job_view(here, "watch"),
            warnings=tuple(reversed(found[-LATEST:])),
            latest=latest_of(kept),
            local=here.session.local,
        ),
    )


@router.post("/watch")
def begin(here: TheShow, local: Local, folder: Annotated[str, Form(max_length=1000)] = "") -> RedirectResponse:
    """Begin to watch a folder that is recorded into; it is only read."""
    if not folder.strip() or not Path(folder.strip()).is_dir():
        raise Fault(
            "there is no such folder", folder.strip()[:200] or "the watch", "name the one that is recorded into"
        )
    begin_job(here, "watch", {"folder": folder.strip()}, "looking")
    return here.to("watch")
