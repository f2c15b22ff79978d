"""A figure as in a report: one quantity over another, a line for each case, named at its end; a whole SVG file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from math import ceil, floor, log10

from fieldfare.units.text import figure

WIDTH, HEIGHT = 640.0, 340.0
LEFT, TOP, RIGHT, BOTTOM = 66.0, 34.0, 520.0, 286.0
MOST_TICKS = 7
LINE = 15.0  # of text, so that names at the ends of lines stand apart
DASHES = ("", "7 4", "2 3", "10 3 2 3", "5 2")
STYLE = (
    "text{font:12px sans-serif;fill:#1C1A17}.title{font-size:13px;font-weight:600}"
    ".grid{stroke:#D6CCB8;stroke-width:.7}.axis,.line{stroke:#1C1A17;fill:none}.line{stroke-width:1.6}"
    ".bound{stroke:#A9241B;stroke-width:1.2;stroke-dasharray:4 3}.end{text-anchor:end}.middle{text-anchor:middle}"
)


@dataclass(frozen=True, slots=True)
class Curve:
    """The points of one case, in order from left to right."""

    name: str
    points: tuple[tuple[float, float], ...]
    joined: bool = True  # by a line; else they are cases of their own


@dataclass(frozen=True, slots=True)
class Bound:
    """A height that is not to be passed."""

    name: str
    height: float


def curves(title: str, across: str, up: str, drawn: Sequence[Curve], bound: Bound | None = None) -> str:
    """Draw curves over axes that begin at 0.

    Parameters
    ----------
    title
        What is shown.
    across, up
        What the axes are, with their units.
    drawn
        The curves; values are 0 or more, and at least one is above 0 on each axis.
    bound
        A height to hold them against.
    """
    points = [point for curve in drawn for point in curve.points]
    most_x, most_y = max(x for x, _ in points), max([y for _, y in points] + ([bound.height] if bound else []))
    step_x, step_y = _step(most_x), _step(most_y)
    end_x, end_y = step_x * ceil(most_x / step_x - 1e-9), step_y * ceil(most_y / step_y - 1e-9)

    def place(x: float, y: float) -> tuple[float, float]:
        return LEFT + x / end_x * (RIGHT - LEFT), BOTTOM - y / end_y * (BOTTOM - TOP)

    placed = [[place(*point) for point in curve.points] for curve in drawn]
    ends = [(curve.name, *spots[-1]) for curve, spots in zip(drawn, placed, strict=True)]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img">',
        f"<title>{escape(title)}</title><style>{STYLE}</style>",
        f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="#FFFFFF"/>',
        f'<text x="{LEFT}" y="18" class="title">{escape(title)}</text>',
        *(_upright(place(n * step_x, 0)[0], n * step_x, step_x) for n in range(round(end_x / step_x) + 1)),
        *(_level(place(0, n * step_y)[1], n * step_y, step_y) for n in range(round(end_y / step_y) + 1)),
        f'<text x="{(LEFT + RIGHT) / 2:.1f}" y="{BOTTOM + 38:.1f}" class="middle">{escape(across)}</text>',
        f'<text transform="translate(16 {(TOP + BOTTOM) / 2:.1f}) rotate(-90)" class="middle">{escape(up)}</text>',
        *(
            _curve(spots, n if curve.joined else None)
            for n, (curve, spots) in enumerate(zip(drawn, placed, strict=True))
        ),
        f'<path d="M{LEFT} {TOP}V{BOTTOM}H{RIGHT}" class="axis"/>',
    ]
    if bound:
        height = place(0, bound.height)[1]
        parts.append(f'<path d="M{LEFT} {height:.1f}H{RIGHT}" class="bound"/>')
        ends.append((bound.name, RIGHT, height))
    return "".join([*parts, *_names(ends), "</svg>\n"])


def _step(most: float) -> float:
    """The distance of ticks: 1, 2 or 5 of a power of ten, so that there are few."""
    power = 10.0 ** floor(log10(most))
    return next(step for step in (power / 10, power / 5, power / 2, power, 2 * power) if most / step <= MOST_TICKS)


def _said(value: float, step: float) -> str:
    return figure(value, max(0, -floor(log10(step) + 1e-9)))


def _upright(x: float, value: float, step: float) -> str:
    return (
        f'<path d="M{x:.1f} {TOP}V{BOTTOM}" class="grid"/>'
        f'<text x="{x:.1f}" y="{BOTTOM + 18:.1f}" class="middle">{_said(value, step)}</text>'
    )


def _level(y: float, value: float, step: float) -> str:
    return (
        f'<path d="M{LEFT} {y:.1f}H{RIGHT}" class="grid"/>'
        f'<text x="{LEFT - 8:.1f}" y="{y + 4:.1f}" class="end">{_said(value, step)}</text>'
    )


def _curve(spots: Sequence[tuple[float, float]], number: int | None) -> str:
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in spots)
    dots = "".join(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="#1C1A17"/>' for x, y in spots)
    if number is None:
        return dots
    return f'<polyline points="{path}" class="line" stroke-dasharray="{DASHES[number % len(DASHES)]}"/>{dots}'


def _names(ends: Sequence[tuple[str, float, float]]) -> Iterator[str]:
    """Names beside the ends of lines, moved down where they would stand on one another."""
    lowest = 0.0
    for name, x, y in sorted(ends, key=lambda end: end[2]):
        lowest = max(y, lowest + LINE)
        yield f'<text x="{x + 8:.1f}" y="{lowest + 4:.1f}">{escape(name)}</text>'
