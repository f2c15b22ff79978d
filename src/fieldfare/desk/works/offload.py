"""Copying a card to two places, reading back and measuring."""

from __future__ import annotations

from pathlib import Path

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.units.text import listed


def copying(book: Book, asks: Asks) -> Work:
    """Make the work of an offload; it goes on where an earlier one was stopped."""
    now = book.open()
    places = asks["to"]

    def work(tell: Tell) -> str:
        from fieldfare.takes.offload.checked import offload_show

        report = offload_show(
            Path(str(asks["card"])),
            [Path(place) for place in places] if isinstance(places, list) else [],
            book.folder,
            now.plan,
            float(now.read.venue.mains.frequency_hz),
            same_device=bool(asks["same_device"]),
            tell=lambda at: tell(at.stage, at.done_bytes / max(1, at.total_bytes)),
        )
        if report.complete:
            return "Two copies on different devices were read back equal."
        return f"Not safe to wipe the card: {listed(report.missing)}."

    return work
