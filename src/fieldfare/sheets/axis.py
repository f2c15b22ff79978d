"""Axes of plots along time: round times, and no more of them than there is room for."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from fieldfare.units.clock import clock

STEPS_S = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200)


@dataclass(frozen=True, slots=True)
class Tick:
    """A figure on an axis, 0 to 1 along it."""

    at: float
    text: str


def time_ticks(long_s: float, most: int, begin_s: float = 0.0) -> tuple[Tick, ...]:
    """Write round times along a stretch of time.

    Parameters
    ----------
    long_s
        Length of the stretch. [s]
    most
        Steps that there is room for.
    begin_s
        Where it begins, on the clock that is written. [s]

    >>> [tick.text for tick in time_ticks(100.0, 5, begin_s=50.0)]
    ['0:01:00', '0:01:20', '0:01:40', '0:02:00', '0:02:20']
    """
    if long_s <= 0:
        return ()
    step = next((one for one in STEPS_S if long_s / one <= most), STEPS_S[-1])
    counts = range(ceil(begin_s / step), int((begin_s + long_s) / step) + 1)
    return tuple(
        Tick(round((count * step - begin_s) / long_s, 6), clock(count * step, 1 if step < 1 else 0)) for count in counts
    )
