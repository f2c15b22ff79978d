"""Finding the songs of a night around what a person set, and cutting them."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.desk.recordings import axes_of
from fieldfare.desk.works.parts import Parts
from fieldfare.plan.drawn import drawn_inputs
from fieldfare.plan.recipes import show_recipes
from fieldfare.show.songs import SONGS_FILE, ListedSong, SongBook, read_songs, write_songs
from fieldfare.store.night import marks_of
from fieldfare.takes.axis import Axis
from fieldfare.takes.offload.kept import copies_of
from fieldfare.takes.stamps import stamp_of_take
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.takes.songs.levels import Levels


def kept_songs(folder: Path) -> SongBook | None:
    """Return the songs document of a show; None where there is none yet.

    Raises
    ------
    BadDocuments
        Every fault of it.
    """
    file = folder / SONGS_FILE
    return read_songs(file) if file.is_file() else None


def finding(book: Book, asks: Asks) -> Work:
    """Make the work of finding the songs; what a person set in the document stays.

    A take that was listened to before the work was cut off is not listened to again.
    """
    now = book.open()
    folder = copies_of(book.folder, now.plan)
    titles = [title for one in now.read.show.set for title in one.songs]
    rows = drawn_inputs(now.read, now.plan, show_recipes(book.folder))
    marks = marks_of((kept.event for kept in book.events()), now.read.venue.zone)

    def work(tell: Tell) -> str:
        from fieldfare.takes.songs.night_songs import Asked, songs_of

        kept = kept_songs(book.folder)
        listed = tuple(ListedSong(title=title) for title in titles)
        asked = Asked(now.plan.title, rows, listed, marks, kept, kept.handles if kept else None)
        parts = Parts(book.folder, "songs")
        night = songs_of(folder, asked, lambda share: tell("listening", share), lambda *of: _levels(parts, *of))
        write_songs(book.folder / SONGS_FILE, night.book)
        parts.let_go()
        count = sum(song.keep for take in night.book.take for song in take.song)
        return f"{count} {'song' if count == 1 else 'songs'} found."

    return work


def _levels(parts: Parts, axis: Axis, tell: Callable[[float], None] | None) -> Levels:
    """Return the levels of a take: those that are kept, or else measured, and kept."""
    import numpy as np

    from fieldfare.takes.songs.levels import Levels, levels_of

    stamp = stamp_of_take(axis)
    if (kept := parts.find(axis.name, stamp)) is not None:
        with np.load(BytesIO(kept)) as read:
            return Levels(int(read["hop"]), int(read["rate_hz"]), read["db"])
    levels = levels_of(axis, tell)
    written = BytesIO()
    np.savez(written, hop=levels.hop, rate_hz=levels.rate_hz, db=levels.db)
    parts.keep(axis.name, stamp, written.getvalue())
    return levels


def cutting(book: Book, asks: Asks) -> Work:
    """Make the work of cutting the songs into a new folder.

    Raises
    ------
    Fault
        There are no songs yet.
    """
    songs = kept_songs(book.folder)
    if songs is None:
        raise Fault("there are no songs yet", SONGS_FILE, "let them be found first")
    axes = axes_of(book)

    def work(tell: Tell) -> str:
        from fieldfare.takes.songs.cut import cut_songs

        report = cut_songs(songs, axes, Path(str(asks["folder"])), lambda share: tell("cutting", share))
        files = sum(len(piece.file) for piece in report.piece)
        return f"{len(report.piece)} pieces cut into {files} files in {report.folder}, each read back."

    return work
