"""The events of the night: what devices send, each once, and what others have said since."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal
from uuid import uuid4

from fastapi import APIRouter, Form, Query
from fastapi.responses import RedirectResponse
from pydantic import AwareDatetime, Field

from fieldfare.desk.desk import Ticking
from fieldfare.desk.pages.here import TheShow
from fieldfare.show.record import Name, Record
from fieldfare.store.events import Event, EventKind, Kept
from fieldfare.units.faults import Fault
from fieldfare.units.text import nearest

router = APIRouter(prefix="/shows/{key}")
MOST_EVENTS = 500


class SentEvent(Record):
    """An event as a device sends it."""

    id: Name
    device: Name
    kind: EventKind
    about: str = Field(default="", max_length=200)
    text: str = Field(default="", max_length=1000)
    at: AwareDatetime


class Sent(Record):
    """What a device sends once it is in reach again."""

    event: tuple[SentEvent, ...] = Field(max_length=MOST_EVENTS)


class Answer(Record):
    """What became of it, and what other devices have said since."""

    added: tuple[str, ...] = ()
    known: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()


class News(Record):
    """What was said after an event."""

    latest: int
    event: tuple[Event, ...]


@router.post("/events")
def take_events(here: TheShow, ticker: Ticking, sent: Sent) -> Answer:
    """Keep the events of a device, each once, however often it sends them."""
    read, _ = here.book.documents()
    some = tuple(Event(show=read.show.title, **one.model_dump()) for one in sent.event)
    done = here.book.add_events(some)
    return Answer(added=done.added, known=done.known, refused=done.refused)


@router.get("/events")
def news(here: TheShow, after: Annotated[int, Query(ge=0, le=2**53)] = 0) -> News:
    """Tell what was said after an event, by its number."""
    kept = here.book.events(after)
    return News(latest=max(latest_of(kept), after), event=tuple(one.event for one in kept))


@router.post("/events/one")
def take_one(
    here: TheShow,
    ticker: Ticking,
    kind: Annotated[EventKind, Form()],
    about: Annotated[str, Form(max_length=200)] = "",
    text: Annotated[str, Form(max_length=1000)] = "",
    to: Annotated[Literal["check", "count", "count?way=back", "marks"], Form()] = "marks",
    must_know: Annotated[str, Form(max_length=3)] = "",
) -> RedirectResponse:
    """Keep one event from a form, where the page's own script does not run."""
    if must_know:
        now = here.book.open()
        about = _known_tag(about, [tag for line in now.plan.pack for tag in line.tags])
    here.book.add_events((event_now(here, ticker.name, kind, about.strip(), text.strip()),))
    return here.to(to)


def _known_tag(said: str, tags: list[str]) -> str:
    by_fold = {tag.casefold(): tag for tag in tags}
    found = by_fold.get(said.strip().casefold())
    if found is None:
        near = nearest(said.strip(), tags)
        hint = f"did you mean {near}?" if near else "ask whose it is before it goes into the van"
        raise Fault(f"{said.strip()[:60] or 'nothing'!r} is not on the pack list", "counting", hint)
    return found


def event_now(here: TheShow, device: str, kind: EventKind, about: str, text: str) -> Event:
    """Make an event of this moment, by the clock of the laptop."""
    read, _ = here.book.documents()
    at = dt.datetime.now(dt.UTC)
    return Event(id=str(uuid4()), device=device, show=read.show.title, kind=kind, about=about, text=text, at=at)


def latest_of(kept: tuple[Kept, ...]) -> int:
    """Return the number of the latest event that has arrived; 0 where none has."""
    return max((one.number for one in kept), default=0)
