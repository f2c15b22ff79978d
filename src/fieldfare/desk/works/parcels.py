"""Parcels: what leaves the house, for whom, once everybody has agreed."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import get_args
from uuid import uuid4
from zoneinfo import ZoneInfo

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.desk.recordings import axes_of
from fieldfare.desk.works.songs import kept_songs
from fieldfare.handover.bag import Sealed, sealed_before
from fieldfare.handover.copies import files_in
from fieldfare.handover.parcel import EDITS, PICTURES, SOUNDS, Contents, parcel_folder, refusals
from fieldfare.handover.receivers import receiver
from fieldfare.handover.validate import check_bag
from fieldfare.plan.recipes import show_recipes
from fieldfare.sheets.head import Paper
from fieldfare.sheets.language import LANGUAGES, Language
from fieldfare.show.consent import read_consents
from fieldfare.store.events import Event
from fieldfare.takes.alignment.kept import kept_alignment
from fieldfare.takes.offload.kept import kept_report
from fieldfare.units.faults import BadDocuments

FOLDER = "parcels"


def contents_of(book: Book, *, with_tracks: bool) -> Contents:
    """Gather all that a parcel may be made of.

    Raises
    ------
    Fault
        The tracks are wanted and the disc with them is not connected.
    """
    now = book.open()
    report = kept_report(book.folder)
    return Contents(
        folder=book.folder,
        plan=now.plan,
        show=now.read.show,
        venue=now.read.venue,
        kit=now.read.kit,
        recipes=show_recipes(book.folder),
        revision=now.revision,
        consents=read_consents(book.folder),
        axes=axes_of(book) if with_tracks and report else (),
        takes=report.take if report else (),
        songs=kept_songs(book.folder),
        measured=kept_alignment(book.folder),
        roughs=files_in(book.folder / "roughs", SOUNDS),
        pictures=files_in(book.folder / "pictures", PICTURES),
        edits=files_in(book.folder / "pictures", EDITS),
    )


def packing(book: Book, asks: Asks) -> Work:
    """Make the work of making a parcel for one receiver.

    Raises
    ------
    Fault
        Nobody is called that.
    """
    to = receiver(book.folder, str(asks["receiver"]))
    language: Language = next((one for one in LANGUAGES if one == asks.get("language")), "en")
    paper: Paper = next((one for one in get_args(Paper) if one == asks.get("paper")), "a4")
    contents = replace(contents_of(book, with_tracks=to.tracks != "none"), language=language, paper=paper)
    place = Path(str(asks["folder"]))

    def work(tell: Tell) -> str:
        from fieldfare.handover.parcel import make_parcel

        folder, printed = parcel_folder(contents.show, to, place), dt.datetime.now(ZoneInfo(contents.venue.zone))
        if missing := refusals(contents, to, printed.date()):
            raise BadDocuments(missing)
        if (sealed := _unlogged(book, folder, tell)) is not None:
            _log(book, contents.show.title, to.name, folder, sealed)
            return f"{folder}: {sealed.files} files; it was whole before the desk was cut off, and was read back again."
        parcel = make_parcel(contents, to, place, printed, tell)
        _log(book, contents.show.title, to.name, parcel.folder, parcel.sealed)
        lacking = "".join(f" Not in it: {one}." for one in parcel.lacking)
        return f"{parcel.folder}: {parcel.sealed.files} files, every one read back.{lacking}"

    return work


def _unlogged(book: Book, folder: Path, tell: Tell) -> Sealed | None:
    """Return a parcel that was finished when the desk was cut off before it could log it; it is read back first."""
    logged = any(
        one.event.kind == "handed over" and one.event.text.startswith(f"{folder.name},") for one in book.events()
    )
    if logged or not (folder / "bagit.txt").is_file():
        return None
    found = check_bag(folder, lambda share: tell("reading back", share))
    return None if found.fault else sealed_before(folder, found.files, found.bytes)


def _log(book: Book, show: str, whom: str, folder: Path, sealed: Sealed) -> None:
    said = f"{folder.name}, {sealed.files} files, tag manifest SHA-512 {sealed.tag_manifest}"
    at = dt.datetime.now(dt.UTC)
    book.add_events(
        (Event(id=str(uuid4()), device="the desk", show=show, kind="handed over", about=whom, text=said, at=at),)
    )
