"""The list of shows, and making a new one."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Editing, TheDesk, TheSession
from fieldfare.desk.frame import Frame
from fieldfare.desk.library import Begun, Listed, add_show, find_shows
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
    others: tuple[tuple[str, str, str], ...]  # key, title and venue of shows that a new one can be like


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
            others=tuple((one.key, one.title, one.venue) for one in lines if not one.trouble),
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


Metre = Annotated[float | None, Form(gt=-500, lt=500, allow_inf_nan=False)]


@router.post("/shows")
def new(
    desk: TheDesk,
    editor: Editing,
    date: Annotated[dt.date, Form()],
    title: Annotated[str, Form(max_length=200)] = "",
    venue_like: Annotated[str, Form(max_length=200)] = "",
    kit_of: Annotated[str, Form(max_length=200)] = "",
    venue_name: Annotated[str, Form(max_length=200)] = "",
    room_length_m: Metre = None,
    room_width_m: Metre = None,
    room_height_m: Metre = None,
    stage_width_m: Metre = None,
    stage_depth_m: Metre = None,
    seat_x_m: Metre = None,
    seat_y_m: Metre = None,
) -> RedirectResponse:
    """Make a show; what is not known of its venue can be filled in later, but for the sizes of room and stage."""
    said: dict[tuple[str | int, ...], object | None] = {
        ("name",): venue_name.strip() or None,
        ("room", "length_m"): room_length_m,
        ("room", "width_m"): room_width_m,
        ("room", "height_m"): room_height_m,
        ("stage", "width_m"): stage_width_m,
        ("stage", "depth_m"): stage_depth_m,
        ("recordist", "at"): None if seat_x_m is None or seat_y_m is None else [seat_x_m, seat_y_m, 0.0],
    }
    venue = {place: value for place, value in said.items() if value is not None}
    made = add_show(desk.settings.root, Begun(title, date, venue_like, kit_of, venue))
    return RedirectResponse(f"/shows/{quote(made.key)}", 303)


@router.get("/shows/{key}")
def show(here: TheShow) -> RedirectResponse:
    """Lead to the input list of a show, or to its line-up while nobody plays yet."""
    read, _ = here.book.documents()
    return here.to("inputs" if read.show.sources else "lineup")
