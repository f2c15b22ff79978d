"""Rough mixes: chosen by measurement, kept in a sheet a take, altered by hand, rendered from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from fieldfare.desk.book import Book
from fieldfare.desk.jobs import Asks, Tell, Work
from fieldfare.desk.recordings import axes_of
from fieldfare.desk.works.parts import Parts
from fieldfare.desk.works.songs import kept_songs
from fieldfare.show.files import write_whole
from fieldfare.show.mix import REMARK, SHEET_FILE, Format, MixReport, MixSheet, Rendered, read_mix
from fieldfare.show.record import Record
from fieldfare.show.songs import SongBook
from fieldfare.show.write_toml import write_toml
from fieldfare.takes.axis import Axis
from fieldfare.takes.rough.choose import Stretch
from fieldfare.takes.rough.levels import TrackPower, power_of_tracks
from fieldfare.takes.songs.cut import matched
from fieldfare.takes.songs.pieces import pieces_of
from fieldfare.takes.stamps import stamp_of_take, stamps_of_files
from fieldfare.units.text import slug

FOLDER = "roughs"
REPORT = "mix.json"
FORMATS: tuple[Format, ...] = ("wav", "mp3")


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
    """Make the work of mixing every take: its sheet is chosen where there is none or a new one is asked for.

    What was chosen, and the songs that were rendered, before the work was cut off are not again.
    """
    axes, songs = axes_of(book), kept_songs(book.folder)
    parts = Parts(book.folder, "rough")

    def sheet(axis: Axis, file: Path, tell: Tell) -> tuple[MixSheet, TrackPower | None]:
        """The sheet, and what was measured for choosing it where that was done now."""
        from fieldfare.takes.rough.choose import choose_mix

        power = None
        pieces = stretches(songs, axis)
        stamp, name = stamp_of_take(axis, pieces), f"{axis.name} chosen"
        before = file.read_bytes() if file.is_file() else b""
        if not before or (asks.get("choose") and parts.find(name, stamp) != before):
            power = power_of_tracks(axis, axis.track, lambda share: tell("listening", share))
            chosen = choose_mix(axis, pieces, power=power)
            file.parent.mkdir(parents=True, exist_ok=True)
            write_toml(chosen, file, REMARK, replace=True)
            parts.keep(name, stamp, file.read_bytes())
        return read_mix(file), power

    def work(tell: Tell) -> str:
        from fieldfare.takes.rough.render import render_mix

        count = 0
        for axis in axes:
            file = sheet_of(book.folder, axis.name)
            mix, power = sheet(axis, file, tell)
            kept = _Rendered(parts, file.parent, axis.name, stamp_of_take(axis, mix))
            report = render_mix(
                axis, mix, file.parent, FORMATS, sheet_file=file.name, power=power, known=kept.files, keep=kept.keep,
                tell=tell,
            )  # fmt: skip
            write_whole(file.with_name(REPORT), report.model_dump_json(indent=1).encode(), replace=True)
            count += len(report.file)
        parts.let_go()
        return f"{count} files of rough mixes in {book.folder / FOLDER}."

    return work


class _Rendered:
    """The songs of a take that are rendered already, as far as their files lie there as they were written."""

    def __init__(self, parts: Parts, folder: Path, take: str, stamp: str) -> None:
        self._parts, self._folder, self._name, self._stamp = parts, folder, f"{take} songs", stamp
        self._pieces = self._kept()

    def _kept(self) -> list[_Piece]:
        content = self._parts.find(self._name, self._stamp)
        pieces = _PIECES.validate_json(content) if content is not None else []
        return [one for one in pieces if one.as_written(self._folder)]

    @property
    def files(self) -> list[Rendered]:
        """Every file of them."""
        return [file for one in self._pieces for file in one.file]

    def keep(self, files: Sequence[Rendered]) -> None:
        """Keep one more song."""
        stamps = stamps_of_files([self._folder / one.file for one in files])
        self._pieces.append(_Piece(file=tuple(files), stamp=tuple(stamps)))
        self._parts.keep(self._name, self._stamp, _PIECES.dump_json(self._pieces))


class _Piece(Record):
    file: tuple[Rendered, ...]
    stamp: tuple[tuple[str, int, int], ...]

    def as_written(self, folder: Path) -> bool:
        paths = [folder / one.file for one in self.file]
        return all(path.is_file() for path in paths) and tuple(stamps_of_files(paths)) == self.stamp


_PIECES = TypeAdapter(list[_Piece])
