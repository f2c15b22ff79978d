"""The sound around the gravest findings of a take, fine enough to be seen: for the plots of a report."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.findings import Finding, TakeReport, TrackMeasure
from fieldfare.takes.wave import blocks, read_head
from fieldfare.units.faults import Fault

COLUMNS = 500
LEAST_S = 0.012  # shown on each side of a place
LONGEST_S = 20.0  # a place longer than this, or than half of its track, is seen in the level of the track
FROM_NEAR_S = 0.03  # shown of a long place whose worst moment is what counts
_AT_THE_WORST = ("clipped", "clipped before the converter")
_GRAVITY = ("stop", "warn")
_MOST = 6  # places of a report that are shown


@dataclass(frozen=True, slots=True)
class CloseUp:
    """The outline of one track around a place. Full scale is 1; `low` and `high` have a value for each column."""

    finding: Finding
    track: str
    rate_hz: int
    first: int  # sample of the track that the outline begins with
    frames: int  # that it spans
    marked: tuple[int, int]  # samples of the track
    low: NDArray[np.float32]
    high: NDArray[np.float32]


def closeups(report: TakeReport, root: Path) -> tuple[CloseUp, ...]:
    """Read the sound around the few gravest findings that have a place: stops first, one of a kind on each track.

    Parameters
    ----------
    report
        The take, checked.
    root
        The folder that its paths are told from. Files that can no longer be read there are passed over: a report
        must not fail for want of a picture.
    """
    tracks = {track.label: track for track in report.track}
    chosen: dict[tuple[str, str], CloseUp] = {}
    for severity in _GRAVITY:
        for finding in report.finding:
            if len(chosen) == _MOST:
                break
            track = tracks.get(finding.track) or _of_file(report, finding)
            if finding.severity != severity or track is None or (finding.kind, track.label) in chosen:
                continue
            shown = _shown(finding, track, root)
            if shown is not None:
                chosen[finding.kind, track.label] = shown
    return tuple(chosen.values())


def _of_file(report: TakeReport, finding: Finding) -> TrackMeasure | None:
    """Return the first track of a finding's file."""
    return next((track for track in report.track if finding.file and track.file == finding.file), None)


def _shown(finding: Finding, track: TrackMeasure, root: Path) -> CloseUp | None:
    start, end = finding.places[0] if finding.places else (finding.start, finding.end)
    if start is None:
        return None
    end = min(max(start + 1, start + 1 if end is None else end), track.frames)
    worst = finding.kind in _AT_THE_WORST
    if start >= track.frames or (end - start > min(LONGEST_S * track.rate_hz, track.frames / 2) and not worst):
        return None
    try:
        if worst and end - start > FROM_NEAR_S * track.rate_hz:
            first, last = _worst(track, root, start, min(end, start + round(LONGEST_S * track.rate_hz)))
        else:
            around = max(round(LEAST_S * track.rate_hz), end - start)
            first, last = max(0, start - around), min(track.frames, end + around)
        samples = np.concatenate(list(_samples(track, root, first, last)))
    except (Fault, OSError, ValueError):
        return None
    edges = np.linspace(0, len(samples), min(COLUMNS, len(samples)) + 1).astype(int)[:-1]
    low, high = np.minimum.reduceat(samples, edges), np.maximum.reduceat(samples, edges)
    return CloseUp(finding, track.label, track.rate_hz, first, len(samples), (start, end), low, high)


def _worst(track: TrackMeasure, root: Path, start: int, end: int) -> tuple[int, int]:
    """Find the stretch around the longest stay at the highest level."""
    level = np.abs(np.concatenate(list(_samples(track, root, start, end))))
    top = np.concatenate(([0], (level >= 0.999 * level.max(initial=0.0)).astype(np.int8), [0]))
    edges = np.flatnonzero(np.diff(top))
    longest = int(np.argmax(edges[1::2] - edges[::2]))
    middle = start + int(edges[2 * longest] + edges[2 * longest + 1]) // 2
    half = round(FROM_NEAR_S / 2 * track.rate_hz)
    return max(0, middle - half), min(track.frames, middle + half)


def _samples(track: TrackMeasure, root: Path, first: int, last: int) -> Iterator[NDArray[np.float32]]:
    """Read a stretch of a track over all its files; what is missing between them is left out."""
    begins = [(track.file, 0), *((part.file, part.first) for part in track.later)]
    for file, begin in begins:
        head = read_head(root / file)
        low, high = max(first, begin) - begin, min(last, begin + head.frames) - begin
        if low < high:
            block = next(iter(blocks(head, high - low, low)))
            yield (block[:, track.channel - 1] / head.full_scale).astype(np.float32)
