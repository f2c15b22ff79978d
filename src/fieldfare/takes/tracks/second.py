"""A second look into the recording itself, where a track is broken off and too few others were seen to be.

What is measured keeps jumps that stand far out of their track. A block that was left out jumps on all tracks, on most
of them little: there the samples are read again, and what prediction leaves at that very sample is held against what it
leaves around. That several tracks do so by chance at one sample is less likely than that a block is missing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Take, Track
from fieldfare.takes.checks.clicks import doubtful
from fieldfare.takes.measure.grain import CLICK_REACH, F64
from fieldfare.takes.measure.residual import NEEDED_AFTER, NEEDED_BEFORE, SIDE, held_against
from fieldfare.takes.measure.shapes import Click
from fieldfare.units.faults import Fault

MOST_PLACES = 256  # that are looked at again: a card reads so many short stretches of each track in seconds

Reader = Callable[[Track, int, int], F64]
"""Reads a track from a frame on, so many frames, in codes."""


def looked_at_again(take: Take, read: Reader) -> Take:
    """Look again at samples where a track is broken off, and add the jumps of the others.

    Parameters
    ----------
    take
        As measured.
    read
        Reads the recording. What cannot be read any more is not looked at again.
    """
    found: dict[int, list[Click]] = {}
    for at, others in sorted(doubtful(take), key=lambda one: len(one[1]))[:MOST_PLACES]:  # where most jump, first
        for track in others:
            if (click := _jump(track, at, read)) is not None:
                found.setdefault(id(track), []).append(click)
    return replace(take, tracks=tuple(_with_more(track, found.get(id(track), [])) for track in take.tracks))


def _jump(track: Track, at: int, read: Reader) -> Click | None:
    """The jump of a track at a sample; none where it does not stand out there."""
    start, frames = at - NEEDED_BEFORE, NEEDED_BEFORE + NEEDED_AFTER
    if start < 0 or start + frames > track.channel.frames:
        return None
    try:
        part = read(track, start, frames)
    except (Fault, OSError):
        return None
    before, after, change = held_against(part[np.newaxis])[0]
    if min(before, after) < limit.CLICK_FAINT.value:
        return None
    bends = np.abs(np.diff(part, n=2))
    bend = float(bends[NEEDED_BEFORE - 3 : NEEDED_BEFORE + 1].max())
    beside = [float(side.mean()) for side in (bends[SIDE - CLICK_REACH : SIDE], bends[-SIDE : CLICK_REACH - SIDE])]
    return Click(
        at=at,
        bend=int(bend),
        before=beside[0],
        after=beside[1],
        alone=False,
        over_before=float(before),
        over_after=float(after),
        change=float(change),
        tall=bend / (float(np.abs(part).max()) + 1.0),
    )


def _with_more(track: Track, clicks: list[Click]) -> Track:
    if not clicks:
        return track
    channel = track.channel
    every = tuple(sorted((*channel.clicks, *clicks), key=lambda one: one.at))
    channels = list(track.measures.channel)
    channels[track.place - 1] = replace(channel, clicks=every)
    return replace(track, measures=replace(track.measures, channel=tuple(channels)))
