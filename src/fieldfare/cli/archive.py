"""fieldfare archive: what is kept where, and whether it still is."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.options import ShowPath
from fieldfare.cli.say import Status, leave, say, show_json
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.show.archive import ArchiveReport

app = typer.Typer(help="What is kept where, and whether it still is.", no_args_is_help=True, rich_markup_mode=None)


@app.command()
def add(
    show: ShowPath,
    place: Annotated[Path, typer.Argument(help="A folder that holds all that is kept of it.")],
    label: Annotated[str, typer.Option(help="What is written on its disc, and where that is kept.")] = "",
    every_days: Annotated[
        int | None, typer.Option(min=1, max=3650, help="How often every byte is read again. [180]")
    ] = None,
) -> None:
    """Add a place: the first says what there is to keep, every other must hold the same, byte for byte."""
    from fieldfare.cli.progress import Bar
    from fieldfare.handover.keeping import add_place
    from fieldfare.show.archive import ArchiveBook, read_archive, write_archive
    from fieldfare.show.toml import read_show
    from fieldfare.takes.offload.kept import kept_report

    read = read_show(show)
    book = read_archive(read.folder) or ArchiveBook(show=read.show.title)
    if every_days:
        book = book.model_copy(update={"every_days": every_days})
    with Bar() as bar:
        book = add_place(
            book,
            place,
            label,
            dt.date.today(),
            kept_report(read.folder),
            lambda what, share: bar.show(what, share, 1.0),
        )
    write_archive(read.folder, book)
    size = sum(one.bytes for one in book.file)
    say(f"{place}: {len(book.file)} files, {size / 1e9:.2f} GB, every byte read. Place {len(book.place)}.")
    if len(book.place) < 2:
        say("One place is not enough: add another, on a different device.")
    leave(Status.DONE if len(book.place) > 1 else Status.LOOK)


@app.command()
def check(
    folder: Annotated[Path, typer.Argument(help="A show's folder, or a folder of shows.")],
    every: Annotated[bool, typer.Option("--all", help="Read every place that is there, due or not.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Write the reports as JSON.")] = False,
) -> None:
    """Read what is due, and say what drifted: missing, changed, unreadable, only one copy, due."""
    from fieldfare.cli.progress import Bar
    from fieldfare.handover.keeping import check_show
    from fieldfare.show.archive import ARCHIVE_FILE, read_archive, write_archive

    books = [path.parent for path in sorted((folder.parent if folder.is_file() else folder).rglob(ARCHIVE_FILE))]
    if not books:
        raise Fault("nothing was put down as kept here", str(folder), "add places: fieldfare archive add SHOW PLACE")
    reports = []
    for home in books:
        book = read_archive(home)
        if book is None:
            continue
        with Bar(quiet=as_json) as bar:
            after, report = check_show(
                book, home, dt.date.today(), lambda what, share: bar.show(what, share, 1.0), every=every
            )
        if after != book:
            write_archive(home, after)
            _log(home, report)
        reports.append(report)
    if as_json:
        show_json({"archive": [one.model_dump(mode="json") for one in reports]})
    else:
        for report in reports:
            _tell(report)
    leave(Status.LOOK if any(one.says for one in reports) else Status.DONE)


def _log(home: Path, report: ArchiveReport) -> None:
    """Keep in the show's store that it was checked, and what was found."""
    from uuid import uuid4

    from fieldfare.cli.planned import show_store
    from fieldfare.store.events import Event, add_events

    found = "; ".join(report.says) or f"{report.copies} copies whole"
    event = Event(
        id=str(uuid4()),
        device="fieldfare archive",
        show=report.show,
        kind="fixity",
        text=found,
        at=dt.datetime.now(dt.UTC),
    )
    with show_store(home) as store:
        add_events(store, [event])


def _tell(report: ArchiveReport) -> None:
    count = "1 copy counts" if report.copies == 1 else f"{report.copies} copies count"
    say(f"{report.show}: {report.files} files, {report.bytes / 1e9:.2f} GB; {count}.")
    for place in report.place:
        name = f"{place.folder} ({place.label})" if place.label else place.folder
        state = {"whole": "whole", "drifted": "drifted", "away": "not connected"}[place.state]
        read = "read now" if place.read_now else f"last whole {place.last_whole or 'never'}"
        say(f"{state}, {read}, due {place.due}: {name}", indent=1, hang=2)
    for one in report.says:
        say(one, indent=1, hang=2)
