"""The day with what is next on top, and the marks of the night with their time of day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.events import latest_of
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html
from fieldfare.show.plan import Task
from fieldfare.store.events import Event
from fieldfare.store.standing import Standing, standing

router = APIRouter(prefix="/shows/{key}")
LATEST_MARKS = 60


@dataclass(frozen=True, slots=True)
class MarkLine:
    """One mark, or another word of the night."""

    clock: str
    kind: str
    about: str
    text: str
    device: str


@dataclass(frozen=True, slots=True)
class MarksPage:
    """Marks with the time of day."""

    frame: Frame
    songs: tuple[str, ...]
    next_song: str
    marks: tuple[MarkLine, ...]
    latest: int


@dataclass(frozen=True, slots=True)
class Doing:
    """One task of the day."""

    clock: str
    name: str
    state: str  # "over", "now", "next" or "later"
    slack: str


@dataclass(frozen=True, slots=True)
class NowPage:
    """The day, with what is next on top."""

    frame: Frame
    clock: str
    next: str
    next_more: str
    to: str
    do: str
    counts: tuple[tuple[str, str], ...]
    tasks: tuple[Doing, ...]


@router.get("/marks")
def marks(here: TheShow) -> HTMLResponse:
    """Show the marks of the night, the latest first."""
    now = here.book.open()
    kept = here.book.events()
    songs = tuple(song for one in now.read.show.set for song in one.songs)
    begun = {one.event.text.removeprefix("song: ") for one in kept if one.event.text.startswith("song: ")}
    zone = ZoneInfo(now.read.venue.zone)
    labels = {row.id: row.label for row in now.plan.input}
    lines = [_mark(one.event, zone, labels) for one in kept if one.event.kind in ("marked", "note", "faulty")]
    return html(
        "marks.html",
        MarksPage(
            frame=here.frame("marks", "marks", now),
            songs=songs,
            next_song=next((song for song in songs if song not in begun), ""),
            marks=tuple(reversed(lines[-LATEST_MARKS:])),
            latest=latest_of(kept),
        ),
    )


def _mark(event: Event, zone: ZoneInfo, labels: dict[str, str]) -> MarkLine:
    about = labels.get(event.about, event.about)
    return MarkLine(f"{event.at.astimezone(zone):%H:%M:%S}", event.kind, about, event.text, event.device)


@router.get("/now")
def now_page(here: TheShow) -> HTMLResponse:
    """Show the day with what is next on top."""
    now = here.book.open()
    kept = here.book.events()
    stands = standing(one.event for one in kept)
    clock = dt.datetime.now(ZoneInfo(now.read.venue.zone)).replace(tzinfo=None)
    tasks = tuple(_tasks(now.plan.day, clock))
    upcoming = next((one for one in tasks if one.state in ("now", "next")), None)
    lines = [stands.get(row.id, Standing()).state for row in now.plan.input]
    tags = [tag for line in now.plan.pack for tag in line.tags]
    packed = sum(stands.get(tag, Standing()).state in ("packed", "back") for tag in tags)
    back = sum(stands.get(tag, Standing()).state == "back" for tag in tags)
    checked = lines.count("checked")
    to, do = _where_next(packed, len(tags), checked, len(lines))
    return html(
        "now.html",
        NowPage(
            frame=here.frame("now", "now", now),
            clock=f"{clock:%H:%M}",
            next=upcoming.name if upcoming else "Nothing is left of the day",
            next_more=f"{upcoming.clock}{', ' + upcoming.slack if upcoming.slack else ''}" if upcoming else "",
            to=f"{here.frame('now', '', now).base}/{to}",
            do=do,
            counts=(
                (f"{packed} of {len(tags)}", "units counted out"),
                (f"{checked} of {len(lines)}", "lines checked"),
                (str(lines.count("faulty")), "lines faulty"),
                (f"{back} of {len(tags)}", "units counted back"),
            ),
            tasks=tasks,
        ),
    )


def _where_next(packed: int, units: int, checked: int, lines: int) -> tuple[str, str]:
    if packed < units:
        return "count", "Count out"
    if checked < lines:
        return "check", "Go on with the line check"
    return "marks", "Mark the night"


def _tasks(day: tuple[Task, ...], clock: dt.datetime) -> Iterator[Doing]:
    nothing_yet = True
    for task in day:
        begins, ends = task.begins, task.ends
        if begins is None or ends is None:
            yield Doing("", task.name, "later", "")
            continue
        over = ends <= clock
        state = "over" if over else "now" if begins <= clock else "next" if nothing_yet else "later"
        nothing_yet = nothing_yet and (over or state == "now")
        slack = "no time to lose" if task.critical and task.people else ""
        span = f"{begins:%H:%M} to {ends:%H:%M}" if ends > begins else f"{begins:%H:%M}"
        yield Doing(span, task.name, state, slack)
