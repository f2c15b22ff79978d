"""Plots of the sound around the gravest findings, with the words of their axes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import ceil, floor

from fieldfare.sheets.drawing.levels import Span, wave_scale, wave_shapes
from fieldfare.takes.closeup import CloseUp
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import figure

_STEPS_S = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)
_MOST_TICKS = 5


@dataclass(frozen=True, slots=True)
class Mark:
    """A figure on an axis, 0 to 1 along it."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class CloseUpPlot:
    """The sound around one finding."""

    number: str  # of the finding
    severity: str
    track: str
    what: str
    at: str
    shapes: str  # SVG, 1000 by 100
    times: tuple[Mark, ...]
    top: str  # share of full scale at the upper edge
    foot: str
    unit: str  # of the times


def closeup_plots(shown: Iterable[CloseUp], numbers: dict[int, str]) -> Iterator[CloseUpPlot]:
    """Make the plots of some findings.

    Parameters
    ----------
    shown
        What was read around them.
    numbers
        The number of each finding on the page, by its identity.
    """
    for one in shown:
        scale = wave_scale(one.low, one.high)
        start, end = one.marked
        ends = [min(max((at - one.first) / one.frames, 0.0), 1.0) for at in (start, end)]
        span = Span(ends[0], ends[1], one.finding.severity)
        unit, times = _times(one)
        digits = 3 if scale < 0.01 else 2 if scale < 0.1 else 1
        yield CloseUpPlot(
            number=numbers[id(one.finding)],
            severity=one.finding.severity,
            track=one.track,
            what=one.finding.kind,
            at=sample_clock(start, one.rate_hz),
            shapes=wave_shapes(one.low, one.high, scale, span),
            times=times,
            top=figure(scale, digits, sign=True),
            foot=figure(-scale, digits),
            unit=unit,
        )


def _times(one: CloseUp) -> tuple[str, tuple[Mark, ...]]:
    """Write round times from the start of the place on, before and after it."""
    length_s = one.frames / one.rate_hz
    step = next((step for step in _STEPS_S if length_s / step <= _MOST_TICKS), _STEPS_S[-1])
    zero_s = (one.marked[0] - one.first) / one.rate_hz
    unit, factor = ("ms", 1000.0) if step < 0.5 else ("s", 1.0)
    first, last = ceil(-zero_s / step), floor((length_s - zero_s) / step)
    return unit, tuple(
        Mark(round((zero_s + count * step) / length_s, 5), figure(count * step * factor, sign=True))
        for count in range(first, last + 1)
    )
