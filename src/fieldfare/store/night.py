"""The marks of a night out of the log of events."""

from __future__ import annotations

from collections.abc import Iterable
from zoneinfo import ZoneInfo

from fieldfare.show.night_marks import ClockMark
from fieldfare.store.events import Event

SONG = "song: "  # before the title, where a mark says that a song begins


def marks_of(events: Iterable[Event], zone: str) -> tuple[ClockMark, ...]:
    """Take out of events the marks that say that a song begins.

    Parameters
    ----------
    events
        Of one show.
    zone
        Of the venue, whose time of day the recorder's clock keeps.
    """
    marks = []
    for event in events:
        if event.kind == "marked" and event.text.startswith(SONG.strip()):
            at = event.at.astimezone(ZoneInfo(zone))
            at_s = 3600.0 * at.hour + 60 * at.minute + at.second + at.microsecond / 1e6
            marks.append(ClockMark(at_s=at_s, text=event.text.removeprefix(SONG.strip()).strip()))
    return tuple(marks)
