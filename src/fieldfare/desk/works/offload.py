"""Copying a card to two places, reading back and measuring."""

from __future__ import annotations

from pathlib import Path

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.units.faults import Fault


def copying(book: Book, asks: Asks) -> Work:
    """Make the work of an offload; it goes on where an earlier one was stopped."""
    now = book.open()
    to = asks["to"]
    places = [Path(place) for place in to] if isinstance(to, list) else []

    def work(tell: Tell) -> str:
        from fieldfare.takes.offload.checked import offload_show

        report = offload_show(
            Path(str(asks["card"])),
            places,
            book.folder,
            now.plan,
            float(now.read.venue.mains.frequency_hz),
            same_device=bool(asks["same_device"]),
            tell=lambda at: tell(at.stage, at.done_bytes / max(1, at.total_bytes)),
        )
        if report.complete:
            return "Two copies on different devices were read back equal."
        lacking = sum(len(file.read_back) < len(places) for file in report.file)
        if lacking or not report.file:
            what = f"{lacking} of {len(report.file)} files were not read back equal from every place, as is told below"
            raise Fault(what, "not safe to wipe the card", "put the card back and try again: what was copied is kept")
        return "Every file was read back equal, and the card is not safe to wipe all the same: below stands why."

    return work
