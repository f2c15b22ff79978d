"""The shapes of two plots: the level of a track over time, and the sound around a place.

Shapes alone, as SVG without any text, 1000 wide: they are stretched to where they stand, on a screen and on paper, and
the words of the axes are set beside them. What is drawn is filled, never stroked, so that stretching does no harm.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.findings import LevelCourse

WIDTH = 1000.0
RANGE_DB = 60.0  # from the top of the plot to its foot
LEVEL_TICKS_DB = (0, -20, -40, -60)
WAVE_HEIGHT = 100.0
_WHOLE = 0.9  # of the plot: what covers it all is a stripe along its top, or nothing of the level would be seen
_STRIPE = 5.0
_LEAST = 2.4  # of a mark, so that one sample is still seen
_SCALES = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)


class Span(NamedTuple):
    """A place that is marked, 0 to 1 along the plot."""

    start: float
    end: float
    severity: str


def level_shapes(course: LevelCourse | None, frames: int, spans: Iterable[Span]) -> str:
    """Draw the level of a track: rms as a dark area, peaks as a pale one, places as bars. 1000 wide, 60 high.

    Parameters
    ----------
    course
        The level; none draws the grid and the places alone.
    frames
        Samples of the whole take, which is as long as the plot is wide.
    spans
        What was found, and where.
    """
    grid = [f'<rect x="0" y="{-level - 0.15:g}" width="1000" height="0.3" class="p-line"/>' for level in LEVEL_TICKS_DB]
    areas = _course(course, frames) if course is not None and frames else ()
    every = list(spans)
    long = [span for span in every if span.end - span.start >= _WHOLE]
    short = [span for span in every if span not in long]
    return "".join([*areas, *grid, *_bars(long, _STRIPE), *_bars(short, RANGE_DB)])


def _course(course: LevelCourse, frames: int) -> tuple[str, ...]:
    edges = [min(place * course.frames / frames, 1.0) * WIDTH for place in range(len(course.rms_dbfs) + 1)]
    areas = ((course.peak_dbfs, "p-peak"), (course.rms_dbfs, "p-rms"))
    return tuple(
        _polygon([(0.0, RANGE_DB), *_stairs(edges, [_depth(level) for level in levels]), (edges[-1], RANGE_DB)], kind)
        for levels, kind in areas
    )


def _depth(level_dbfs: float | None) -> float:
    return RANGE_DB if level_dbfs is None else min(max(-level_dbfs, 0.0), RANGE_DB)


def _stairs(edges: Sequence[float], values: Sequence[float]) -> list[tuple[float, float]]:
    """Give each column its own flat top."""
    return [(x, value) for place, value in enumerate(values) for x in (edges[place], edges[place + 1])]


def _polygon(points: Sequence[tuple[float, float]], kind: str) -> str:
    return f'<polygon points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in points)}" class="{kind}"/>'


def _bars(spans: Iterable[Span], height: float) -> list[str]:
    bars = []
    for span in spans:
        width = max(_LEAST, (span.end - span.start) * WIDTH)
        x = min(max(0.0, span.start * WIDTH - (_LEAST / 2 if width == _LEAST else 0)), WIDTH - width)
        kind = "p-stop" if span.severity == "stop" else "p-warn"
        bars.append(f'<rect x="{x:.1f}" y="0" width="{width:.1f}" height="{height:g}" class="{kind}"/>')
    return bars


def wave_scale(low: NDArray[np.float32], high: NDArray[np.float32]) -> float:
    """Return the round share of full scale that a piece of sound fits into."""
    top = max(float(np.abs(low).max(initial=0.0)), float(np.abs(high).max(initial=0.0)))
    return next((scale for scale in _SCALES if scale >= top), max(1.0, float(np.ceil(top))))


def wave_shapes(low: NDArray[np.float32], high: NDArray[np.float32], scale: float, span: Span) -> str:
    """Draw the outline of some sound with a place marked. 1000 wide, 100 high, `scale` to the edge.

    Parameters
    ----------
    low, high
        Lowest and highest sample of each column, full scale 1.
    scale
        Share of full scale at the upper edge; `wave_scale` gives a fitting one.
    span
        The place.
    """
    half = WAVE_HEIGHT / 2
    each = WIDTH / max(len(low), 1)
    upper = [(each * (n + 0.5), half - value / scale * half - 0.5) for n, value in enumerate(high.tolist())]
    lower = [(each * (n + 0.5), half - value / scale * half + 0.5) for n, value in enumerate(low.tolist())]
    grid = [f'<rect x="0" y="{y - 0.25:g}" width="1000" height="0.5" class="p-line"/>' for y in (0.25, half, 99.75)]
    return "".join([*_bars([span], WAVE_HEIGHT), *grid, _polygon([*upper, *reversed(lower)], "p-sound")])
