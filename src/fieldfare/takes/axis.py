"""All tracks of a take on one axis of time: sample 0 is the first of the take, and any stretch of any track is read.

Conventions: places are samples on the take's axis. A track that was armed late has none before its first sample, and
what is missing between two of its files is silence; both read as zeros. Sound is float32, full scale 1.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.drawn import DrawnInput, Role, role_of
from fieldfare.takes.tracks.matching import assign
from fieldfare.takes.tracks.run import merged
from fieldfare.takes.wave import Course, Lane, Strand, Take, find_takes, since
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed

Sound = NDArray[np.float32]
_DAY_S = 86_400  # a night goes on past midnight


@dataclass(frozen=True, eq=False)
class AxisTrack:
    """One track of a take."""

    label: str
    number: int
    course: Course
    channel: int  # of the course, from 0
    drawn: DrawnInput | None
    doubt: str = ""  # where name and number say different things

    @property
    def id(self) -> str:
        """Id of the input that it carries; its label where nobody said."""
        return self.drawn.id if self.drawn else self.label

    @property
    def role(self) -> Role:
        """What it is there for, by the drawing or by its name."""
        return self.drawn.role if self.drawn else role_of(self.label)

    @property
    def file(self) -> Path:
        """Its first file."""
        return self.course.strand.part[0].path


@dataclass(frozen=True, eq=False)
class Axis:
    """A take with all its tracks on one axis."""

    name: str
    rate_hz: int
    frames: int
    begin: int | None  # samples since midnight at sample 0, where a clock was kept
    track: tuple[AxisTrack, ...]
    left_out: tuple[str, ...] = ()  # tracks that are not on the axis, and why

    @property
    def courses(self) -> tuple[Course, ...]:
        """The recordings, each once, in the order of the tracks."""
        return tuple(dict.fromkeys(track.course for track in self.track))

    def read(self, start: int, frames: int, tracks: Sequence[AxisTrack] | None = None) -> Sound:
        """Read a stretch of all tracks, or of some: shape (tracks, frames)."""
        chosen = self.track if tracks is None else tracks
        out = np.empty((len(chosen), frames), np.float32)
        for course in dict.fromkeys(track.course for track in chosen):
            sound = course.read(start, frames)
            for place, track in enumerate(chosen):
                if track.course is course:
                    out[place] = sound[:, track.channel]
        return out


def axis_of(take: Take, rows: Sequence[DrawnInput] = ()) -> Axis:
    """Put the tracks of a take on one axis.

    Parameters
    ----------
    take
        Its files.
    rows
        What was drawn, where there is a drawing.
    """
    rate_hz = _commonest([strand.rate_hz for strand in take.strand if strand.frames])
    begin = take.begin
    given = assign([lane for lane in take.lane if lane.strand.frames], rows)
    odd = [one.lane for one in given if one.lane.strand.rate_hz != rate_hz]
    labels = _own_labels([one.row.label if one.row else one.lane.label for one in given])
    courses = {id(strand): Course(strand, _late(strand, begin)) for strand in take.strand}
    tracks = tuple(
        AxisTrack(label, one.number, courses[id(one.lane.strand)], one.lane.channel - 1, one.row, one.doubt)
        for one, label in zip(given, labels, strict=True)
        if one.lane.strand.rate_hz == rate_hz
    )
    return Axis(
        name=take.name,
        rate_hz=rate_hz,
        frames=max((track.course.end for track in tracks), default=0),
        begin=begin,
        track=tracks,
        left_out=tuple(_odd_rate(odd, rate_hz)),
    )


def _commonest(values: Sequence[int]) -> int:
    counts = Counter(values)
    return min(counts, key=lambda value: (-counts[value], value), default=0)


def _late(strand: Strand, begin: int | None) -> int:
    return since(strand.start, begin, strand.rate_hz) if strand.start is not None and begin is not None else 0


def _own_labels(labels: Sequence[str]) -> list[str]:
    """Number labels that come twice, so that each names one track."""
    every, seen = Counter(labels), Counter[str]()
    own = []
    for label in labels:
        seen[label] += 1
        own.append(label if every[label] == 1 else f"{label} ({seen[label]})")
    return own


def _odd_rate(odd: Sequence[Lane], rate_hz: int) -> Iterator[str]:
    if odd:
        names = listed([lane.label for lane in odd])
        yield f"{names}: of another sample rate than {rate_hz} Hz, so not on one axis with the others"


def find_axes(folder: Path | str, rows: Sequence[DrawnInput] = ()) -> tuple[Axis, ...]:
    """Find the takes below a folder, in the order of the clock where one was kept.

    Parameters
    ----------
    folder
        Where the recordings lie.
    rows
        What was drawn, where there is a drawing.

    Raises
    ------
    Fault
        The folder is not there or holds no recordings that can be read.
    """
    root = Path(folder)
    if not root.is_dir():
        raise Fault("there is no such folder", str(root), "name the folder that holds the recordings")
    takes = merged(find_takes(root).take)
    axes = [axis for axis in (axis_of(take, rows) for take in takes) if axis.track]
    if not axes:
        raise Fault("no recordings lie there", str(root), "WAV, RF64, W64, AIFF and FLAC are read; name their folder")
    if all(axis.begin is not None for axis in axes):
        latest_s = max(map(_clock_s, axes))
        axes.sort(key=lambda axis: _clock_s(axis) + (_DAY_S if _clock_s(axis) < latest_s - _DAY_S / 2 else 0))
    return tuple(axes)


def _clock_s(axis: Axis) -> float:
    return (axis.begin or 0) / axis.rate_hz
