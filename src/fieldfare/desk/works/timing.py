"""Delays and polarity between tracks: measured, offered, and written into new files where a person accepts them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.desk.recordings import axes_of
from fieldfare.desk.works.parts import Parts
from fieldfare.show.alignment import Alignment, ShiftList, TakeAlignment
from fieldfare.takes.alignment.kept import keep_alignment, kept_alignment
from fieldfare.takes.axis import Axis
from fieldfare.takes.stamps import stamp_of_take
from fieldfare.units.faults import Fault


def measuring(book: Book, asks: Asks) -> Work:
    """Make the work of measuring every take; a take that was measured before the work was cut off is not again."""
    axes, now = axes_of(book), book.open()
    parts, warm = Parts(book.folder, "timing"), now.read.venue.temperature_c.known

    def measured(axis: Axis, tell: Callable[[float], None]) -> TakeAlignment:
        from fieldfare.takes.alignment.align import align

        stamp = stamp_of_take(axis, warm)
        if (kept := parts.find(axis.name, stamp)) is not None:
            return TakeAlignment.model_validate_json(kept)
        found = align(axis, warm, tell)
        parts.keep(axis.name, stamp, found.model_dump_json().encode())
        return found

    def work(tell: Tell) -> str:
        takes = tuple(
            measured(axis, lambda share, before=number: tell("listening", (before + share) / len(axes)))  # type: ignore[misc]
            for number, axis in enumerate(axes)
        )
        keep_alignment(book.folder, Alignment(show=now.plan.title, take=takes))
        parts.let_go()
        count = sum(len(one.finding) for one in takes)
        return (
            f"{count} {'thing' if count == 1 else 'things'} to look at."
            if count
            else "Nothing contradicts the drawing."
        )

    return work


def shifting(book: Book, asks: Asks) -> Work:
    """Make the work of writing the accepted shifts of a take into new files.

    Raises
    ------
    Fault
        There is no such take.
    """
    measured = kept_alignment(book.folder)
    take = next((one for one in (measured.take if measured else ()) if one.take == asks.get("take")), None)
    axis = next((one for one in axes_of(book) if one.name == asks.get("take")), None)
    if take is None or axis is None:
        raise Fault("there is no such take", str(asks.get("take", ""))[:80], "measure the takes first")

    def work(tell: Tell) -> str:
        from fieldfare.takes.alignment.apply import apply_shifts

        wanted = ShiftList(take=take.take, rate_hz=take.rate_hz, shift=take.shift)
        report = apply_shifts(axis, wanted, Path(str(asks["folder"])), lambda share: tell("writing", share))
        return f"{len(report.file)} new files in {report.folder}, each read back; the recordings were only read."

    return work
