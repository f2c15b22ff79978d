"""Whether a track ran out of level, in the converter or before it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Track, spanned
from fieldfare.takes.measure.grain import I64
from fieldfare.takes.measure.shapes import TOP_ROWS, Tops
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import figure

Spanned = tuple[int, int, tuple[tuple[int, int], ...], int]  # first, end, places to tell, how many there are


def at_the_converter(track: Track) -> Iterator[Hit]:
    """Runs of samples at full scale, entered or left steeply, or many short peaks that all reach it."""
    rails = [one for one in track.channel.rails if one.runs]
    if not rails:
        yield from _touched(track)
        return
    runs, samples = sum(one.runs for one in rails), sum(one.samples for one in rails)
    longest = max(rails, key=lambda one: one.longest)
    start, end, places, count = spanned((one.start, one.end) for one in rails)
    few = samples < limit.CLIP_NOTE_SAMPLES.value
    at = sample_clock(longest.start, track.rate_hz)
    says = (
        f"{runs} {'peak runs' if runs == 1 else 'peaks run'} into full scale, {samples} samples in all; "
        f"the worst, at {at}, stays there for {longest.longest}"
    )
    yield Hit(
        "note" if few else "warn",
        says,
        "listen there; short runs can be redrawn by a declipper, long ones are better hidden in the mix. "
        "Take the gain down before the next set: bands play louder than at the soundcheck",
        0.99 if longest.longest >= limit.CLIP_SURE_RUN.value else 0.85,
        start,
        end,
        places,
        count,
        {"runs": float(runs), "samples": float(samples), "longest_samples": float(longest.longest)},
    )


def _touched(track: Track) -> Iterator[Hit]:
    """Peaks of hiss and cymbals that run out of the converter's level, too short each to stay there for a run."""
    cut = [(side, row) for side, row in _ceilings(track) if abs(side.height_db(row)) <= limit.TOP_RAIL_DB.value]
    if not cut:
        return
    at, (start, end, places, count) = _tops(cut, track.rate_hz)
    yield Hit(
        "warn",
        f"short peaks reach full scale one after another, in {len(at)} places, first at "
        f"{sample_clock(start, track.rate_hz)}",
        "listen there. Take the gain down before the next set: bands play louder than at the soundcheck",
        0.75,
        start,
        end,
        places,
        count,
        {"tops": float(len(at))},
    )


def before_the_converter(track: Track) -> Iterator[Hit]:
    """Flat tops at one ceiling below full scale, or many short ones, while lower peaks are round."""
    cut = [(side, row) for side, row in _ceilings(track) if abs(side.height_db(row)) > limit.TOP_RAIL_DB.value]
    if not cut:
        return
    at, (start, end, places, count) = _tops(cut, track.rate_hz)
    level_db = max(side.height_db(row) for side, row in cut)
    says = (
        f"flat tops at {figure(level_db, 1)} dBFS, below full scale: {'both sides' if len(cut) == 2 else 'one side'}, "
        f"first at {sample_clock(start, track.rate_hz)}"
    )
    yield Hit(
        "warn",
        says,
        "turning down the recorder does not cure it: what ran out of level comes before it. Put in the pad, turn down "
        "the source, the preamp, the wireless pack or the DI. If a pedal is meant to sound so, leave it",
        0.9 if len(cut) == 2 else 0.75,
        start,
        end,
        places,
        count,
        {"ceiling_dbfs": level_db, "tops": float(len(at))},
    )


def _tops(cut: Sequence[tuple[Tops, int]], rate_hz: int) -> tuple[I64, Spanned]:
    """Where the tops at the ceilings of both sides are, and the stretches they lie in, a second apart."""
    zone = round(10 * limit.TOP_CEILING_DB.value)
    kept = [(side, side.cut_row < row + zone) for side, row in cut]
    at = np.concatenate([side.cut_at[there] for side, there in kept])
    ends = at + np.concatenate([side.cut_width[there] for side, there in kept])
    order = np.argsort(at, kind="stable")
    at, ends = at[order], ends[order]
    apart = np.flatnonzero(np.diff(at) > rate_hz) + 1
    first, last = np.append(0, apart), np.append(apart, len(at)) - 1
    return at, spanned(zip(at[first].tolist(), ends[last].tolist(), strict=True))


def _ceilings(track: Track) -> list[tuple[Tops, int]]:
    """The sides that are cut, and the rows of their ceilings."""
    return [(side, row) for side in track.channel.tops if (row := _ceiling(side)) is not None]


def _ceiling(side: Tops) -> int | None:
    """Return the row of the ceiling that a side is cut at; none where it is not.

    Natural peaks thin out with height, so no more may lie in the first decibel than in the next. They pile up where
    something limits them; a clipper leaves them flat, or several as high within milliseconds, where a limiter lets one
    alone reach its ceiling and a player's notes are round. Lower peaks show that the sound is not flat by itself; where
    none is lower, several short ones do: square waves have none.
    """
    rows = np.flatnonzero(side.counts.sum(axis=1))
    if not len(rows):
        return None
    top = int(rows[0])
    zone, below_db = round(10 * limit.TOP_CEILING_DB.value), round(10 * limit.TOP_BELOW_DB.value)
    near = side.counts[top : top + zone].sum(axis=0)
    under = side.counts[top + zone : top + 2 * zone].sum()
    below = side.counts[min(top + below_db, TOP_ROWS) :].sum(axis=0)
    if near.sum() < under:
        return None
    least, times = limit.TOP_WINDOWS.value, limit.TOP_FLAT_TIMES.value
    cut, below_cut = near[1:].sum() / near.sum(), below[1:].sum() / max(1, below.sum())
    short, below_short = near[2] / near.sum(), below[2] / max(1, below.sum())
    flat = below.sum() >= limit.TOP_ROUND.value and near[1:].sum() >= least
    flat = flat and cut >= max(limit.TOP_FLAT_SHARE.value, times * below_cut)
    several = near[2] >= 2 * least and short >= max(limit.TOP_SHORT_SHARE.value, times * below_short)
    return top if flat or several else None
