"""Rough mixes: chosen by measurement, kept in a sheet a take, altered by hand, rendered from it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.desk.recordings import axes_of
from fieldfare.desk.works.songs import kept_songs
from fieldfare.show.files import write_whole
from fieldfare.show.mix import REMARK, SHEET_FILE, MixReport, MixSheet, read_mix
from fieldfare.show.songs import SongBook
from fieldfare.show.write_toml import write_toml
from fieldfare.takes.axis import Axis
from fieldfare.takes.rough.choose import Stretch
from fieldfare.takes.songs.cut import matched
from fieldfare.takes.songs.pieces import pieces_of
from fieldfare.units.text import slug

FOLDER = "roughs"
REPORT = "mix.json"


def sheet_of(folder: Path, take: str) -> Path:
    """Return where the mix sheet of a take lies; its sounds lie beside it."""
    return folder / FOLDER / (slug(take) or "take") / SHEET_FILE


@dataclass(frozen=True, slots=True)
class KeptMix:
    """The mix of one take, with what was rendered of it."""

    file: Path  # its sheet
    sheet: MixSheet
    report: MixReport | None


def kept_mixes(folder: Path) -> tuple[KeptMix, ...]:
    """Return the mixes of a show, take by take.

    Raises
    ------
    BadDocuments
        Every fault of a sheet.
    """
    return tuple(_kept(file) for file in sorted((folder / FOLDER).glob(f"*/{SHEET_FILE}")))


def _kept(file: Path) -> KeptMix:
    try:
        report = MixReport.model_validate_json(file.with_name(REPORT).read_bytes())
    except (OSError, ValidationError):
        return KeptMix(file, read_mix(file), None)
    return KeptMix(file, read_mix(file), report)


def stretches(songs: SongBook | None, axis: Axis) -> tuple[Stretch, ...]:
    """Return the songs of a take with their handles, in order; none where nobody looked for songs yet."""
    if songs is None:
        return ()
    here = songs.model_copy(update={"take": tuple(one for one in songs.take if one.take == axis.name)})
    pieces = [piece for _, take in matched(here, (axis,)) for piece in pieces_of(take, songs.handles)]
    return tuple(Stretch(piece.title, piece.start, piece.end) for piece in pieces if piece.kind == "song")


def mixing(book: Book, asks: Asks) -> Work:
    """Make the work of mixing every take: its sheet is chosen where there is none or a new one is asked for."""
    axes, songs = axes_of(book), kept_songs(book.folder)

    def work(tell: Tell) -> str:
        from fieldfare.takes.rough.choose import choose_mix
        from fieldfare.takes.rough.render import render_mix

        count = 0
        for axis in axes:
            file = sheet_of(book.folder, axis.name)
            if asks.get("choose") or not file.is_file():
                chosen = choose_mix(axis, stretches(songs, axis), tell=lambda share: tell("listening", share))
                file.parent.mkdir(parents=True, exist_ok=True)
                write_toml(chosen, file, REMARK, replace=True)
            report = render_mix(axis, read_mix(file), file.parent, ("wav", "mp3"), sheet_file=file.name, tell=tell)
            write_whole(file.with_name(REPORT), report.model_dump_json(indent=1).encode(), replace=True)
            count += len(report.file)
        return f"{count} files of rough mixes in {book.folder / FOLDER}."

    return work
