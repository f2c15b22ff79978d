"""Every revision of a show: none is ever overwritten, and each can be gone back to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Editing
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html
from fieldfare.sheets.wording import stamp
from fieldfare.store.revisions import letter_of

router = APIRouter(prefix="/shows/{key}")


@dataclass(frozen=True, slots=True)
class RevisionLine:
    """One revision."""

    number: int
    letter: str
    saved: str
    now: bool


@dataclass(frozen=True, slots=True)
class HistoryPage:
    """All revisions, the newest first."""

    frame: Frame
    lines: tuple[RevisionLine, ...]


@router.get("/history")
def history(here: TheShow) -> HTMLResponse:
    """List the revisions."""
    now = here.book.open()
    zone = now.read.venue.zone
    lines = [
        RevisionLine(one.number, one.letter, stamp(one.saved_at, zone), one.letter == now.revision)
        for one in here.book.revisions()
    ]
    return html("history.html", HistoryPage(here.frame("history", "revisions", now), tuple(reversed(lines))))


@router.post("/history")
def go_back(here: TheShow, editor: Editing, number: Annotated[int, Form(ge=1, le=1_000_000)]) -> RedirectResponse:
    """Make the show what it was; that is a new revision."""
    here.book.go_to(number, f"What revision {letter_of(number)} said holds again.")
    return here.to("inputs")
