"""A plot of sound as in a report: samples over time, axes with units, the place that a finding is about marked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import chain

from fieldfare.units.clock import clock
from fieldfare.units.text import figure

WIDTH = 720.0
LEFT, TOP, RIGHT, BOTTOM = 56.0, 10.0, 712.0, 158.0
STEPS_S = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5)
LEVELS = (1.0, 0.5, 0.25, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001)
LEAST_MARK = 2.0  # so that one sample is still seen


def sound_plot(outline: Sequence[Sequence[float]], begin_s: float, end_s: float, marked_s: tuple[float, float]) -> str:
    """Draw the outline of some sound.

    Parameters
    ----------
    outline
        Lowest and highest sample of each column, full scale 1.
    begin_s, end_s
        Times of the recording that it spans. [s]
    marked_s
        The place that is meant. [s]
    """
    top = max((abs(one) for one in chain.from_iterable(outline)), default=0.0)
    scale = next((level for level in reversed(LEVELS) if level >= top), 1.0)

    def x(at_s: float) -> float:
        return LEFT + (at_s - begin_s) / max(end_s - begin_s, 1e-9) * (RIGHT - LEFT)

    def y(level: float) -> float:
        return (TOP + BOTTOM) / 2 - level / scale * (BOTTOM - TOP) / 2

    step = (RIGHT - LEFT) / max(len(outline), 1)
    upper = [f"{LEFT + (n + 0.5) * step:.1f},{y(high):.1f}" for n, (_, high) in enumerate(outline)]
    lower = [f"{LEFT + (n + 0.5) * step:.1f},{y(low) + 0.6:.1f}" for n, (low, _) in enumerate(outline)]
    a, b = max(LEFT, x(marked_s[0])), min(RIGHT, max(x(marked_s[1]), x(marked_s[0]) + LEAST_MARK))
    parts = [
        f'<rect x="{a:.1f}" y="{TOP}" width="{max(0.0, b - a):.1f}" height="{BOTTOM - TOP}" class="p-mark"/>',
        f'<polygon points="{" ".join([*upper, *reversed(lower)])}" class="p-sound"/>',
        *_levels(scale, y),
        *_times(begin_s, end_s, x),
        f'<rect x="{LEFT}" y="{TOP}" width="{RIGHT - LEFT}" height="{BOTTOM - TOP}" class="p-frame"/>',
    ]
    return "".join(parts)


def _levels(scale: float, place: Callable[[float], float]) -> list[str]:
    return [
        f'<line x1="{LEFT}" x2="{RIGHT}" y1="{place(level):.1f}" y2="{place(level):.1f}" class="p-grid"/>'
        f'<text x="{LEFT - 6}" y="{place(level) + 4:.1f}" class="end">{figure(level, 3 if scale < 0.01 else 2)}</text>'
        for level in (scale, 0.0, -scale)
    ]


def _times(begin_s: float, end_s: float, place: Callable[[float], float]) -> list[str]:
    step = next((one for one in STEPS_S if (end_s - begin_s) / one <= 6), STEPS_S[-1])
    first = int(begin_s / step) + 1
    decimals = 3 if step < 0.1 else 1 if step < 1 else 0
    ticks = [
        f'<line x1="{place(n * step):.1f}" x2="{place(n * step):.1f}" y1="{TOP}" y2="{BOTTOM}" class="p-grid"/>'
        f'<text x="{place(n * step):.1f}" y="{BOTTOM + 16}" class="middle">{clock(n * step, decimals)}</text>'
        for n in range(first, int(end_s / step) + 1)
    ]
    says = "time, h:mm:ss; height, share of full scale"
    return [*ticks, f'<text x="{(LEFT + RIGHT) / 2}" y="{BOTTOM + 30}" class="middle">{says}</text>']
