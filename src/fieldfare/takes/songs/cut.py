"""Cutting takes into songs: the same samples from every track, byte for byte, into new files that are read back.

Everything is written beside its place first and gets its name when all of it is proven; what goes wrong leaves nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import ExitStack
from pathlib import Path

from fieldfare.show.cuts import CutFile, CutPiece, CutReport
from fieldfare.show.files import refuse, refuse_small_disc, whole_folder, write_whole
from fieldfare.show.songs import SongBook, TakeSongs
from fieldfare.takes.axis import Axis, Course
from fieldfare.takes.channels import ChannelFile, copy_stretch, one_channel
from fieldfare.takes.mend.repair import prove
from fieldfare.takes.songs.chunks import CutSet, chunks_of
from fieldfare.takes.songs.pieces import Piece, pieces_of
from fieldfare.takes.wave import write_form
from fieldfare.units.faults import Fault
from fieldfare.units.text import file_stem

REPORT = "cuts.json"
Tell = Callable[[float], None]


def cut_songs(book: SongBook, axes: Sequence[Axis], folder: Path, tell: Tell | None = None) -> CutReport:
    """Cut the songs of a night.

    Parameters
    ----------
    book
        The songs, and the handles around them.
    axes
        Their takes; each is only read.
    folder
        Where the cuts go, a folder a song with a file a track; it must not be there, or hold nothing.
    tell
        Called with the share that is done, from 0 to 1.

    Returns
    -------
    Every file with the samples that it holds and their hash; it lies in `cuts.json` of the folder too.

    Raises
    ------
    Fault
        The document is of other takes, or has no song.
    NotDone
        The folder holds something, the disc is full, or a file does not read back as it was written; nothing is there.
    """
    work = [(axis, piece) for axis, take in matched(book, axes) for piece in pieces_of(take, book.handles)]
    if not any(piece.kind == "song" for _, piece in work):
        raise Fault("there is no song to cut", "songs", "put one in by hand: title, start and end")
    _refuse(folder, work)
    with whole_folder(folder) as part:
        report = _cut(book, work, part, folder, tell or (lambda share: None))
        write_whole(part / REPORT, report.model_dump_json(indent=1).encode())
    return report


def matched(book: SongBook, axes: Sequence[Axis]) -> list[tuple[Axis, TakeSongs]]:
    """Pair the takes of a songs document with the recordings.

    Raises
    ------
    Fault
        A take with songs is not there, or has another length or rate: its samples would not be those that were meant.
    """
    by_name = {axis.name: axis for axis in axes}
    pairs: list[tuple[Axis, TakeSongs]] = []
    for take in book.take:
        axis = by_name.get(take.take)
        if axis is None:
            if any(song.keep for song in take.song):
                raise Fault(f"there is no take {take.take}", "songs", "name the folder of the recordings they are of")
            continue
        if (axis.rate_hz, axis.frames) != (take.rate_hz, take.frames):
            what = (
                f"take {take.take} has {axis.frames} samples at {axis.rate_hz} Hz, not {take.frames} at {take.rate_hz}"
            )
            raise Fault(what, "songs", "find the songs of these recordings anew")
        pairs.append((axis, take))
    return pairs


def _refuse(folder: Path, work: Sequence[tuple[Axis, Piece]]) -> None:
    """Stop where files would be overwritten or the disc is too small."""
    refuse(folder)
    needed = sum(
        (piece.end - piece.start) * track.course.strand.part[0].form.sample_bytes
        for axis, piece in work
        for track in axis.track
    )
    refuse_small_disc(folder, needed)


def _cut(book: SongBook, work: Sequence[tuple[Axis, Piece]], part: Path, folder: Path, tell: Tell) -> CutReport:
    total = sum((piece.end - piece.start) * len(axis.track) for axis, piece in work)
    pieces: list[CutPiece] = []
    left_out: set[str] = set()
    done = 0
    for number, (axis, piece) in enumerate(work, 1):
        name = f"{number:02d}-{file_stem(piece.title, piece.kind)}"
        (part / name).mkdir()
        files = []
        for course in axis.courses:
            mine, out = _cut_course(axis, course, piece, part / name)
            files += mine
            left_out |= out
            done += (piece.end - piece.start) * len(mine)
            tell(done / max(1, total))
        pieces.append(_piece(axis, piece, sorted(files, key=lambda one: one.file)))
    rates = {axis.rate_hz for axis, _ in work}
    return CutReport(
        folder=str(folder),
        rate_hz=min(rates),
        handles=book.handles,
        piece=tuple(pieces),
        left_out=tuple(sorted(left_out)),
    )


def _piece(axis: Axis, piece: Piece, files: Sequence[CutFile]) -> CutPiece:
    return CutPiece(
        title=piece.title,
        kind=piece.kind,
        take=axis.name,
        start=piece.start,
        end=piece.end,
        song_start=piece.song_start,
        song_end=piece.song_end,
        start_s=piece.start / axis.rate_hz,
        end_s=piece.end / axis.rate_hz,
        file=tuple(files),
    )


def _cut_course(axis: Axis, course: Course, piece: Piece, folder: Path) -> tuple[list[CutFile], set[str]]:
    """Cut one recording: each of its channels that is a track into a file of its own."""
    form = one_channel(course.strand.part[0].form)
    cut = CutSet(piece.title, piece.start, piece.end, len(axis.track))
    left_out: set[str] = set()
    with ExitStack() as stack:
        opened: list[ChannelFile] = []
        for number, track in enumerate(axis.track, 1):
            if track.course is course:
                chunks = chunks_of(track, number, cut)
                left_out |= chunks.left_out
                path = folder / f"{track.number:02d}-{file_stem(track.label, 'track')}.wav"
                writer = stack.enter_context(write_form(_free(path), form, chunks.before, chunks.behind))
                opened.append(ChannelFile(track, writer))
        copy_stretch(course, piece.start, piece.end, opened)
    frames = piece.end - piece.start
    for one in opened:
        prove(one.writer.path, frames, one.hasher.hexdigest())
    sources = tuple(str(head.path) for head, *_ in course.spans(piece.start, piece.end))
    return [_file(one, folder, sources) for one in opened], left_out


def _file(one: ChannelFile, folder: Path, sources: tuple[str, ...]) -> CutFile:
    return CutFile(
        file=f"{folder.name}/{one.writer.path.name}",
        label=one.track.label,
        source=sources,
        channel=one.track.channel + 1,
        sha256=one.hasher.hexdigest(),
        silent=one.silent,
    )


def _free(path: Path) -> Path:
    """Return a name that no file has yet: two tracks may be called the same."""
    number = 2
    free = path
    while free.exists():
        free, number = path.with_stem(f"{path.stem}-{number}"), number + 1
    return free
