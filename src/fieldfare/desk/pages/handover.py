"""Handing over: who gets what, what is still missing, and what has left the house."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Local
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.jobs import JobView, begin_job, job_view
from fieldfare.desk.render import html
from fieldfare.desk.works.parcels import FOLDER, contents_of
from fieldfare.handover.parcel import refusals
from fieldfare.handover.receivers import receivers
from fieldfare.show.receiver import Receiver
from fieldfare.units.faults import Fault

router = APIRouter(prefix="/shows/{key}")


@dataclass(frozen=True, slots=True)
class ReceiverLine:
    """One receiver, with what keeps them from getting it."""

    receiver: Receiver
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Left:
    """One parcel that has left."""

    when: str
    whom: str
    says: str


@dataclass(frozen=True, slots=True)
class HandoverPage:
    """Handing over."""

    frame: Frame
    lines: tuple[ReceiverLine, ...]
    trouble: str
    left: tuple[Left, ...]
    folder: str
    work: JobView | None
    local: bool


@router.get("/handover")
def handover(here: TheShow) -> HTMLResponse:
    """Show who gets what, what is missing, and what has left."""
    now = here.book.open()
    zone = ZoneInfo(now.read.venue.zone)
    today = dt.datetime.now(zone).date()
    trouble = ""
    try:
        contents = contents_of(here.book, with_tracks=True)
    except Fault as fault:  # the disc with the tracks is not connected
        trouble, contents = str(fault), contents_of(here.book, with_tracks=False)
    left = [one.event for one in here.book.events() if one.event.kind == "handed over"]
    return html(
        "handover.html",
        HandoverPage(
            frame=here.frame("handover", "handover", now),
            lines=tuple(
                ReceiverLine(one, tuple(blemish.read for blemish in refusals(contents, one, today)))
                for one in receivers(here.book.folder).values()
            ),
            trouble=trouble,
            left=tuple(Left(f"{one.at.astimezone(zone):%d %B, %H:%M}", one.about, one.text) for one in reversed(left)),
            folder=str(here.book.folder / FOLDER),
            work=job_view(here, "parcel"),
            local=here.session.local,
        ),
    )


@router.post("/handover")
def make(
    here: TheShow,
    local: Local,
    receiver: Annotated[str, Form(max_length=200)] = "",
    folder: Annotated[str, Form(max_length=1000)] = "",
) -> RedirectResponse:
    """Make a parcel for one receiver; it is refused while anybody's consent is missing."""
    place = folder.strip() or str(here.book.folder / FOLDER)
    begin_job(here, "parcel", {"receiver": receiver, "folder": place}, "gathering")
    return here.to("handover")
