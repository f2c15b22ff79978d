"""Marks of the night put on the takes' axes: by the recorder's clock, or by a take's own time.

A recorder's clock may be minutes off that of the phone. Where several marks all lie beside the songs by the same
difference, and would lie on them without it, the clocks are that far apart; it is told, and taken off.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.night_marks import DAY_S, ClockMark
from fieldfare.show.songs import NightMark, SongBook
from fieldfare.takes.axis import Axis
from fieldfare.takes.songs.places import MARK_EARLY_S, MARK_LATE_S

MOST_APART_S, STEP_S = 900.0, 0.5  # of the clocks
LEAST_MARKS, LEAST_MORE = 3, 2  # that have to fit, and by how many more than with clocks that agree


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


def clocks_apart_s(marks: Sequence[ClockMark], axes: Sequence[Axis], book: SongBook) -> float:
    """Tell how far the recorder's clock is ahead of that by which marks were made; 0 where nothing says so. [s]

    Parameters
    ----------
    marks
        As they were made.
    axes
        The takes.
    book
        The songs as they are found without marks.
    """
    clocked = [axis for axis in axes if axis.begin is not None]
    by_name = {axis.name: axis for axis in clocked}
    begins = np.sort([
        (by_name[take.take].begin or 0) / take.rate_hz + song.start / take.rate_hz
        for take in book.take if take.take in by_name for song in take.song if song.keep
    ])  # fmt: skip
    made = np.array([mark.at_s for mark in marks if not mark.of_take])
    if len(made) < LEAST_MARKS or not len(begins):
        return 0.0
    steps = np.arange(-MOST_APART_S, MOST_APART_S + STEP_S / 2, STEP_S)
    fit = np.array([_fitting(made + step, begins) for step in steps])
    best = int(fit.max())
    if best < LEAST_MARKS or best < _fitting(made, begins) + LEAST_MORE:
        return 0.0
    likely = steps[fit == best]
    return float(np.median(likely[np.abs(likely - likely[np.argmin(np.abs(likely))]) <= MARK_EARLY_S + MARK_LATE_S]))


def _fitting(made_s: NDArray[np.float64], begins_s: NDArray[np.float64]) -> int:
    """How many marks lie where a mark of some song would."""
    late = made_s[:, np.newaxis] - begins_s[np.newaxis, :]
    return int(np.count_nonzero(((late >= -MARK_LATE_S) & (late <= MARK_EARLY_S)).any(axis=1)))


def moved(marks: Sequence[ClockMark], by_s: float) -> tuple[ClockMark, ...]:
    """Return marks by the recorder's clock."""
    return tuple(
        mark if mark.of_take else mark.model_copy(update={"at_s": (mark.at_s + by_s) % DAY_S}) for mark in marks
    )
