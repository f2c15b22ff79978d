"""The list of shows, and making a new one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Editing, TheDesk, TheSession
from fieldfare.desk.frame import Frame
from fieldfare.desk.library import Listed, add_show, find_shows
from fieldfare.desk.pages.here import TheShow, frame_of
from fieldfare.desk.render import html
from fieldfare.sheets.wording import day
from fieldfare.show.toml import read_show
from fieldfare.units.faults import Fault

router = APIRouter()


@dataclass(frozen=True, slots=True)
class ShowLine:
    """One show of the list."""

    key: str
    title: str
    acts: str
    venue: str
    date: str
    sorts: str  # the newest first
    trouble: str


@dataclass(frozen=True, slots=True)
class ShowsPage:
    """The list of shows."""

    frame: Frame
    shows: tuple[ShowLine, ...]
    folder: str
    asked: str
    single: bool


@router.get("/")
def shows(request: Request, desk: TheDesk, session: TheSession, find: str = "") -> HTMLResponse:
    """List the shows, those that hold the words that were looked for."""
    found = find_shows(desk.settings.root)
    lines = [_line(one) for one in found]
    words = find.casefold().split()
    kept = [
        one
        for one in lines
        if all(word in f"{one.title} {one.acts} {one.venue} {one.date}".casefold() for word in words)
    ]
    return html(
        "shows.html",
        ShowsPage(
            frame=frame_of(request, "Shows", str(desk.settings.root)),
            shows=tuple(sorted(kept, key=lambda one: one.sorts, reverse=True)),
            folder=str(desk.settings.root),
            asked=find[:200],
            single=len(found) == 1 and found[0].folder == desk.settings.root,
        ),
    )


def _line(one: Listed) -> ShowLine:
    try:
        read = read_show(one.folder)
    except Fault as fault:
        first = str(fault).split("\n")[0]
        return ShowLine(one.key, one.key, "", "", "", "", first)
    show = read.show
    acts = ", ".join(act.name for act in show.act)
    return ShowLine(one.key, show.title, acts, read.venue.name, day(show.date), show.date.isoformat(), "")


@router.post("/shows")
def new(desk: TheDesk, editor: Editing, title: Annotated[str, Form(max_length=200)] = "") -> RedirectResponse:
    """Make a show to fill in."""
    made = add_show(desk.settings.root, title)
    return RedirectResponse(f"/shows/{made.key}", 303)


@router.get("/shows/{key}")
def show(here: TheShow) -> RedirectResponse:
    """Lead to the input list of a show, or to its line-up while nobody plays yet."""
    read, _ = here.book.documents()
    return here.to("inputs" if read.show.sources else "lineup")
