"""The line check, phone first: one line at a time, from either end, and the swap to the spare."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal
from urllib.parse import quote

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.book import Open
from fieldfare.desk.desk import Editing
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.events import event_now, latest_of
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.inputs import Station, stations
from fieldfare.desk.render import html
from fieldfare.plan.make import Documents
from fieldfare.plan.recipes import show_recipes
from fieldfare.plan.whatif.replan import Replanned, replan
from fieldfare.sheets.strips import Strip, strip_of
from fieldfare.sheets.wording import where_words
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.show.whatif import Lost, Move
from fieldfare.store.standing import Standing, standing
from fieldfare.units.faults import Fault

router = APIRouter(prefix="/shows/{key}")


@dataclass(frozen=True, slots=True)
class LinePart:
    """One line of the check."""

    id: str
    number: int
    label: str
    where: str
    strip: Strip
    stations: tuple[Station, ...]
    state: str
    text: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckPage:
    """The line check."""

    frame: Frame
    lines: tuple[LinePart, ...]
    current: str  # id of the line that is shown first
    counts: str
    order: str
    latest: int


@dataclass(frozen=True, slots=True)
class SwapPage:
    """What doing without a part of a line would change."""

    frame: Frame
    id: str
    label: str
    parts: tuple[tuple[str, str], ...]  # what on the line may have failed: how it is called, and what it is
    dead: str
    moves: tuple[Move, ...]
    lost: tuple[Lost, ...]
    proven: bool


@router.get("/check")
def check(
    here: TheShow, line: Annotated[str, Query(max_length=200)] = "", order: Literal["channel", "stage"] = "channel"
) -> HTMLResponse:
    """Show the line check; from the recorder's end in the order of channels, or from the stage by box."""
    now = here.book.open()
    kept = here.book.events()
    stands = standing(one.event for one in kept)
    rows = sorted(now.plan.input, key=lambda row: row.channel if order == "channel" else 0)
    if order == "stage":
        rows = sorted(rows, key=lambda row: (row.box, row.socket))
    lines = tuple(_line(row, now, stands.get(row.id, Standing())) for row in rows)
    todo = [one for one in lines if one.state not in ("checked", "faulty")]
    chosen = next((one.id for one in lines if line in (one.id, str(one.number))), "") if line else ""
    return html(
        "check.html",
        CheckPage(
            frame=here.frame("check", "line check", now),
            lines=lines,
            current=chosen or next((one.id for one in (*todo, *lines)), ""),
            counts=_counts(lines),
            order=order,
            latest=latest_of(kept),
        ),
    )


def _counts(lines: tuple[LinePart, ...]) -> str:
    states = [one.state for one in lines]
    good, bad = states.count("checked"), states.count("faulty")
    return f"{good} checked, {bad} faulty, {len(lines) - good - bad} to go"


def _line(row: PlannedInput, now: Open, stands: Standing) -> LinePart:
    return LinePart(
        id=row.id,
        number=row.number,
        label=row.label,
        where=where_words(row.at[:2], now.read.venue.stage),
        strip=strip_of(row),
        stations=tuple(stations(row, tuple(hit for hit in now.plan.hit if hit.input == row.id))),
        state=stands.state,
        text=stands.text if stands.state == "faulty" else "",
        notes=stands.notes,
    )


@router.get("/check/{id}/swap")
def look_at_swap(here: TheShow, id: str, dead: Annotated[str, Query(max_length=200)] = "") -> HTMLResponse:
    """Show the fewest changes that do without what has failed on a line: its mic or DI unless another part is named."""
    now = here.book.open()
    row = _row(now, id)
    parts = tuple(_parts(row, now.plan))
    chosen = dead if dead in dict(parts) else next(iter(dict(parts)), "")
    again = _without(here, now, chosen)
    return html(
        "swap.html",
        SwapPage(
            frame=here.frame("check", "line check", now),
            id=id,
            label=f"{row.number} {row.label}",
            parts=parts,
            dead=chosen,
            moves=again.moves,
            lost=again.lost,
            proven=again.proven,
        ),
    )


@router.post("/check/{id}/swap")
def swap(here: TheShow, editor: Editing, id: str, dead: Annotated[str, Form(max_length=200)] = "") -> RedirectResponse:
    """Do without what has failed; everything that need not move stays where it is."""
    now = here.book.open()
    row = _row(now, id)
    parts = dict(_parts(row, now.plan))
    if dead not in parts:
        raise Fault("that is not on this line", dead[:80] or "the swap", "choose one of its parts")
    again = _without(here, now, dead)
    never = tuple(sorted({dead, *_gone(now)} & {tag for thing in now.read.kit.things for tag in thing.tags}))
    pins = tuple(
        pin.model_copy(update={"never": tuple(dict.fromkeys((*pin.never, *never)))}) if pin.input == id else pin
        for pin in again.show.pin
    )
    here.book.save(f"{row.label}: without {dead}.", show=again.show.model_copy(update={"pin": pins}))
    event = event_now(here, editor.name, "open", id, f"swapped, {dead} is out of use here")
    here.book.add_events((event,))
    return here.to(f"check?line={quote(id)}")


def _without(here: TheShow, now: Open, dead: str) -> Replanned:
    read = now.read
    of = Documents(read.show, read.venue, read.kit, show_recipes(here.book.folder))
    return replan(of, now.plan, (dead, *_gone(now)) if dead else ())


def _gone(now: Open) -> tuple[str, ...]:
    """What was taken out of use on this show before."""
    known = {tag for thing in now.read.kit.things for tag in thing.good_tags}
    used = {row.unit.tag for row in now.plan.input if row.unit}
    return tuple(sorted({tag for pin in now.read.show.pin for tag in pin.never if tag in known} - used))


def _parts(row: PlannedInput, plan: Plan) -> Iterator[tuple[str, str]]:
    """What may have failed on a line, as it is called and what it is."""
    if row.unit:
        yield row.unit.tag, row.unit.item
    if row.stand:
        yield row.stand.tag, row.stand.item
    for lead in (*row.lead, *row.cable):
        yield lead.tag, lead.item
    for box in plan.box:
        if box.tag == row.box and not box.trunk:
            yield f"{row.box} socket {row.socket}", f"socket {row.socket} of {box.item}"
    if row.trunk_line:
        yield f"line {row.trunk_line}", "of the trunk"
    yield f"channel {row.channel}", "of the recorder"


def _row(now: Open, id: str) -> PlannedInput:
    row = next((one for one in now.plan.input if one.id == id), None)
    if row is None:
        raise Fault("there is no such line", id[:80], "the input list has them all")
    return row
