"""Marks that say that a song begins are taken from the log by the venue's clock; others are not."""

from __future__ import annotations

import datetime as dt

from fieldfare.show.night_marks import ClockMark
from fieldfare.store.events import Event, EventKind
from fieldfare.store.night import marks_of


def _event(kind: EventKind, text: str, second: int) -> Event:
    at = dt.datetime(2026, 12, 4, 19, 45, second, tzinfo=dt.UTC)
    return Event(id=f"{kind}{second}", device="phone", show="A night", kind=kind, text=text, at=at)


def test_only_marks_of_songs_count_and_by_the_venues_clock() -> None:
    events = [
        _event("marked", "song: Nine Oars", 3),
        _event("marked", "song:", 9),
        _event("marked", "trouble", 12),
        _event("note", "song: no mark", 15),
    ]
    at_s = 20 * 3600 + 45 * 60.0
    assert marks_of(events, "Europe/Berlin") == (
        ClockMark(at_s=at_s + 3, text="Nine Oars"),
        ClockMark(at_s=at_s + 9),
    )
