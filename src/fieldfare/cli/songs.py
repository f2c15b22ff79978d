"""fieldfare songs: where each song of a night begins and ends, kept in a document, and cut to the sample."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fieldfare.cli.options import Inputs, Paper, PaperSize, PapersSpeak, Recordings, ShowOrFolder, Tongue
from fieldfare.cli.say import Status, heading, leave, say, show_json, table
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.cli.progress import Bar
    from fieldfare.cli.recorded import Recorded
    from fieldfare.show.cuts import CutReport, PlacedSong
    from fieldfare.show.songs import Handles, SongBook
    from fieldfare.takes.axis import Axis
    from fieldfare.takes.songs.night_songs import Asked, Night

Talk = Literal["leave", "before", "own"]


def songs(
    where: ShowOrFolder,
    recordings: Recordings = None,
    set_list: Annotated[
        Path | None, typer.Option(help="The set list, CSV or XLSX: title, order, length m:ss, act, notes.")
    ] = None,
    inputs: Inputs = None,
    marks: Annotated[Path | None, typer.Option(help="When songs began, JSON, CSV or XLSX: time, text, take.")] = None,
    document: Annotated[
        Path | None, typer.Option(help="The songs document; songs.toml in a show's folder, where there is a show.")
    ] = None,
    as_written: Annotated[
        bool, typer.Option("--as-written", help="Take the document as it stands, without listening again.")
    ] = False,
    cut_to: Annotated[Path | None, typer.Option(help="A new folder to cut into: a folder a song.")] = None,
    before: Annotated[float | None, typer.Option(min=0, max=600, help="Seconds kept ahead of a song. [2]")] = None,
    after: Annotated[float | None, typer.Option(min=0, max=600, help="Seconds kept after it. [2]")] = None,
    applause: Annotated[
        bool | None, typer.Option("--applause/--no-applause", help="Whether applause goes with its song. [yes]")
    ] = None,
    talk: Annotated[
        Talk | None, typer.Option(help="leave it out, keep it before its song, or cut it on its own. [leave]")
    ] = None,
    pdf: Annotated[Path | None, typer.Option(help="A folder to write songs.pdf into: what was heard and why.")] = None,
    paper: PaperSize = Paper.a4,
    language: PapersSpeak = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write songs and cuts as JSON.")] = False,
) -> None:
    """Find the songs in a night's recordings; what was changed by hand in the document stays."""
    from fieldfare.cli.recorded import printing_of, recorded
    from fieldfare.sheets.songs import write_song_sheet
    from fieldfare.show.songs import SONGS_FILE, write_songs
    from fieldfare.takes.songs.cut import cut_songs

    found = recorded(where, recordings, inputs)
    made, folder = found.made, found.folder
    document = document or (made.read.folder / SONGS_FILE if made else None)
    if as_written and pdf:
        raise Fault("--as-written does not listen", "--pdf", "leave one of the two out")
    asked = _asked(found, document, set_list, marks, (before, after, applause, talk))
    if as_written:
        night, book, axes = None, *_as_written(folder, document, asked)
    else:
        night = _found(folder, asked, quiet=as_json)
        book, axes = night.book, tuple(one.axis for one in night.heard)
    if document:
        write_songs(document, book)
    sheets = write_song_sheet(night, pdf, printing_of(made, paper.value, language.value)) if night and pdf else ()
    with _bar(quiet=as_json) as bar:
        cut = cut_songs(book, axes, cut_to, lambda share: bar.show("cutting", share, 1.0)) if cut_to else None
    _tell(folder, document, book, cut, sheets, as_json=as_json)
    leave(_status(book))


def _asked(
    found: Recorded,
    document: Path | None,
    set_list: Path | None,
    marks: Path | None,
    handles: tuple[float | None, float | None, bool | None, Talk | None],
) -> Asked:
    """Gather what is known of the night."""
    from fieldfare.cli.planned import marks_of_night
    from fieldfare.show.night_marks import read_marks
    from fieldfare.show.set_list import read_set_list
    from fieldfare.show.songs import ListedSong, read_songs
    from fieldfare.takes.songs.night_songs import Asked

    made = found.made
    kept = read_songs(document) if document and document.is_file() else None
    titles = [title for one in made.read.show.set for title in one.songs] if made else []
    listed = read_set_list(set_list) if set_list else tuple(ListedSong(title=title) for title in titles)
    clocked = (*(marks_of_night(made.read) if made else ()), *(read_marks(marks) if marks else ()))
    show = found.title or (kept.show if kept else "")
    return Asked(show, found.rows, listed, clocked, kept, _handles(kept, *handles))


def _handles(
    kept: SongBook | None, before: float | None, after: float | None, applause: bool | None, talk: Talk | None
) -> Handles:
    from fieldfare.show.songs import Handles

    asked = {"before_s": before, "after_s": after, "applause": applause, "talk": talk}
    said = {name: value for name, value in asked.items() if value is not None}
    return Handles.model_validate((kept.handles.model_dump() if kept else {}) | said)


def _as_written(folder: Path, document: Path | None, asked: Asked) -> tuple[SongBook, tuple[Axis, ...]]:
    from fieldfare.takes.axis import find_axes

    if asked.kept is None:
        where = str(document) if document else "--as-written"
        raise Fault("there is no songs document yet", where, "find the songs first, or name it with --document")
    return asked.kept.model_copy(update={"handles": asked.handles}), find_axes(folder, asked.rows)


def _found(folder: Path, asked: Asked, *, quiet: bool) -> Night:
    from fieldfare.takes.songs.night_songs import songs_of

    with _bar(quiet=quiet) as bar:
        return songs_of(folder, asked, lambda share: bar.show("listening", share, 1.0))


def _bar(*, quiet: bool) -> Bar:
    from fieldfare.cli.progress import Bar

    return Bar(quiet=quiet)


def _status(book: SongBook) -> Status:
    """Tell whether a person should look: at a song that is not sure, or at one that was not played."""
    from fieldfare.takes.songs.find import DOUBTFUL

    kept = [song for take in book.take for song in take.song if song.keep]
    unsure = any(min(song.start_confidence, song.end_confidence) < DOUBTFUL for song in kept)
    untitled = bool(book.set_list) and any(song.title_confidence < DOUBTFUL for song in kept)
    return Status.LOOK if not kept or unsure or untitled or book.not_played else Status.DONE


def _tell(
    folder: Path,
    document: Path | None,
    book: SongBook,
    cut: CutReport | None,
    sheets: tuple[Path, ...],
    *,
    as_json: bool,
) -> None:
    from fieldfare.show.cuts import SongsReport, placed

    rows = placed(book)
    if as_json:
        name = str(document) if document else None
        show_json(SongsReport(folder=str(folder), document=name, songs=book, song=rows, cut=cut))
        return
    say(f"{folder}: {_count(len(rows), 'song')} in {_count(len(book.take), 'take')}.")
    for take in book.take:
        _tell_take(take.take, [row for row in rows if row.take == take.take])
    for one in book.not_played:
        say(f"Not played: {one}.")
    for one in book.not_known:
        say(f"Not known: {one}.", hang=2)
    if document:
        say(f"Written to {document}. What is changed there by hand stays.")
    else:
        say("Nothing was written; --document songs.toml keeps them, to be changed by hand.")
    for path in sheets:
        say(f"Printed {path}.")
    if cut is not None:
        files = sum(len(piece.file) for piece in cut.piece)
        say(f"Cut {_count(len(cut.piece), 'piece')} into {_count(files, 'file')} in {cut.folder}, each read back.")


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _tell_take(name: str, rows: list[PlacedSong]) -> None:
    from fieldfare.units.clock import clock
    from fieldfare.units.text import figure

    heading(name)
    cells = [
        (
            str(number),
            row.title,
            clock(row.start_s, 3),
            clock(row.end_s, 3),
            clock(row.end_s - row.start_s),
            " ".join(figure(100 * sure) for sure in (row.title_confidence, row.start_confidence, row.end_confidence)),
        )
        for number, row in enumerate(rows, 1)
    ]
    if not cells:
        say("No song was found.")
        return
    table(("", "title", "start", "end", "length", "sure, %"), cells, (-3, 28, -11, -11, -7, -10))
    for number, row in enumerate(rows, 1):
        if row.why:
            say(f"{number}  {row.why}", indent=2, hang=3)
