"""Tracks as they are handed over: one start, one length, one channel a file, the samples as they were recorded.

Nothing is processed: the bytes of each sample are those of the recording, at its own rate and depth. Where a track has
none, because it was armed late, ended early or lost some, stands silence, and it is said how much. What goes into the
heads is the plan's: `bext` (EBU Tech 3285), iXML, and marks at the songs.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from fieldfare.handover.names import safe_name, told_apart
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.takes.channels import ChannelFile, copy_stretch, one_channel
from fieldfare.takes.proven import Proof, Proven
from fieldfare.takes.wave import (
    Bext,
    Course,
    Cue,
    IxmlTrack,
    WaveWriter,
    make_bext,
    make_cues,
    make_ixml,
    write_form,
)
from fieldfare.takes.wave.ixml import Ixml
from fieldfare.takes.wave.riff import UNKNOWN_32

_DAY_S = 86_400


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a take that becomes a folder of files."""

    title: str
    folder: Path
    start: int  # samples on the take's axis
    end: int
    mark: tuple[Cue, ...] = ()  # on the take's axis


@dataclass(frozen=True, slots=True)
class Handed:
    """One file that was written and read back."""

    path: Path
    label: str
    number: int
    frames: int
    rate_hz: int
    bits: int
    silent: int  # samples of silence where the recording has none
    sha256: str  # of its samples


def hand_tracks(
    axis: Axis, stretch: Stretch, plan: Plan, part: Proven, tell: Callable[[int], None]
) -> tuple[Handed, ...]:
    """Write every track of a stretch of a take that is not proven yet, and read each back.

    Parameters
    ----------
    axis
        The take; its files are only read.
    stretch
        From where to where; its folder must be there, in that of the parcel.
    plan
        What each track is.
    part
        The parcel's files that are proven.
    tell
        Called with the samples that were written, block by block.

    Raises
    ------
    Fault
        A recording cannot be read.
    NotDone
        A file cannot be written, or does not read back as it was written.
    """
    names = _names(axis.track)
    handed: list[Handed] = []
    for course in axis.courses:
        handed += _hand_course(axis, course, stretch, plan, part, names, tell)
    return tuple(sorted(handed, key=lambda one: one.path.name))


def _names(tracks: Sequence[AxisTrack]) -> dict[int, str]:
    """Name each file by its number and its label: 03_Lead_vocal.wav."""
    names = told_apart(f"{track.number:02d}_{safe_name(track.label, 'track')}.wav" for track in tracks)
    return {id(track): name for track, name in zip(tracks, names, strict=True)}


def _hand_course(
    axis: Axis,
    course: Course,
    stretch: Stretch,
    plan: Plan,
    part: Proven,
    names: dict[int, str],
    tell: Callable[[int], None],
) -> list[Handed]:
    proofs: list[tuple[AxisTrack, Path, Proof]] = []
    opened: list[ChannelFile] = []
    with ExitStack() as stack:
        for track in axis.track:
            if track.course is course:
                path = stretch.folder / names[id(track)]
                if (proof := part.find(path)) is not None:
                    proofs.append((track, path, proof))
                    tell(proof.frames)
                    continue
                opened.append(ChannelFile(track, stack.enter_context(_writer(axis, track, stretch, plan, path))))
        if opened:
            copy_stretch(course, stretch.start, stretch.end, opened, tell)
    frames = stretch.end - stretch.start
    for one in opened:
        path = one.writer.path
        proofs.append((one.track, path, part.keep(path, frames, one.hasher.hexdigest(), one.silent)))
        tell(0)
    return [_handed(course, *one) for one in proofs]


def _handed(course: Course, track: AxisTrack, path: Path, proof: Proof) -> Handed:
    form = course.strand.part[0].form
    return Handed(
        path=path,
        label=track.label,
        number=track.number,
        frames=proof.frames,
        rate_hz=form.rate_hz,
        bits=form.bits,
        silent=proof.silent,
        sha256=proof.sha256,
    )


def _writer(axis: Axis, track: AxisTrack, stretch: Stretch, plan: Plan, path: Path) -> WaveWriter:
    head = track.course.strand.part[0]
    planned = next((row for row in plan.input if row.id == track.id), None)
    at = None if axis.begin is None else (axis.begin + stretch.start) % (_DAY_S * axis.rate_hz)
    before = [(b"bext", make_bext(_bext(axis, track, stretch, plan, planned, at)))]
    ixml = Ixml(
        project=plan.title,
        scene=stretch.title,
        take=axis.name,
        note=_what(planned),
        rate_hz=axis.rate_hz,
        bits=head.bits,
        time_reference=at,
        family_uid=hashlib.blake2b(
            f"{plan.digest} {axis.name} {stretch.start} {stretch.end}".encode(), digest_size=16
        ).hexdigest(),
        family_name=stretch.title or axis.name,
        file_set_index=str(track.number),
        total_files=len(axis.track),
        track=(IxmlTrack(track.number, 1, track.label),),
    )
    before.append((b"iXML", make_ixml(ixml)))
    marks = [
        Cue(cue.sample - stretch.start, cue.label) for cue in stretch.mark if stretch.start <= cue.sample < stretch.end
    ]
    marks = [cue for cue in marks if cue.sample <= UNKNOWN_32]  # a cue has 32 bits for its place
    return write_form(path, one_channel(head.form), before, make_cues(marks) if marks else ())


def _bext(
    axis: Axis, track: AxisTrack, stretch: Stretch, plan: Plan, planned: PlannedInput | None, at: int | None
) -> Bext:
    head = track.course.strand.part[0]
    was = head.bext or Bext()
    described = f"{plan.title}; {stretch.title or axis.name}; {track.number} {track.label}"
    what = _what(planned)
    kind = "float" if head.is_float else "PCM"
    line = (
        f"A=PCM,F={head.rate_hz},W={head.bits},M=mono,T=fieldfare; {kind}; not processed\r\n"  # EBU R 98, from memory
    )
    return Bext(
        description=f"{described}; {what}" if what else described,
        originator=was.originator or "fieldfare",
        originator_reference=was.originator_reference,
        date=_date(was.date or plan.date.isoformat(), axis, track.course.late, stretch.start),
        time=was.time if at is None else _clock(at // axis.rate_hz),
        time_reference=at or 0,
        history=f"{was.history}\r\n{line}" if was.history else line,  # a line a process, each ended: Tech 3285 §2.3
    )


def _date(said: str, axis: Axis, late: int, start: int) -> str:
    """Return the day on which a stretch begins, from that on which its recording began: a night goes past midnight."""
    day = _DAY_S * axis.rate_hz
    later = 0 if axis.begin is None else (axis.begin + start) // day - (axis.begin + late) // day
    try:
        return (dt.date.fromisoformat(said) + dt.timedelta(days=later)).isoformat()
    except (ValueError, OverflowError):
        return said  # no date as the standard writes it: it stays what the recorder wrote


def _clock(seconds: int) -> str:
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"


def _what(planned: PlannedInput | None) -> str:
    """Say by what an input was heard."""
    if planned is None:
        return ""
    unit = (
        f"{planned.unit.item} {planned.unit.tag}"
        if planned.unit
        else {"split": "house microphone, split"}.get(planned.taking, "line output")
    )
    return re.sub(r"\s+", " ", unit)
