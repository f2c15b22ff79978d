"""Whether a track ran out of level, in the converter or before it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Track, spanned
from fieldfare.takes.measure.shapes import TOP_ROWS, Tops
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import figure


def at_the_converter(track: Track) -> Iterator[Hit]:
    """Runs of samples at full scale, entered or left steeply."""
    rails = [one for one in track.channel.rails if one.runs]
    if not rails:
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


def before_the_converter(track: Track) -> Iterator[Hit]:
    """Flat tops at one ceiling below full scale, while lower peaks are round."""
    cut = [(side, ceiling) for side in track.channel.tops if (ceiling := _ceiling(side)) is not None]
    if not cut:
        return
    kept = [(side, side.flat_row <= _within(row)) for side, row in cut]
    at = np.concatenate([side.flat_at[there] for side, there in kept])
    ends = at + np.concatenate([side.flat_width[there] for side, there in kept])
    order = np.argsort(at, kind="stable")
    at, ends = at[order], ends[order]
    level_db = max(side.height_db(row) for side, row in cut)
    apart = np.flatnonzero(np.diff(at) > track.rate_hz) + 1
    first, last = np.append(0, apart), np.append(apart, len(at)) - 1
    start, end, places, count = spanned(zip(at[first].tolist(), ends[last].tolist(), strict=True))
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


def _within(row: int) -> int:
    return row + round(10 * limit.TOP_CEILING_DB.value) - 1


def _ceiling(side: Tops) -> int | None:
    """Return the row of the ceiling that a side is cut at; none where it is not, or where that is full scale."""
    rows = np.flatnonzero(side.counts.sum(axis=1))
    if not len(rows):
        return None
    top = int(rows[0])
    if abs(side.height_db(top)) <= limit.TOP_RAIL_DB.value:
        return None
    zone, below_db = round(10 * limit.TOP_CEILING_DB.value), round(10 * limit.TOP_BELOW_DB.value)
    near = side.counts[top : top + zone].sum(axis=0)
    under = side.counts[top + zone : top + 2 * zone].sum()
    below = side.counts[min(top + below_db, TOP_ROWS) :].sum(axis=0)
    share, below_share = near[1] / near.sum(), below[1] / max(1, below.sum())
    piled = near.sum() >= under and below.sum() >= limit.TOP_ROUND.value and near[1] >= limit.TOP_WINDOWS.value
    cut = piled and share >= limit.TOP_FLAT_SHARE.value and share >= limit.TOP_FLAT_TIMES.value * below_share
    return top if cut else None
