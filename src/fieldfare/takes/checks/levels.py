"""Whether anything reached a track, and whether it is loud enough."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import SILENCE_DB, Hit, Track
from fieldfare.takes.measure.grain import LEVEL_S
from fieldfare.units.text import figure


def is_dead(track: Track) -> bool:
    """Whether nothing but steady noise or hum was recorded.

    The third loudest stretch stands for the loudest, so that the thump of a plug does not make a line live.
    """
    levels = np.sort(track.levels_db)
    if track.channel.peak == 0:
        return True
    if len(levels) * LEVEL_S < limit.DEAD_LEAST_S.value:
        return False
    loudest, quietest = float(levels[-3]), float(np.percentile(levels, 5))
    steady = loudest - quietest < limit.DEAD_STEADY_DB.value
    if loudest < limit.DEAD_DBFS.value:
        return steady or loudest <= SILENCE_DB
    return steady and loudest < limit.DEAD_HUM_DBFS.value and track.hum is not None


def dead(track: Track) -> Iterator[Hit]:
    """Nothing but silence, noise or hum from end to end."""
    if not is_dead(track):
        return
    level = f"at {figure(track.loud_db)} dBFS"
    if track.channel.peak == 0:
        says = "digital silence from end to end: the channel was off, muted or not routed"
    elif track.hum is not None and track.loud_db >= limit.DEAD_DBFS.value:
        says = f"nothing but hum {level}: the line was open, or its lead lay unplugged"
    else:
        says = f"nothing but steady noise {level}: no signal reached this track"
    yield Hit(
        "stop" if track.named else "note",
        says,
        f"it cannot be brought back: use the spill in its neighbours. {_power(track)}Before the next take walk the "
        "line from the source on: microphone switched on, phantom, lead, box, patch",
        0.98 if track.planned or track.named else 0.9,
        0,
        track.channel.frames,
        figures={"loud_dbfs": track.loud_db, "peak_dbfs": track.peak_db},
    )


def _power(track: Track) -> str:
    """Say what phantom power has to do with it, where what picks the source up is known to need it."""
    row = track.planned or track.listed
    return "It needs phantom power: look there first. " if row is not None and row.phantom_need == "needed" else ""


def very_low(track: Track) -> Iterator[Hit]:
    """Recorded far below what is usual, or below what the plan expects."""
    if is_dead(track):
        return
    reserve = track.planned.reserve.value if track.planned else None
    figures = {"peak_dbfs": track.peak_db, "loud_dbfs": track.loud_db}
    says = ""
    if track.peak_db < limit.LOW_PEAK_DBFS.value:
        says = f"peaks at {figure(track.peak_db)} dBFS only"
    if reserve is not None:
        under = -reserve - track.peak_db
        figures["under_plan_db"] = under
        if under > limit.LOW_UNDER_PLAN_DB.value and track.peak_db < limit.LOW_PLAN_PEAK_DBFS.value:
            says = f"peaks at {figure(track.peak_db)} dBFS, {figure(under)} dB under what the plan expects"
        elif under < limit.LOW_UNDER_PLAN_DB.value / 2:
            says = ""  # low by design
    if says:
        remedy = (
            "raise it in the mix and listen for noise. Before the next take look for a pad left in, gain not set, "
            "a fader or wireless pack turned down, a microphone facing away"
        )
        yield Hit("warn", says, remedy, 0.9 if reserve is not None else 0.75, 0, track.channel.frames, figures=figures)
