"""Marks of the night put on the takes' axes: by the recorder's clock, or by a take's own time."""

from __future__ import annotations

from collections.abc import Sequence

from fieldfare.show.night_marks import DAY_S, ClockMark
from fieldfare.show.songs import NightMark
from fieldfare.takes.axis import Axis


def on_axes(marks: Sequence[ClockMark], axes: Sequence[Axis]) -> tuple[tuple[NightMark, ...], tuple[str, ...]]:
    """Put marks on the takes.

    Parameters
    ----------
    marks
        As they were made.
    axes
        The takes.

    Returns
    -------
    Those that lie in a take; and why others could not be used, in sentences.
    """
    placed = [_placed(mark, axes) for mark in marks]
    found = tuple(mark for mark in placed if mark is not None)
    lost = len(placed) - len(found)
    if not lost:
        return found, ()
    clocked = any(axis.begin is not None for axis in axes)
    why = "lie in no take: compare the clocks of recorder and phone" if clocked else "have no place: no clock was kept"
    return found, (f"{lost} of {len(placed)} marks of the night {why}",)


def _placed(mark: ClockMark, axes: Sequence[Axis]) -> NightMark | None:
    for axis in axes:
        if mark.take and mark.take != axis.name:
            continue
        sample = _sample(mark, axis)
        if sample is not None and 0 <= sample < axis.frames:
            return NightMark(take=axis.name, sample=sample, text=mark.text)
    return None


def _sample(mark: ClockMark, axis: Axis) -> int | None:
    if mark.of_take:
        return round(mark.at_s * axis.rate_hz)
    if axis.begin is None:
        return None
    return round((mark.at_s - axis.begin / axis.rate_hz) % DAY_S * axis.rate_hz)  # a night goes on past midnight
