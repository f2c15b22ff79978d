"""The stage as a drawing to drag on: runs, patterns, spill and distances follow."""

from __future__ import annotations

import datetime as dt
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass
from threading import Lock
from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, RedirectResponse
from markupsafe import Markup

from fieldfare.desk.book import Last
from fieldfare.desk.desk import Editing
from fieldfare.desk.edits import Movable, place
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html, svg
from fieldfare.plan.recipes import show_recipes
from fieldfare.sheets.drawing.svg import panels_svg
from fieldfare.sheets.drawing.view import View
from fieldfare.sheets.head import Setting
from fieldfare.sheets.stage import stage_drawing
from fieldfare.sheets.strips import Strip
from fieldfare.show.plan import Plan
from fieldfare.show.show import Show
from fieldfare.show.toml import ShowFolder
from fieldfare.store.undo import Steps
from fieldfare.units.text import figure

router = APIRouter(prefix="/shows/{key}")
AREA_MM = (0.0, 0.0, 236.0, 168.0)
FARTHEST_M = 500.0
WORST = 8  # rows of spill that are shown
MOST_KEPT = 12  # drawings

Metre = Annotated[float, Form(ge=-FARTHEST_M, le=FARTHEST_M, allow_inf_nan=False)]
AskedMetre = Annotated[float, Query(ge=-FARTHEST_M, le=FARTHEST_M, allow_inf_nan=False)]


@dataclass(frozen=True, slots=True)
class Handle:
    """Something that can be moved."""

    what: Movable
    name: str
    at_mm: tuple[float, float]
    at_m: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SpillLine:
    """How a source is heard where it is not meant to be."""

    source: str
    into: str
    level: str
    distance: str
    delay: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """The drawing with its handles."""

    svg: Markup
    width_mm: float
    height_mm: float
    scale: int
    mm_per_m: float
    origin_mm: tuple[float, float]
    handles: tuple[Handle, ...]
    key: tuple[Strip, ...]
    spill: tuple[SpillLine, ...]


@dataclass(frozen=True, slots=True)
class StagePage:
    """The stage."""

    frame: Frame
    drawn: Drawn
    last: Last
    steps: Steps


@dataclass(frozen=True, slots=True)
class StagePart:
    """The drawing alone, while something is dragged."""

    frame: Frame
    drawn: Drawn


@router.get("/stage")
def stage(here: TheShow) -> HTMLResponse:
    """Show the drawing."""
    now = here.book.open()
    return html(
        "stage.html",
        StagePage(
            frame=here.frame("stage", "stage", now),
            drawn=_drawn(now.read, now.plan),
            last=here.book.last if here.book.last.digest == now.read.digest else Last(),
            steps=here.book.steps(),
        ),
    )


@router.get("/stage/try")
def try_place(
    here: TheShow,
    what: Annotated[Movable, Query()],
    name: Annotated[str, Query(max_length=200)],
    x: AskedMetre,
    y: AskedMetre,
) -> HTMLResponse:
    """Show what the stage would be with one thing elsewhere; nothing is kept."""
    now = here.book.open()
    read, plan = here.book.tried(place(now.read.show, what, name, (x, y)))
    return html("stage_drawing.html", StagePart(here.frame("stage", "stage", now), _drawn(read, plan)))


@router.post("/stage/place")
def put(
    here: TheShow,
    editor: Editing,
    what: Annotated[Movable, Form()],
    name: Annotated[str, Form(max_length=200)],
    x: Metre,
    y: Metre,
) -> RedirectResponse:
    """Put something at another place."""
    read, _ = here.book.documents()
    says = f"{name}: {figure(x, 1)} m across, {figure(y, 1)} m upstage."
    here.book.save(says, show=place(read.show, what, name, (x, y)))
    return here.to("stage")


_LATEST: OrderedDict[int, tuple[Plan, Drawn]] = OrderedDict()  # by identity of the plan, which is kept with it
_DRAWING = Lock()


def _drawn(read: ShowFolder, plan: Plan) -> Drawn:
    """Draw the stage of a plan, once: what is dropped where it was last tried has its drawing already."""
    with _DRAWING:
        if id(plan) not in _LATEST:
            _LATEST[id(plan)] = plan, _draw(read, plan)
            while len(_LATEST) > MOST_KEPT:
                _LATEST.popitem(last=False)
        return _LATEST[id(plan)][1]


def _draw(read: ShowFolder, plan: Plan) -> Drawn:
    setting = Setting(plan, read.show, read.venue, "a4", "", dt.datetime.now())  # neither stands on this drawing
    drawing = stage_drawing(setting, AREA_MM, show_recipes(read.folder), overview=False)
    view = drawing.layout.main
    return Drawn(
        svg=svg(panels_svg(drawing.panels)),
        width_mm=AREA_MM[2],
        height_mm=AREA_MM[3],
        scale=view.scale,
        mm_per_m=view.mm_per_m,
        origin_mm=view.origin,
        handles=tuple(_handles(read.show, plan, view)),
        key=drawing.key,
        spill=tuple(_spill(plan)),
    )


def _handles(show: Show, plan: Plan, view: View) -> Iterator[Handle]:
    for source in show.sources:
        yield Handle("source", source.name, view.page(source.at), source.at)
    for wedge in show.wedge:
        yield Handle("wedge", wedge.name, view.page(wedge.at), wedge.at)
    for box in plan.box:
        yield Handle("box", box.tag, view.page(box.at), box.at)


def _spill(plan: Plan) -> Iterator[SpillLine]:
    """The loudest guests: how near each comes to the sound that the mic is meant for."""
    rows = {row.id: row for row in plan.input}
    own = {one.input: one.level_db for one in plan.spill if one.input in rows and one.source == rows[one.input].source}
    guests = [
        (one.level_db - own[one.input], one)
        for one in plan.spill
        if one.input in own and one.source != rows[one.input].source
    ]
    for below, one in sorted(guests, key=lambda pair: (-pair[0], pair[1].input, pair[1].source))[:WORST]:
        row = rows[one.input]
        yield SpillLine(
            one.source,
            f"{row.number} {row.label}",
            figure(below, sign=True),
            figure(one.distance_m, 1),
            figure(one.delay_ms, 1),
        )
