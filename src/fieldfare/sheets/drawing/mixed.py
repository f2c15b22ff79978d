"""How a piece was mixed, as in a report, for a screen: loudness over time, and what each track gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from html import escape

from fieldfare.sheets.drawing.plot import WIDTH
from fieldfare.sheets.mix_plots import LIMITED_DB, MixPlot, Points
from fieldfare.units.text import figure

LEFT, RIGHT, TOP, BOTTOM = 128.0, 690.0, 10.0, 170.0
LIMIT_TOP, LIMIT_BOTTOM = 178.0, 212.0
LANES, LANE = 220.0, 18.0
BAR, NAMES, BARS, PLACES = 18.0, 190.0, 560.0, (610.0, 700.0)
LONGEST_NAME = 28


def course_plot(plot: MixPlot) -> tuple[str, float]:
    """Draw loudness over time, what the limiter took off, and where tracks and mix were turned down; with its height.

    Every text in it is escaped; colours are left to the page.
    """
    foot = LANES + LANE * len(plot.lanes)

    def x(at: float) -> float:
        return LEFT + at * (RIGHT - LEFT)

    def course(points: Points, kind: str) -> str:
        placed = " ".join(f"{x(at):.1f},{BOTTOM - up * (BOTTOM - TOP):.1f}" for at, up in points)
        return f'<polyline points="{placed}" class="{kind}"/>'

    limited = [(at, LIMIT_TOP + down * (LIMIT_BOTTOM - LIMIT_TOP)) for at, down in plot.limited]
    area = " ".join(f"{x(at):.1f},{y:.1f}" for at, y in [(0.0, LIMIT_TOP), *limited, (1.0, LIMIT_TOP)])
    aim = BOTTOM - plot.target * (BOTTOM - TOP)
    parts = [
        *(_upright(x(tick.at), foot, tick.text) for tick in plot.ticks),
        *(_level(BOTTOM - tick.at * (BOTTOM - TOP), tick.text) for tick in plot.levels),
        _figure(LIMIT_TOP, "0 dB"), _figure(LIMIT_BOTTOM, f"{figure(-LIMITED_DB)} dB"),
        *(course(points, "p-thin") for points in plot.momentary),
        *(course(points, "p-course") for points in plot.short),
        f'<line x1="{LEFT}" x2="{RIGHT}" y1="{aim:.1f}" y2="{aim:.1f}" class="p-aim"/>',
        f'<polygon points="{area}" class="p-sound"/>' if limited else "",
        *_lanes(plot, x),
        _frame(TOP, BOTTOM), _frame(LIMIT_TOP, LIMIT_BOTTOM),
        f'<text x="{(LEFT + RIGHT) / 2}" y="{foot + 32:.0f}" class="middle">time, h:mm:ss</text>',
    ]  # fmt: skip
    return "".join(parts), foot + 40


def _upright(x: float, foot: float, words: str) -> str:
    return (
        f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{foot:.1f}" class="p-grid"/>'
        f'<text x="{x:.1f}" y="{foot + 15:.1f}" class="middle">{words}</text>'
    )


def _level(y: float, words: str) -> str:
    return f'<line x1="{LEFT}" x2="{RIGHT}" y1="{y:.1f}" y2="{y:.1f}" class="p-grid"/>{_figure(y, words)}'


def _figure(y: float, words: str) -> str:
    return f'<text x="{LEFT - 6}" y="{y + 4:.1f}" class="end">{words}</text>'


def _frame(top: float, foot: float) -> str:
    return f'<rect x="{LEFT}" y="{top}" width="{RIGHT - LEFT}" height="{foot - top}" class="p-frame"/>'


def _lanes(plot: MixPlot, x: Callable[[float], float]) -> Iterator[str]:
    room = 18  # letters
    for number, lane in enumerate(plot.lanes):
        top = LANES + number * LANE
        yield _figure(top + LANE / 2, _cut(lane.name or "whole mix", room))
        for start, end in lane.spans:
            wide = max(1.5, x(end) - x(start))
            yield f'<rect x="{x(start):.1f}" y="{top + 3:.1f}" width="{wide:.1f}" height="{LANE - 6}" class="p-mark"/>'


def share_plot(plot: MixPlot) -> tuple[str, float]:
    """Draw every track by its loudness in the mix, with its place between left and right; with its height."""
    foot = TOP + BAR * len(plot.bars)
    left, right = PLACES
    middle = (left + right) / 2
    ticks = [(NAMES + tick.at * (BARS - NAMES), tick.text) for tick in plot.bar_ticks]
    sides = [(left, "left"), (middle, "middle"), (right, "right")]
    return "".join([
        *(_upright(x, foot, words) for x, words in [*ticks, *sides]),
        *_bars(plot),
        f'<text x="{(NAMES + BARS) / 2}" y="{foot + 32:.0f}" class="middle">'
        "LUFS</text>",
    ]), foot + 40  # fmt: skip


def _bars(plot: MixPlot) -> Iterator[str]:
    left, right = PLACES
    for number, one in enumerate(plot.bars):
        y = TOP + (number + 0.5) * BAR
        wide, place = one.length * (BARS - NAMES), (left + right) / 2 + one.pan * (right - left) / 2
        yield f'<text x="{NAMES - 6}" y="{y + 4:.1f}" class="end">{_cut(one.name)}</text>'
        yield f'<rect x="{NAMES}" y="{y - 5:.1f}" width="{wide:.1f}" height="10" class="p-sound"/>'
        yield f'<text x="{NAMES + wide + 6:.1f}" y="{y + 4:.1f}">{one.level}</text>'
        yield f'<circle cx="{place:.1f}" cy="{y:.1f}" r="3.5" class="p-sound"/>'


def _cut(name: str, most: int = LONGEST_NAME) -> str:
    return escape(name if len(name) <= most else f"{name[: most - 1]}…")


def view_box(height: float) -> str:
    """Return the measures of a plot of a height.

    >>> view_box(300.0)
    '0 0 720 300'
    """
    return f"0 0 {WIDTH:g} {height:g}"
