"""The line check, phone first: one line at a time, from either end, and the swap to the spare."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal
from urllib.parse import quote

from fastapi import APIRouter, Query
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.book import Open
from fieldfare.desk.desk import Editing
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.events import event_now, latest_of
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.inputs import Station, stations
from fieldfare.desk.render import html
from fieldfare.plan.changes import Change, changes
from fieldfare.plan.hold import without_unit
from fieldfare.sheets.strips import Strip, strip_of
from fieldfare.sheets.wording import where_words
from fieldfare.show.plan import PlannedInput
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
    has_unit: bool


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
    """What a swap to the spare would change."""

    frame: Frame
    id: str
    label: str
    failed: str
    changes: tuple[Change, ...]


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
        has_unit=row.unit is not None,
    )


@router.get("/check/{id}/swap")
def look_at_swap(here: TheShow, id: str) -> HTMLResponse:
    """Show what would change if the mic or DI of a line were taken out of use here."""
    now = here.book.open()
    row = _row(now, id)
    _, plan = here.book.tried(without_unit(now.read.show, now.plan, id))
    failed = f"{row.unit.tag}, {row.unit.item}" if row.unit else ""
    frame = here.frame("check", "line check", now)
    return html("swap.html", SwapPage(frame, id, f"{row.number} {row.label}", failed, changes(now.plan, plan)))


@router.post("/check/{id}/swap")
def swap(here: TheShow, editor: Editing, id: str) -> RedirectResponse:
    """Swap to the spare; everything else stays where it is."""
    now = here.book.open()
    row = _row(now, id)
    here.book.save(f"{row.label}: swapped to the spare.", show=without_unit(now.read.show, now.plan, id))
    event = event_now(here, editor.name, "open", id, f"swapped, {row.unit.tag if row.unit else ''} is out of use here")
    here.book.add_events((event,))
    return here.to(f"check?line={quote(id)}")


def _row(now: Open, id: str) -> PlannedInput:
    row = next((one for one in now.plan.input if one.id == id), None)
    if row is None or row.unit is None:
        raise Fault("there is no mic or DI of ours on that line", id[:80], "the input list says what each line uses")
    return row
