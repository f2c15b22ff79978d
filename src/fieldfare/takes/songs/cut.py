"""Cutting takes into songs: the same samples from every track, byte for byte, into new files that are read back.

Everything is written beside its place first and gets its name when all of it is proven; broken off, it goes on where it
was (`takes/proven.py`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import ExitStack
from pathlib import Path

from fieldfare.show.cuts import CutFile, CutPiece, CutReport
from fieldfare.show.files import refuse, refuse_small_disc, write_whole
from fieldfare.show.songs import SongBook, TakeSongs
from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.takes.channels import ChannelFile, copy_stretch, one_channel
from fieldfare.takes.proven import Proof, Proven, proven_folder
from fieldfare.takes.songs.chunks import CutSet, chunks_of
from fieldfare.takes.songs.pieces import Piece, pieces_of
from fieldfare.takes.stamps import stamp_of, stamp_of_take
from fieldfare.takes.wave import Course, write_form
from fieldfare.units.faults import Fault
from fieldfare.units.text import file_stem

REPORT = "cuts.json"
Tell = Callable[[float], None]
Tick = Callable[[int], None]


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
    with proven_folder(folder, stamp_of("cut", [(stamp_of_take(axis), piece) for axis, piece in work])) as part:
        report = _cut(book, work, part, folder, tell or (lambda share: None))
        write_whole(part.folder / REPORT, report.model_dump_json(indent=1).encode())
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


def _cut(book: SongBook, work: Sequence[tuple[Axis, Piece]], part: Proven, folder: Path, tell: Tell) -> CutReport:
    total = sum((piece.end - piece.start) * len(axis.track) for axis, piece in work)
    pieces: list[CutPiece] = []
    left_out: set[str] = set()
    done = 0

    def tick(samples: int) -> None:
        nonlocal done
        done += samples
        tell(done / max(1, total))

    for number, (axis, piece) in enumerate(work, 1):
        name = f"{number:02d}-{file_stem(piece.title, piece.kind)}"
        (part.folder / name).mkdir(exist_ok=True)
        files = []
        for course in axis.courses:
            mine, out = _cut_course(axis, course, piece, part, part.folder / name, tick)
            files += mine
            left_out |= out
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


def _cut_course(
    axis: Axis, course: Course, piece: Piece, part: Proven, folder: Path, tick: Tick
) -> tuple[list[CutFile], set[str]]:
    """Cut one recording: each of its channels that is a track into a file of its own, but for those that are proven."""
    form = one_channel(course.strand.part[0].form)
    cut, names = CutSet(piece.title, piece.start, piece.end, len(axis.track)), _names(axis)
    left_out: set[str] = set()
    proofs: list[tuple[AxisTrack, Proof]] = []
    opened: list[ChannelFile] = []
    with ExitStack() as stack:
        for number, track in enumerate(axis.track, 1):
            if track.course is course:
                chunks, path = chunks_of(track, number, cut), folder / names[number - 1]
                left_out |= chunks.left_out
                if (proof := part.find(path)) is not None:
                    proofs.append((track, proof))
                    tick(proof.frames)
                    continue
                writer = stack.enter_context(write_form(path, form, chunks.before, chunks.behind))
                opened.append(ChannelFile(track, writer))
        if opened:
            copy_stretch(course, piece.start, piece.end, opened, tick)
    frames = piece.end - piece.start
    for one in opened:
        proofs.append((one.track, part.keep(one.writer.path, frames, one.hasher.hexdigest(), one.silent)))
        tick(0)
    sources = tuple(str(head.path) for head, *_ in course.spans(piece.start, piece.end))
    return [_file(track, proof, sources) for track, proof in proofs], left_out


def _file(track: AxisTrack, proof: Proof, sources: tuple[str, ...]) -> CutFile:
    return CutFile(
        file=proof.file,
        label=track.label,
        source=sources,
        channel=track.channel + 1,
        sha256=proof.sha256,
        silent=proof.silent,
    )


def _names(axis: Axis) -> list[str]:
    """Name the file of each track; no two alike, though two tracks may be called the same."""
    names: list[str] = []
    for track in axis.track:
        stem = free = f"{track.number:02d}-{file_stem(track.label, 'track')}"
        number = 2
        while f"{free}.wav".casefold() in map(str.casefold, names):
            free, number = f"{stem}-{number}", number + 1
        names.append(f"{free}.wav")
    return names
