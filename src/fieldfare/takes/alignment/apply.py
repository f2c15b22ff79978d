"""Shifted tracks into new files: the same length, start and clock as before, the sound inside put later or earlier.

A whole number of samples moves them as they are, bit for bit. A fraction needs new samples: a windowed sinc over 64
samples to both sides, in 64 bits, rounded once. What is pushed over an end is lost in the new file only; the source is
only read. Everything is written beside its place first and gets its name when all of it has been read back; broken off,
it goes on where it was (`takes/proven.py`).
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.alignment import Shift, ShiftedFile, ShiftList, ShiftReport
from fieldfare.show.files import refuse, refuse_small_disc, write_whole
from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.takes.channels import one_channel
from fieldfare.takes.proven import Proven, proven_folder
from fieldfare.takes.songs.chunks import CutSet, chunks_of
from fieldfare.takes.stamps import stamp_of_take
from fieldfare.takes.wave import Course, pack, read_packed, unpack, write_form
from fieldfare.takes.wave.samples import Samples
from fieldfare.units.faults import Fault
from fieldfare.units.text import file_stem, listed

REPORT = "shifts.json"
HALF = 64  # samples to each side of a fractional shift
KAISER = 10.0  # stopband under -100 dB
_BLOCK = 1 << 18
F64 = NDArray[np.float64]
Tell = Callable[[float], None]
Tick = Callable[[int], None]


def apply_shifts(axis: Axis, shifts: ShiftList, folder: Path, tell: Tell | None = None) -> ShiftReport:
    """Write the tracks that are to be shifted into a new folder.

    Parameters
    ----------
    axis
        The take; it is only read.
    shifts
        What is moved; those not marked to be applied are left out.
    folder
        Where the new files go; it must not be there, or hold nothing.
    tell
        Called with the share that is done, from 0 to 1.

    Returns
    -------
    Every file with its hash; it lies in `shifts.json` of the folder too.

    Raises
    ------
    Fault
        The list is of another take, names a track that is not there or one twice, or marks nothing.
    NotDone
        The folder holds something, the disc is full, or a file does not read back as it was written; nothing is there.
    """
    work = _work(axis, shifts)
    _refuse(folder, [track for track, _ in work])
    total, done = sum(track.course.end - track.course.late for track, _ in work), 0

    def tick(samples: int) -> None:
        nonlocal done
        done += samples
        if tell is not None:
            tell(done / max(1, total))

    wanted = [(shift.track, shift.samples, shift.flip) for _, shift in work]
    with proven_folder(folder, stamp_of_take(axis, "shift", wanted)) as part:
        files = []
        for number, (track, shift) in enumerate(work, 1):
            files.append(_shifted(axis, track, shift, part, (number, len(work)), tick))
        report = ShiftReport(take=axis.name, folder=str(folder), file=tuple(files))
        write_whole(part.folder / REPORT, report.model_dump_json(indent=1).encode())
    return report


def _work(axis: Axis, shifts: ShiftList) -> list[tuple[AxisTrack, Shift]]:
    if shifts.take != axis.name or shifts.rate_hz != axis.rate_hz:
        what = f"it is of take {shifts.take} at {shifts.rate_hz} Hz, not of {axis.name} at {axis.rate_hz} Hz"
        raise Fault(what, "the shifts", "name the recordings they were measured on")
    tracks = {track.label: track for track in axis.track}
    chosen = [shift for shift in shifts.shift if shift.apply]
    if not chosen:
        raise Fault("marks nothing to be applied", "the shifts", "write apply = true beside those that are wanted")
    for number, shift in enumerate(chosen):
        if shift.track not in tracks:
            raise Fault(f"there is no track {shift.track}", "the shifts", f"it has {listed(tracks)}")
        if shift.track in [other.track for other in chosen[:number]]:
            raise Fault(f"{shift.track} is to be shifted twice", "the shifts", "leave apply = true at one of the two")
        if not abs(shift.samples) < axis.frames:
            raise Fault(f"{shift.track} is put out of the take", "the shifts", "give fewer samples than it has")
    return [(tracks[shift.track], shift) for shift in chosen]


def _refuse(folder: Path, tracks: Sequence[AxisTrack]) -> None:
    refuse(folder)
    needed = sum(
        (track.course.end - track.course.late) * track.course.strand.part[0].form.sample_bytes for track in tracks
    )
    refuse_small_disc(folder, needed)


def _shifted(
    axis: Axis, track: AxisTrack, shift: Shift, part: Proven, place: tuple[int, int], tick: Tick
) -> ShiftedFile:
    path = part.folder / f"{track.number:02d}-{file_stem(track.label, 'track')}.wav"
    proof = part.find(path)
    if proof is None:
        proof = part.keep(path, *_written(axis, track, shift, path, place, tick))
    else:
        tick(proof.frames)
    return ShiftedFile(
        track=track.label,
        source=tuple(str(head.path) for head in track.course.strand.part),
        channel=track.channel + 1,
        file=path.name,
        samples=shift.samples,
        flip=shift.flip,
        frames=proof.frames,
        sha256=proof.sha256,
        exact=float(shift.samples).is_integer(),
    )


def _written(
    axis: Axis, track: AxisTrack, shift: Shift, path: Path, place: tuple[int, int], tick: Tick
) -> tuple[int, str]:
    """Write one shifted track; return how many frames it has and the SHA-256 of its samples."""
    course = track.course
    form = one_channel(course.strand.part[0].form)
    chunks = chunks_of(track, place[0], CutSet(axis.name, course.late, course.end, place[1]))
    hasher = hashlib.sha256()
    with write_form(path, form, chunks.before, chunks.behind) as file:
        for samples in moved(course, track.channel, shift.samples, flip=shift.flip):
            packed = pack(samples[:, np.newaxis], form)
            hasher.update(packed)
            file.write_packed(packed)
            tick(len(samples))
    return course.end - course.late, hasher.hexdigest()


def moved(course: Course, channel: int, later: float, *, flip: bool = False) -> Iterator[Samples]:
    """Go through one channel of a recording, put later; blocks of shape (frames,) at the scale of its file.

    Parameters
    ----------
    course
        The recording.
    channel
        Of it, from 0.
    later
        Samples by which it is put later; negative: earlier. [sample]
    flip
        Whether its polarity is turned over.
    """
    whole = int(np.floor(later))
    taps = sinc_taps(later - whole)
    form = course.strand.part[0].form
    full = float(form.full_scale)
    for start in range(course.late, course.end, _BLOCK):
        count = min(_BLOCK, course.end - start)
        if len(taps) == 1:
            out = _channel(course, channel, start - whole, count)
        else:
            heard = _channel(course, channel, start - whole - HALF, count + 2 * HALF)
            out = _rounded(np.convolve(heard.astype(np.float64), taps, "valid"), full, heard.dtype)
        yield _turned(out, full) if flip else out


def sinc_taps(part: float) -> F64:
    """Taps that put a sound later by a part of a sample, from 0 to 1; one tap where there is no part to put.

    Source: sampling theorem, with a window of Kaiser's ("definition").
    """
    if part == 0.0:
        return np.ones(1)
    at = np.arange(-HALF, HALF + 1) - part
    shape = np.i0(KAISER * np.sqrt(np.maximum(0.0, 1 - (at / (HALF + 1)) ** 2))) / np.i0(KAISER)
    taps = np.sinc(at) * shape
    return np.asarray(taps / taps.sum(), np.float64)


def _rounded(sound: F64, full: float, kind: np.dtype[Any]) -> Samples:
    if kind != np.int32:
        return sound.astype(kind)
    return np.clip(np.rint(sound), -full, full - 1).astype(np.int32)


def _turned(sound: Samples, full: float) -> Samples:
    if sound.dtype == np.int32:
        return cast(Samples, np.minimum(-sound.astype(np.int64), int(full) - 1).astype(np.int32))
    return -sound


def _channel(course: Course, channel: int, start: int, frames: int) -> Samples:
    """Read a stretch of one channel at the scale of its file; where there is nothing, silence."""
    kind = unpack(b"", course.strand.part[0].form).dtype
    out = np.zeros(frames, kind)
    for head, first, count, at in course.spans(start, start + frames):
        out[at - start : at - start + count] = unpack(read_packed(head, first, count), head.form)[:, channel]
    return cast(Samples, out)
