"""Writes the recording of a planned show: a card as the recorder leaves it, and what is true of it beside the card."""

from __future__ import annotations

import datetime as dt
import os
import shutil
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import ExitStack
from functools import partial
from hashlib import blake2b
from pathlib import Path

import numpy as np

from fieldfare.show.kit import Kit
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.takes.render.dry import RING_S, dry
from fieldfare.takes.render.faults import OF_THE_FILE, Planted, Whole
from fieldfare.takes.render.heads import break_file
from fieldfare.takes.render.programme import Programme, Section
from fieldfare.takes.render.room import BLOCK, LEAD, Room
from fieldfare.takes.render.score import Play
from fieldfare.takes.render.sound import Sound
from fieldfare.takes.render.sounders import Sounding
from fieldfare.takes.render.stage import Stage, set_stage
from fieldfare.takes.render.tell import tell_truth
from fieldfare.takes.render.tracks import Track
from fieldfare.takes.render.truth import Truth
from fieldfare.takes.wave import Bext, Ixml, IxmlTrack, WaveWriter, make_bext, make_ixml, write
from fieldfare.units.faults import NotDone

TAKE_S = 150.0
CARD, TRUTH = "card", "truth.json"


def render_show(
    plan: Plan,
    show: Show,
    venue: Venue,
    kit: Kit,
    soundings: Iterable[Sounding],
    folder: Path,
    *,
    duration_s: float = TAKE_S,
    seed: int = 1,
    planted: Sequence[Planted] | None = None,
    programme: Programme | None = None,
    play: Play | None = None,
    progress: Callable[[float], None] | None = None,
) -> Truth:
    """Render the recording of a planned show as a recorder would have written it.

    Parameters
    ----------
    plan, show, venue, kit
        The documents.
    soundings
        What sounds on the stage, as the plan's own list has it.
    folder
        Where; made if need be. The card's folder in it must not exist yet.
    duration_s
        Length of the take. [s]
    seed
        The same seed gives the same bytes.
    planted
        Faults to put in; the demo's own where none are given, and none for an empty list.
    programme
        What is played when; made up from the set list where none is given, and then as long as it is.
    play
        Other sounds than the program's own.
    progress
        Told the share that is done, from 0 to 1. [1]

    Returns
    -------
    What is true of the recording; it lies in `truth.json` beside the card's folder too.

    Raises
    ------
    OutOfRange
        A plan without inputs, a take too short for a song, or faults that cannot be put in.
    NotDone
        The folder cannot be written, or holds a card already; what was begun is taken away again.
    """
    stage = set_stage(plan, show, venue, kit, soundings, duration_s, seed, planted, programme, play)
    take = folder / CARD / f"{plan.date:%Y-%m-%d}_take-1"
    if (folder / CARD).exists():
        raise NotDone("there is a card already", str(folder / CARD), "take it away or name another folder")
    try:
        take.mkdir(parents=True)
        truth = _render(stage, take, progress or (lambda share: None))
        (folder / TRUTH).write_text(truth.model_dump_json(indent=1) + "\n", "utf-8")
    except BaseException as error:
        shutil.rmtree(folder / CARD, ignore_errors=True)
        (folder / TRUTH).unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise NotDone(
                f"cannot be written ({error.strerror})", str(folder), "check the folder and its disc"
            ) from error
        raise
    return truth


def file_name(row: PlannedInput) -> str:
    """Name of a track's file: its number, then its id.

    The recorder's own habit: two figures, an underscore, no spaces.
    """
    return f"{row.number:02d}_{row.id.replace('-', '_')}.wav"


def dry_blocks(stage: Stage, workers: Executor) -> Iterator[Sound]:
    """Go through the dry sounds of everybody, section after section, in blocks of shape (sounders, BLOCK)."""
    sounders = len(stage.sounders)
    ring = round(RING_S * stage.programme.rate_hz)
    rest = np.zeros((sounders, 0), np.float32)
    carry = np.zeros((sounders, ring), np.float32)
    for section in stage.programme.sections:
        inside = section.end - section.start
        whole = np.zeros((sounders, inside + ring), np.float32)
        whole[:, :ring] = carry
        list(workers.map(partial(_add_dry, stage, section, whole), range(sounders)))
        carry = whole[:, inside:].copy()
        at = 0
        while rest.shape[1] + inside - at >= BLOCK:
            upto = at + BLOCK - rest.shape[1]
            yield np.concatenate([rest, whole[:, at:upto]], axis=1)
            rest, at = rest[:, :0], upto
        rest = np.concatenate([rest, whole[:, at:inside]], axis=1)
    yield np.pad(rest, ((0, 0), (0, BLOCK - rest.shape[1])))
    yield np.zeros((sounders, BLOCK), np.float32)  # the lead pushes the end of the take into one more block


def _add_dry(stage: Stage, section: Section, whole: Sound, place: int) -> None:
    sound = dry(stage.sounders[place], section, stage.programme, stage.sounders, stage.seed, stage.play)
    if sound is not None:
        whole[place] += sound


def _render(stage: Stage, take: Path, progress: Callable[[float], None]) -> Truth:
    programme, plan = stage.programme, stage.plan
    tracks = [
        Track(ear, [one for one in stage.planted if one.input == ear.row.id], programme.rate_hz, plan.bits,
              stage.venue.mains.frequency_hz, stage.seed)
        for ear in stage.ears
    ]  # fmt: skip
    with ExitStack() as open_files, ThreadPoolExecutor(os.cpu_count() or 1) as workers:
        room = Room(stage, workers)
        files = [open_files.enter_context(_open(stage, take, ear.row)) for ear in stage.ears]
        done = -LEAD
        for heard in room.hear(dry_blocks(stage, workers)):
            first, last = max(0, -done), min(BLOCK, programme.frames - done)
            if last > first:
                _record(stage, tracks, files, heard[:, first:last], workers)
            done += BLOCK
            progress(min(1.0, max(0.0, done / programme.frames)))
    for one in stage.planted:
        if one.kind in OF_THE_FILE:
            row = next(row for row in plan.input if row.id == one.input)
            break_file(take / file_name(row), one)
    names = {ear.row.id: f"{take.name}/{file_name(ear.row)}" for ear in stage.ears}
    return tell_truth(stage, tracks, names)


def _record(
    stage: Stage, tracks: Sequence[Track], files: Sequence[WaveWriter], heard: Sound, workers: Executor
) -> None:
    """Record one block of all tracks; a track that doubles another takes that one's samples."""
    doubles = {one.input: one.of for one in stage.planted if one.kind == "duplicate"}
    place = {track.ear.row.id: number for number, track in enumerate(tracks)}
    first = [number for number, track in enumerate(tracks) if track.ear.row.id not in doubles]

    def one(number: int) -> Whole:
        whole = tracks[number].record(heard[number])
        files[number].write(whole)
        return whole

    recorded = dict(zip(first, workers.map(one, first), strict=True))
    for own, of in doubles.items():
        number = place[own]
        files[number].write(tracks[number].finish(recorded[place[of]].copy()))


def _open(stage: Stage, take: Path, row: PlannedInput) -> WaveWriter:
    plan, origin = stage.plan, stage.origin
    clock = dt.timedelta(seconds=origin // plan.rate_hz)
    family = blake2b(f"{plan.digest}{stage.seed}{take.name}".encode(), digest_size=16).hexdigest()
    bext = Bext(
        description=f"{plan.title}, take 1, {row.label}",
        originator="multitrack recorder",
        originator_reference=f"{family[:24]}{row.channel:02d}",
        date=f"{plan.date:%Y-%m-%d}",
        time=f"{(dt.datetime.combine(plan.date, dt.time()) + clock):%H:%M:%S}",
        time_reference=origin,
        history=f"A=PCM,F={plan.rate_hz},W={plan.bits},M=mono\r\n",
    )
    ixml = Ixml(
        project=plan.title,
        take="1",
        rate_hz=plan.rate_hz,
        bits=plan.bits,
        time_reference=origin,
        family_uid=family,
        family_name=take.name,
        file_set_index=str(row.number),
        total_files=len(plan.input),
        track=(IxmlTrack(row.channel, 1, row.label),),
    )
    before = ((b"bext", make_bext(bext)), (b"iXML", make_ixml(ixml)))
    return write(take / file_name(row), plan.rate_hz, plan.bits, 1, before=before)
