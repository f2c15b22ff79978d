"""Rendering a mix sheet: every song, or the whole take, to files that were measured after they were written."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.mix import Format, MixReport, MixSheet, Rendered
from fieldfare.takes.axis import Axis
from fieldfare.takes.loudness import Loudness, Meter, measure_loudness
from fieldfare.takes.rough.courses import Piece, course_of
from fieldfare.takes.rough.encode import decoded, encode, rate_for
from fieldfare.takes.rough.levels import TrackPower, power_of_tracks
from fieldfare.takes.rough.limiter import BusCourse, BusGain, fit, limited
from fieldfare.takes.rough.strips import Desk, desk_of, summed
from fieldfare.takes.wave import read_head, write
from fieldfare.takes.wave.blocks import blocks
from fieldfare.units.faults import Fault, NotDone
from fieldfare.units.text import file_stem, listed

BITS = 24
TOP = 1 << (BITS - 1)
MARGIN_DB = 0.1  # kept below the ceiling: the limiter's filter is shorter than the meter's
WITHIN_LU = 0.05
TRIES = 4
LOST_LU, LOST_MOST_LU = 0.06, 3.0  # by an encoder: what is made up for
HARD_DB, HARD_SHARE = 8.0, 0.05  # of the limiter: more than this is told
_CHUNK = 1 << 16
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
I32 = NDArray[np.int32]
Tell = Callable[[str, float], None]


@dataclass(frozen=True)
class Mixed:
    """A piece that was mixed and waits to go through the bus."""

    desk: Desk
    piece: Piece
    scratch: IO[bytes]  # two channels of float32
    hop: int
    peaks: F32
    power: F64
    pool: Executor
    compiled: bool | None


def render_mix(
    axis: Axis,
    sheet: MixSheet,
    folder: Path,
    formats: Sequence[Format] = ("wav",),
    *,
    whole: bool = False,
    sheet_file: str = "",
    power: TrackPower | None = None,
    known: Sequence[Rendered] = (),
    keep: Callable[[Sequence[Rendered]], None] | None = None,
    tell: Tell | None = None,
    workers: int | None = None,
    compiled: bool | None = None,
) -> MixReport:
    """Render a mix sheet.

    Parameters
    ----------
    axis
        The take that it was made for.
    sheet
        The mix.
    folder
        Where the files go; made if need be. Files of the same name are replaced once the new ones are whole.
    formats
        Which files are wanted of every piece.
    whole
        Whether the whole take is wanted too, in one piece.
    sheet_file
        Where the sheet lies, for the report.
    power
        Loudness of all the take's tracks from moment to moment, where that was measured before.
    known
        Files that were rendered of this sheet before, and still lie in the folder; they are not rendered again.
    keep
        Called with the files of each piece as soon as they are whole.
    tell
        Called with what is being done and the share of it that is done.
    workers
        How many threads share the work; by default one for each processor.
    compiled
        Whether to use compiled loops; by default where they can be had.

    Raises
    ------
    Fault
        The sheet is for another take.
    NotDone
        The folder cannot be written.
    """
    _check_fits(axis, sheet)
    tell = tell or (lambda what, share: None)
    if power is None:
        power = power_of_tracks(axis, axis.track, lambda share: tell("listening", share), workers=workers)
    desk = desk_of(axis, sheet, power)
    pieces = pieces_of(axis, sheet, whole=whole)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise NotDone(f"cannot be made ({error.strerror})", str(folder), "name another folder") from error
    found: list[Rendered] = []
    with _not_left_empty(folder), ThreadPoolExecutor(workers or os.cpu_count() or 1) as pool:
        for piece in pieces:
            files = [one for one in known if Path(one.file).stem == piece.name]
            if not files:
                files = _render_piece(desk, piece, folder, formats, power, pool, tell, compiled)
                if keep is not None:
                    keep(files)
            found += files
    return MixReport(take=axis.name, sheet=sheet_file, file=tuple(found), note=tuple(_notes(sheet, found, axis)))


@contextmanager
def _not_left_empty(folder: Path) -> Iterator[None]:
    """Say where a disc gave up; a folder that nothing came into is taken away."""
    try:
        yield
    except OSError as error:
        why = (error.strerror or "the system refused").lower()
        raise NotDone(why, str(error.filename or folder), "check the folder and the room on its disc") from error
    finally:
        with suppress(OSError):
            folder.rmdir()  # which it refuses where something is in it


def _check_fits(axis: Axis, sheet: MixSheet) -> None:
    known = {track.label for track in axis.track}
    missing = [one.label for one in sheet.track if one.label not in known]
    if sheet.rate_hz != axis.rate_hz:
        what = f"the sheet is for {sheet.rate_hz} Hz, the take runs at {axis.rate_hz} Hz"
        raise Fault(what, "mix sheet", "make a new sheet for this take")
    if missing:
        raise Fault(f"the take has no track {listed(missing)}", "mix sheet", f"it has {listed(sorted(known))}")
    late = next((song for song in sheet.song if song.start >= axis.frames), None)
    if late:
        raise Fault(f"{late.title} begins after the take's end", "mix sheet", f"the take has {axis.frames} samples")


def pieces_of(axis: Axis, sheet: MixSheet, *, whole: bool) -> tuple[Piece, ...]:
    """List what is rendered, with the names of the files."""
    pieces = [
        Piece(
            song.title,
            f"{number:02d}-{file_stem(song.title, 'song')}",
            song.start,
            min(song.end, axis.frames),
            number - 1,
            song.fade_in_s,
            song.fade_out_s,
        )
        for number, song in enumerate(sheet.song, 1)
    ]
    if whole:
        pieces.append(Piece(sheet.take, "whole", 0, axis.frames, None, 0.02, 0.02))
    return tuple(pieces)


def _render_piece(
    desk: Desk,
    piece: Piece,
    folder: Path,
    formats: Sequence[Format],
    power: TrackPower,
    pool: Executor,
    tell: Tell,
    compiled: bool | None,
) -> list[Rendered]:
    """Mix once into a nameless file, then send that through the bus until loudness and peak are right."""
    course = BusCourse(desk.axis.rate_hz, compiled=compiled)
    frames = piece.end - piece.start
    try:
        scratch = tempfile.TemporaryFile(dir=folder)  # noqa: SIM115
    except OSError as error:
        raise NotDone(f"cannot be written ({error.strerror})", str(folder), "check the folder and its disc") from error
    with scratch:
        done = 0
        for sound in summed(desk, piece.start, frames, piece.song, pool, compiled=compiled):
            if piece.is_faded(done, len(sound), desk.axis.rate_hz):
                at = np.arange(done, done + len(sound), dtype=np.float64)
                sound = sound * piece.fade(at, desk.axis.rate_hz).astype(np.float32)[:, None]
            course.feed(sound)
            scratch.write(sound.data)
            done += len(sound)
            tell(f"mixing {piece.title}", 0.9 * done / max(1, frames))
        mixed = Mixed(desk, piece, scratch, course.hop, *course.result(), pool, compiled)
        keep = "wav" in formats
        wav = folder / (f"{piece.name}.wav" if keep else f".{piece.name}.mix.wav")
        try:
            bus, loudness = _written(wav, mixed)
            files = [_told(wav, "wav", mixed, frames, desk.axis.rate_hz, loudness, bus)] if keep else []
            for form in (form for form in formats if form != "wav"):
                tell(f"writing {piece.title} as {form}", 0.95)
                files.append(_encoded(wav, folder / f"{piece.name}.{form}", form, mixed, bus))
        finally:
            if not keep:
                wav.unlink(missing_ok=True)
    went = course_of(desk, piece, bus, loudness, power)
    return [one if place else one.model_copy(update={"course": went}) for place, one in enumerate(files)]


def _written(path: Path, mixed: Mixed, lost_lu: float = 0.0) -> tuple[BusGain, Loudness]:
    """Write the WAV, measure it as it is written, and write it again where it is not within the tolerance.

    `lost_lu` is what an encoder will take off it afterwards.
    """
    target = mixed.desk.sheet.target
    wanted = target.loudness_lufs + lost_lu
    aim_lufs, aim_dbtp = wanted, target.ceiling_dbtp - MARGIN_DB
    for turn in range(TRIES):
        bus = fit(mixed.peaks, mixed.power, aim_lufs, aim_dbtp)
        loudness = _through_bus(path, mixed, bus)
        off_lu = loudness.integrated_lufs - wanted
        over_db = loudness.true_peak_dbtp - target.ceiling_dbtp
        if turn == TRIES - 1 or not np.isfinite(off_lu) or (abs(off_lu) <= WITHIN_LU and over_db <= 0):
            break
        aim_lufs -= off_lu if abs(off_lu) < 3 else 0.0
        aim_dbtp -= max(0.0, over_db) + (0.02 if over_db > 0 else 0.0)
    return bus, loudness


def _through_bus(path: Path, mixed: Mixed, bus: BusGain) -> Loudness:
    """Send the mix through the bus into a file; while one block is written, the next is made and the last measured."""
    rate_hz, scratch, pool = mixed.desk.axis.rate_hz, mixed.scratch, mixed.pool
    meter = Meter(2, rate_hz, compiled=mixed.compiled)
    measured: Future[None] | None = None
    scratch.seek(0)
    with write(path, rate_hz, BITS, 2) as file:
        at = 0
        coming = pool.submit(_bused, scratch.read(_CHUNK * 8), at, bus, mixed)
        while len(whole := coming.result()):
            at += len(whole)
            coming = pool.submit(_bused, scratch.read(_CHUNK * 8), at, bus, mixed)
            if measured is not None:
                measured.result()
            measured = pool.submit(meter.feed, whole * np.float32(1.0 / TOP))
            file.write(whole)
        if measured is not None:
            measured.result()
    return meter.result()


def _bused(packed: bytes, first: int, bus: BusGain, mixed: Mixed) -> I32:
    """Send a block through the bus and round it to whole numbers."""
    sound = limited(np.frombuffer(packed, np.float32).reshape(-1, 2), first, bus, mixed.hop, compiled=mixed.compiled)
    sound *= np.float32(TOP)
    np.rint(sound, out=sound)
    whole: I32 = np.clip(sound, -TOP, TOP - 1, out=sound).astype(np.int32)
    return whole


def _encoded(wav: Path, path: Path, form: Format, mixed: Mixed, bus: BusGain) -> Rendered:
    """Write a mix in another format and measure it as it decodes; what the encoder takes off is made up for once."""
    rate_hz = mixed.desk.axis.rate_hz
    loudness = _round_trip(wav, path, form, mixed.piece.title)
    lost_lu = mixed.desk.sheet.target.loudness_lufs - loudness.integrated_lufs
    if form != "flac" and LOST_LU < abs(lost_lu) < LOST_MOST_LU:
        louder = path.with_name(f".{path.name}.mix.wav")
        try:
            bus, _ = _written(louder, mixed, lost_lu)
            loudness = _round_trip(louder, path, form, mixed.piece.title)
        finally:
            louder.unlink(missing_ok=True)
    return _told(path, form, mixed, loudness.frames, rate_for(form, rate_hz), loudness, bus)


def _round_trip(wav: Path, path: Path, form: Format, title: str) -> Loudness:
    head = read_head(wav)
    parts: Iterator[I32] = (part for part in blocks(head, _CHUNK))  # type: ignore[misc]
    encode(path, form, parts, head.rate_hz, {"title": title})
    return measure_loudness(decoded(path), 2, rate_for(form, head.rate_hz))


def _told(
    path: Path, form: Format, mixed: Mixed, frames: int, rate_hz: int, loudness: Loudness, bus: BusGain
) -> Rendered:
    return Rendered(
        file=path.name,
        title=mixed.piece.title,
        format=form,
        start=mixed.piece.start,
        frames=frames,
        rate_hz=rate_hz,
        loudness_lufs=_rounded(loudness.integrated_lufs),
        true_peak_dbtp=_rounded(loudness.true_peak_dbtp),
        range_lu=round(loudness.range_lu, 2),
        gain_db=round(bus.gain_db, 2),
        limited_db=round(max(0.0, bus.limited_db), 2),
        limited_share=round(bus.limited_share, 4),
    )


def _rounded(value: float) -> float | None:
    return round(value, 3) if np.isfinite(value) else None


def _notes(sheet: MixSheet, files: Sequence[Rendered], axis: Axis) -> Iterator[str]:
    target = sheet.target
    for one in files:
        if one.loudness_lufs is None:
            yield f"{one.file}: silent"
            continue
        if abs(one.loudness_lufs - target.loudness_lufs) > 0.1:
            yield (
                f"{one.file}: {one.loudness_lufs:.1f} LUFS, not {target.loudness_lufs:g}: it cannot be made as loud "
                f"below {target.ceiling_dbtp:g} dBTP without squashing it"
            )
        if one.format == "wav" and (one.limited_db > HARD_DB or one.limited_share > HARD_SHARE):
            yield (
                f"{one.file}: the limiter takes off up to {one.limited_db:.1f} dB, more than 1 dB for "
                f"{100 * one.limited_share:.0f} % of the time; a lower loudness would leave it more life"
            )
        if one.true_peak_dbtp is not None and one.true_peak_dbtp > 0:
            yield f"{one.file}: decoded it peaks at {one.true_peak_dbtp:+.1f} dBTP; lower the ceiling if that matters"
    yield from axis.left_out
