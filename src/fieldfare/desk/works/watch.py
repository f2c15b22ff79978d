"""Watching the folder that the recorder writes into; what is wrong becomes a word of the night on every phone."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from uuid import uuid4

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.store.events import Event

DEVICE = "the watch"
EVERY_S = 2.0


def watching(book: Book, asks: Asks) -> Work:
    """Make the work of watching; it ends when it is stopped."""
    now = book.open()

    def work(tell: Tell) -> str:
        from fieldfare.takes.watch import Reader, Watching, begin, wanted_of

        reader = Reader(Path(str(asks["folder"])), now.plan.input)
        watching = Watching(
            reader, begin(wanted_of(now.plan)), every_s=EVERY_S, wait=lambda seconds: _wait(seconds, tell)
        )
        for event in watching:
            tell(event.says, 0.0)
            if event.severity in ("stop", "warn"):
                said = f"{event.says}; {event.remedy}" if event.remedy else event.says
                about = next((row.id for row in now.plan.input if event.track and row.label == event.track), "")
                at = dt.datetime.now(dt.UTC)
                told = Event(
                    id=str(uuid4()), device=DEVICE, show=now.read.show.title, kind="note", about=about, text=said, at=at
                )
                book.add_events((told,))
        return "The watch has ended."

    return work


def _wait(seconds: float, tell: Tell) -> None:
    """Wait between two looks, so that a watch that is stopped stops at once."""
    import time

    until = time.monotonic() + seconds
    while (left := until - time.monotonic()) > 0:
        tell("", 0.0)
        time.sleep(min(0.2, left))
