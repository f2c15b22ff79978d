"""Events: what happened on the night, added by any device in any order, each of them once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import AwareDatetime, Field
from sqlalchemy import Connection, RowMapping, select

from fieldfare.show.record import Name, Record
from fieldfare.store.store import Store, reading, writing
from fieldfare.store.tables import EVENTS

EventKind = Literal[
    "packed", "back", "checked", "faulty", "open", "marked", "note", "answered", "handed over", "fixity"
]


class Event(Record):
    """Something that happened, as the device that saw it says."""

    id: Name = Field(description="Given by the device, unlike any other: a random UUID serves")
    device: Name
    show: Name = Field(description="Title of the show")
    kind: EventKind = Field(description="open: what was said of it before no longer holds")
    about: str = Field(default="", description="Tag of the unit or id of the input; blank where it is about the show")
    text: str = ""
    at: AwareDatetime = Field(description="When it happened, by the device's clock")


@dataclass(frozen=True, slots=True)
class Kept:
    """An event as it is kept."""

    event: Event
    number: int  # order of arrival; it only grows, so that a device can ask for what came after
    received_at: dt.datetime  # UTC


@dataclass(frozen=True, slots=True)
class Received:
    """What became of the events that a device sent."""

    added: tuple[str, ...]  # ids that are new
    known: tuple[str, ...]  # ids that had arrived before, alike
    refused: tuple[str, ...]  # ids under which something else is kept; that stays


def add_events(store: Store, events: Iterable[Event]) -> Received:
    """Add events; those that have arrived before are known and not added again.

    Raises
    ------
    NotDone
        The database refused; none of them was added.
    """
    added, known, refused = [], [], []
    now = dt.datetime.now(dt.UTC)
    with writing(store) as connection:
        for event in events:
            before = _kept(connection, event.id)
            if before is None:
                connection.execute(EVENTS.insert().values(_row(event) | {"received_at": now}))
                added.append(event.id)
            elif before == event:
                known.append(event.id)
            else:
                refused.append(event.id)
    return Received(tuple(added), tuple(known), tuple(refused))


def events(store: Store, show: str, after: int = 0) -> tuple[Kept, ...]:
    """Return the events of a show in the order in which they happened.

    Parameters
    ----------
    store
        The open store.
    show
        Title of the show.
    after
        Only those that arrived later than the event of this number.
    """
    wanted = (EVENTS.c.show == show) & (EVENTS.c.number > after)
    with reading(store) as connection:
        rows = connection.execute(select(EVENTS).where(wanted).order_by(EVENTS.c.at, EVENTS.c.number)).mappings().all()
    return tuple(Kept(_event(row), row["number"], row["received_at"]) for row in rows)


def _kept(connection: Connection, of_id: str) -> Event | None:
    row = connection.execute(select(EVENTS).where(EVENTS.c.id == of_id)).mappings().first()
    return None if row is None else _event(row)


def _row(event: Event) -> dict[str, Any]:
    return event.model_dump()


def _event(row: RowMapping) -> Event:
    return Event.model_validate({name: row[name] for name in Event.model_fields})
