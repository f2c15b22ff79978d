"""From measured files to the report of a take."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import log10
from pathlib import Path

import numpy as np

from fieldfare.show.findings import FileState, LaterPart, TakeReport, TrackMeasure
from fieldfare.show.inputs_csv import ListedInput
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.takes import wave
from fieldfare.takes.checks.check import Take, Track
from fieldfare.takes.checks.table import findings
from fieldfare.takes.measure import Measures, peak_dbfs, rms_dbfs
from fieldfare.takes.measure.grain import F64, LOW_S
from fieldfare.takes.measure.hum import LEAST_STRETCHES
from fieldfare.takes.tracks.course import level_course
from fieldfare.takes.tracks.matching import Match, match
from fieldfare.takes.tracks.second import Reader, looked_at_again
from fieldfare.units.text import listed

Measured = Mapping[Path, Measures]  # by the path of a strand's first part


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of recordings before they are looked at."""

    plan: Plan | None = None
    mains_hz: float | None = None  # nominal frequency of the mains
    inputs: tuple[ListedInput, ...] = ()  # where there is no plan


def report(
    files: wave.Take,
    unreadable: Sequence[wave.Head],
    measured: Measured,
    root: Path,
    known: Known,
    torn: Mapping[Path, Sequence[wave.Damage]],
) -> TakeReport:
    """Check one take.

    Parameters
    ----------
    files
        Its files.
    unreadable
        Files beside them that cannot be read.
    measured
        The measures of each strand.
    root
        The folder that paths are told from.
    known
        What was known beforehand.
    torn
        What of each strand could not be decoded.
    """
    plan, inputs = known.plan, known.inputs
    heads = [*(head for strand in files.strand for head in strand.part), *unreadable]
    states = {head.path: _state(head, root) for head in heads}
    matches = [one for one in match(files.lane, plan, inputs) if one.lane.strand.frames]
    begin = files.begin
    labelled = _with_own_labels(matches)
    tracks = tuple(_track(one, label, states, measured, begin, known.mains_hz, torn) for one, label in labelled)
    carried = {row.id for track in tracks if (row := track.planned or track.listed)}
    wanted: Sequence[PlannedInput | ListedInput] = plan.input if plan else inputs
    readable = [head for head in heads if head.state != "unreadable"]
    take = Take(
        name=files.name,
        states=tuple(states.values()),
        tracks=tracks,
        plan=plan,
        rate_hz=plan.rate_hz if plan else _most(head.rate_hz for head in readable),
        frames=_most(track.channel.frames for track in tracks),
        bits=plan.bits if plan else _most(head.bits for head in readable),
        missing=tuple(row for row in wanted if row.id not in carried) if carried else (),
        listed=plan is None and bool(inputs),
    )
    take = looked_at_again(take, _reader({label: one.lane for one, label in labelled}))
    return TakeReport(
        take=files.name,
        show=plan.title if plan else "",
        rate_hz=take.rate_hz,
        frames=take.frames,
        file=take.states,
        track=tuple(_measure(track, _later(one, root)) for track, one in zip(tracks, matches, strict=True)),
        finding=findings(take),
        not_known=tuple(_not_known(take, matches)),
    )


def _reader(lanes: Mapping[str, wave.Lane]) -> Reader:
    """Reads tracks from their files, by their labels."""

    def read(track: Track, first: int, frames: int) -> F64:
        lane = lanes[track.label]
        sound: F64 = wave.Course(lane.strand, 0).read(first, frames)[:, lane.channel - 1].astype(np.float64)
        return sound * track.full_scale

    return read


def _most(values: Iterable[int]) -> int:
    """The commonest value; of several as common, the largest."""
    counts = Counter(values)
    return max(counts, key=lambda value: (counts[value], value), default=0)


def _state(head: wave.Head, root: Path) -> FileState:
    path = head.path
    return head.file_state(path.relative_to(root).as_posix() if path.is_relative_to(root) else path.name)


def _with_own_labels(matches: Sequence[Match]) -> list[tuple[Match, str]]:
    """Give tracks of one label a count, so that a finding points to one of them."""
    seen: Counter[str] = Counter()
    every = Counter(one.label for one in matches)
    labels = []
    for one in matches:
        seen[one.label] += 1
        labels.append((one, one.label if every[one.label] == 1 else f"{one.label} ({seen[one.label]})"))
    return labels


def _track(
    one: Match,
    label: str,
    states: Mapping[Path, FileState],
    measured: Measured,
    begin: int | None,
    mains_hz: float | None,
    torn: Mapping[Path, Sequence[wave.Damage]],
) -> Track:
    strand = one.lane.strand
    first = strand.part[0]
    ends = list(accumulate(head.frames for head in strand.part))
    before = list(accumulate(strand.gap, initial=0))
    return Track(
        label=label,
        named=one.named,
        state=states[first.path],
        place=one.lane.channel,
        measures=measured[first.path],
        number=one.row.number if one.row else one.number,
        planned=one.planned,
        listed=one.listed,
        torn=tuple(torn.get(first.path, ())),
        mains_hz=mains_hz,
        doubt=one.doubt,
        late=wave.since(strand.start, begin, strand.rate_hz) if strand.start is not None and begin is not None else 0,
        holes=tuple(
            (end + shift, end + shift + gap) for end, shift, gap in zip(ends, before, strand.gap, strict=False) if gap
        ),
    )


def _later(one: Match, root: Path) -> tuple[LaterPart, ...]:
    """Tell where a track goes on over further files."""
    strand = one.lane.strand
    begins = accumulate(head.frames + gap for head, gap in zip(strand.part, strand.gap, strict=False))
    return tuple(
        LaterPart(file=_state(head, root).path, first=first)
        for head, first in zip(strand.part[1:], begins, strict=False)
    )


def _measure(track: Track, later: tuple[LaterPart, ...]) -> TrackMeasure:
    channel, full_scale = track.channel, track.full_scale
    row = track.planned or track.listed
    mean = abs(channel.total) / channel.frames / full_scale
    heard = track.hum
    return TrackMeasure(
        file=track.state.path,
        label=track.label,
        channel=track.place,
        number=track.number,
        input=track.planned.id if track.planned else "",
        source=row.source if row else "",
        later=later,
        frames=channel.frames,
        rate_hz=track.rate_hz,
        bits=track.state.bits,
        peak_dbfs=_rounded(peak_dbfs(channel.peak, full_scale)),
        peak_at=channel.peak_at,
        rms_dbfs=_rounded(rms_dbfs(channel.energy, channel.frames, full_scale)),
        loud_dbfs=_rounded(track.loud_db) if channel.peak else None,
        floor_dbfs=_rounded(track.floor_db) if channel.peak else None,
        dc_dbfs=_rounded(20 * log10(mean)) if mean else None,
        clipped_samples=sum(one.samples for one in channel.rails),
        hum_hz=_rounded(heard.mains_hz) if heard else None,
        hum_dbfs=_rounded(heard.dbfs) if heard else None,
        course=level_course(channel, full_scale),
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _not_known(take: Take, matches: Sequence[Match]) -> Iterable[str]:
    """Say what could not be told, and why."""
    if not take.by:
        yield (
            "without a plan: whether a track is missing, whether levels are as expected, and which tracks are pairs "
            "beyond those named left and right"
        )
    elif not any(one.row for one in matches):
        yield f"no track could be matched to {take.by}, by name or by number: does it belong to this recording?"
    elif take.listed:
        yield "without a plan: whether levels are as expected, and which tracks are pairs beyond left and right by name"
    if len(take.tracks) == 1:
        yield "one track only: polarity, duplicates and lengths need another to compare with"
    short = [track.label for track in take.tracks if len(track.channel.lows.level) < LEAST_STRETCHES]
    if short:
        yield f"hum on {listed(short)}: shorter than {LEAST_STRETCHES * LOW_S:.0f} s"
    floats = [track.label for track in take.tracks if track.measures.form.is_float]
    if floats:
        yield f"the depth of {listed(floats)}: float samples do not show it"
    yield "whether the recorder's clock ran true, and whether a track is the source that its name says"
