"""Hum and offset."""

from __future__ import annotations

from collections.abc import Iterator
from math import log10, sqrt

import numpy as np

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Track
from fieldfare.takes.checks.levels import is_dead
from fieldfare.takes.measure.grain import F64
from fieldfare.takes.measure.hum import quiet_stretches
from fieldfare.takes.measure.shapes import Strip
from fieldfare.units.text import figure, listed


def hum(track: Track) -> Iterator[Hit]:
    """A steady line at the mains and its multiples, through the quiet stretches."""
    found = track.hum
    if found is None or found.dbfs < limit.HUM_DBFS.value or is_dead(track):
        return
    under = track.loud_db - found.dbfs
    if under > limit.HUM_NOTE_DB.value:
        return
    lines = listed(f"{round(found.mains_hz * h)}" for h in found.harmonics)
    yield Hit(
        "warn" if under < limit.HUM_WARN_DB.value else "note",
        f"hum at {figure(found.dbfs)} dBFS, {figure(under)} dB under the loud parts: steady lines at {lines} Hz",
        "notch filters take most of it out. Before the next take: isolate the split or DI and lift its audio shield, "
        "feed both ends from one supply, keep the lead from transformers and dimmers; never lift a protective earth",
        min(0.99, 0.6 + 0.1 * len(found.harmonics)),
        0,
        track.channel.frames,
        figures={"hum_dbfs": found.dbfs, "mains_hz": found.mains_hz, "under_loud_db": under},
    )


def offset(track: Track) -> Iterator[Hit]:
    """What a track rests at, in its pauses, is not zero, and is more than the signal's own slow sway."""
    means = _rests(track.channel.strip, track.full_scale)
    if means is None:  # it never rests: what comes through a capacitor has no mean in its quiet stretches either
        means = track.channel.lows.mean[quiet_stretches(track.channel.lows)].astype(np.float64)
    if not len(means) or not (mean := float(np.median(means))):
        return
    few = 1 + 3 / max(1, len(means) - 2)
    if abs(mean) < few * limit.DC_SURE.value * float(np.std(means)) / sqrt(len(means)):
        return
    level = 20 * log10(abs(mean))
    if level < limit.DC_NOTE_DBFS.value:
        return
    yield Hit(
        "warn" if level >= limit.DC_WARN_DBFS.value else "note",
        f"a constant offset of {figure(level)} dBFS ({figure(100 * mean, 3, sign=True)} % of full scale)",
        "a high-pass filter at 10 to 20 Hz takes it out; do that before cutting. It comes from a converter or a "
        "leaking coupling capacitor in the preamp: have that looked at",
        0.95,
        0,
        track.channel.frames,
        figures={"dc_dbfs": level},
    )


def _rests(strip: Strip, full_scale: int) -> F64 | None:
    """Where the middle of the signal lies in the pauses, re full scale; nothing where it does not rest in them.

    Digital silence counts only where there is no other: a synthesiser rests at it, whatever the mean of its waves.
    """
    low, high = strip.low[:-1].astype(np.int64), strip.high[:-1].astype(np.int64)
    if not len(low):
        return None
    pause = high - low <= limit.DC_REST.value * np.percentile(high - low, 95)
    live = pause & ((high != 0) | (low != 0))
    least = limit.DC_RESTS.value * len(low)
    for some in (live, pause):
        if np.count_nonzero(some) >= max(least, 3):
            middle: F64 = (high[some] + low[some]) / (2.0 * full_scale)
            swing = float(np.median(high[some] - low[some])) / (2.0 * full_scale)
            return middle if swing <= abs(float(np.median(middle))) else None  # what swings through zero does not rest
    return None
