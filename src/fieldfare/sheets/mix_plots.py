"""Plots of a mixed piece: loudness over time with what the limiter took off, and what each track gives to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from fieldfare.sheets.axis import Tick, time_ticks
from fieldfare.sheets.head import counted
from fieldfare.show.mix import MixCourse, MixSheet, TrackShare
from fieldfare.units.clock import clock
from fieldfare.units.text import figure

RANGE_LU, ABOVE_LU, STEP_LU = 30.0, 9.0, 6.0  # shown in all, and of it above the target
LIMITED_DB = 12.0
SHARES_LU, SHARES_STEP_LU = 36.0, 12.0  # of the tracks' bars
TICKS = 7

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """What one track gives."""

    name: str
    level: str
    length: float  # of the room for bars, 0 to 1
    pan: float  # -1 left, 1 right


@dataclass(frozen=True, slots=True)
class Lane:
    """Where something is turned down: stretches, 0 to 1 along the plot. Without a name it is the whole mix."""

    name: str
    spans: Points


@dataclass(frozen=True, slots=True)
class MixPlot:
    """One piece. Places are 0 to 1 along it, heights 0 to 1 from the foot of the plot up."""

    title: str
    about: str
    ticks: tuple[Tick, ...]
    levels: tuple[Tick, ...]
    target: float
    momentary: tuple[Points, ...]
    short: tuple[Points, ...]
    limited: Points  # downwards, 1 is all of LIMITED_DB
    lanes: tuple[Lane, ...]
    bars: tuple[Bar, ...]
    bar_ticks: tuple[Tick, ...]


def mix_plot(course: MixCourse, sheet: MixSheet) -> MixPlot:
    """Make the plot of a piece.

    Parameters
    ----------
    course
        How it went.
    sheet
        The mix that it was made by.
    """
    long_s = (course.end - course.start) / sheet.rate_hz
    target = sheet.target.loudness_lufs
    top = target + ABOVE_LU

    def height(level: float) -> float:
        return round(min(1.0, max(0.0, 1 - (top - level) / RANGE_LU)), 4)

    def line(values: Sequence[float | None]) -> tuple[Points, ...]:
        return tuple(_runs(values, course.step_s / long_s, height))

    steps = [(place, min(1.0, taken / LIMITED_DB)) for place, taken in enumerate(course.limited_db)]
    edges = [(min(1.0, (place + side) * course.step_s / long_s), share) for place, share in steps for side in (0, 1)]
    most = STEP_LU * -(-target // STEP_LU)
    return MixPlot(
        title=course.title,
        about=f"{clock(long_s)}; {counted(len(course.track), 'track')}",
        ticks=time_ticks(long_s, TICKS),
        levels=tuple(Tick(height(target + n * STEP_LU), figure(target + n * STEP_LU)) for n in range(1, -4, -1)),
        target=height(target),
        momentary=line(course.momentary_lufs),
        short=line(course.short_lufs),
        limited=tuple((round(at, 4), round(share, 3)) for at, share in edges) if any(course.limited_db) else (),
        lanes=tuple(_lanes(course, sheet)),
        bars=tuple(_bars(course.track, most)),
        bar_ticks=tuple(
            Tick(round(1 - n * SHARES_STEP_LU / SHARES_LU, 4), figure(most - n * SHARES_STEP_LU)) for n in range(4)
        ),
    )


def _runs(values: Sequence[float | None], step: float, height: Callable[[float], float]) -> Iterator[Points]:
    """Points of a line at the middle of its steps, in pieces where there is nothing between."""
    places = enumerate(values)
    for there, run in groupby(places, lambda one: one[1] is not None):
        if there:
            yield tuple((round(min(1.0, (n + 0.5) * step), 4), height(level)) for n, level in run if level is not None)


def _lanes(course: MixCourse, sheet: MixSheet) -> Iterator[Lane]:
    """The whole mix where it is ridden down, then every track that has a gate which was shut."""

    def along(spans: Sequence[tuple[int, int]]) -> Points:
        first, length = course.start, course.end - course.start
        inside = [(max(start, first), min(end, course.end)) for start, end in spans]
        return tuple(
            (round((start - first) / length, 4), round((end - first) / length, 4))
            for start, end in inside
            if end > start
        )

    if rides := along([(ride.start, ride.end) for ride in sheet.ride if ride.gain_db < 0]):
        yield Lane("", rides)
    for one in course.track:
        if shut := along(one.shut):
            yield Lane(one.label, shut)


def _bars(tracks: Sequence[TrackShare], most: float) -> Iterator[Bar]:
    """Tracks from the loudest to the softest; silent ones last."""
    for one in sorted(tracks, key=lambda one: -(one.loudness_lufs if one.loudness_lufs is not None else -1e9)):
        level = one.loudness_lufs
        length = 0.0 if level is None else min(1.0, max(0.0, 1 - (most - level) / SHARES_LU))
        yield Bar(one.label, "silent" if level is None else figure(level, 1), round(length, 4), one.pan)
