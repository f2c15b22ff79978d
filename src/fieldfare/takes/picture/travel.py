"""How much later a camera hears a source than the source's own microphone does, by the drawing.

Light takes no time: a picture is true to the stage, its sound is late by the way through the air. Where the places are
known that is taken off, so that a hit is heard when it is seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import dist
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fieldfare.physics.acoustics import USUAL_C, speed_of_sound
from fieldfare.show.record import Place3
from fieldfare.takes.axis import AxisTrack

F64 = NDArray[np.float64]
NEAR_S = 0.0004  # PRACTICE: tracks that say the same of the way differ by this: mics stand 0.15 m from where drawn
ASIDE_S = 0.001  # farther apart than this they do not say the same
ALONE = 0.7  # how sure one track alone can be, which nothing confirms
CLEAR_LEAD = 0.35  # of the weight, by which what most say leads before it is sure
SHARED = 0.8  # PRACTICE: what a track counts that heard another source than its own, against one that heard its own
_WIDE_M = 0.8  # sounds of one input farther apart than this have no one way to the camera


def travel_s(track: AxisTrack, camera: Place3, temperature_c: float | None) -> float | None:
    """Time by which a camera hears a track's own source later than the track does; none where it is not drawn.

    Parameters
    ----------
    track
        The track.
    camera
        Where the camera stands. [m]
    temperature_c
        Of the room, where somebody said. [°C]
    """
    drawn = track.drawn
    if drawn is None or track.role not in ("close", "voice") or not _one_place(drawn.sound_at):
        return None
    if drawn.taking in ("mic", "split") and drawn.at is None:
        return None
    speed = speed_of_sound(USUAL_C if temperature_c is None else temperature_c)
    ways = [
        dist(place, camera) - (dist(place, drawn.at) if drawn.taking in ("mic", "split") and drawn.at else 0.0)
        for place in drawn.sound_at
    ]
    return sum(ways) / len(ways) / speed


def _one_place(sounds: Sequence[Place3]) -> bool:
    """Whether sounds of one input lie so near together that there is one way to the camera."""
    return bool(sounds) and all(dist(sounds[0], other) <= _WIDE_M for other in sounds[1:])


def loud_places(tracks: Sequence[AxisTrack]) -> tuple[Place3, ...]:
    """Places of the sources that may be louder than a track's own in many tracks at once, each once. [m]"""
    rows = [track.drawn for track in tracks if track.drawn is not None and track.role in ("close", "voice")]
    return tuple(dict.fromkeys(row.sound_at[0] for row in rows if _one_place(row.sound_at)))


def through_s(
    track: AxisTrack, camera: Place3, temperature_c: float | None, places: Sequence[Place3]
) -> tuple[float | None, ...]:
    """Time by which a camera hears each of several places later than a track does; none where a track hears no air.

    Parameters
    ----------
    track
        The track, of whatever role.
    camera
        Where the camera stands. [m]
    temperature_c
        Of the room, where somebody said. [°C]
    places
        Where it sounds. [m]
    """
    drawn = track.drawn
    if drawn is None or drawn.at is None or not drawn.in_air:
        return (None,) * len(places)
    speed = speed_of_sound(USUAL_C if temperature_c is None else temperature_c)
    at = drawn.at
    return tuple((dist(place, camera) - dist(place, at)) / speed for place in places)


class Witness(NamedTuple):
    """What one track says: when it is heard, how often that was read, and by which ways it may have come."""

    late_s: float
    counts: float
    own_s: float | None  # from its own source
    through_s: tuple[float | None, ...] = ()  # from each of the places that may be louder


class Air(NamedTuple):
    """What was taken off for the way through the air."""

    drawn: bool  # by the drawing; else nothing was, and the sound alone is in time
    add_s: float  # to the take time of the device
    sure: float  # 0 to 1: how far the tracks agree on it
    same: int = 0  # tracks that say the same
    said: int = 0  # tracks that say anything


def agreed(witnesses: Sequence[Witness]) -> Air:
    """Find what most tracks say of the clock once the ways through the air are taken off.

    A microphone that hears another source louder than its own (a tom that hears the snare) is late by another way than
    its own. Each track is taken to have heard its own source, or one that all of them may have heard; which one that
    is, if any, is the one with which most of them say the same.

    Parameters
    ----------
    witnesses
        The tracks; at least one of them has a way of its own.

    Returns
    -------
    The mean of those that agree; it is the surer the more they outweigh the next that agree on something else.
    """
    late, counts = np.array([one.late_s for one in witnesses]), np.array([one.counts for one in witnesses])
    own = np.array([_number(one.own_s) for one in witnesses])
    through = np.array([[_number(way) for way in one.through_s] for one in witnesses]).reshape(len(late), -1)
    by_own, by_place = late + own, late[:, np.newaxis] + through  # (tracks,), (tracks, places)
    clocks = np.concatenate([by_own, by_place.ravel()])
    clocks = clocks[np.isfinite(clocks)]
    alone = _nearness(by_own[:, np.newaxis] - clocks)  # (tracks, clocks)
    shared = np.maximum(alone[np.newaxis], SHARED * _nearness(by_place.T[:, :, np.newaxis] - clocks))
    support = np.einsum("t,ptc->pc", counts, np.concatenate([alone[np.newaxis], shared]))
    support[1:, (np.abs(by_own[:, np.newaxis] - clocks) <= ASIDE_S).sum(axis=0) == 0] = 0.0  # nothing to hold on to
    place, best = (int(one) for one in np.unravel_index(int(np.argmax(support)), support.shape))
    found = by_own if not place else _nearer(by_own, by_place[:, place - 1], clocks[best])
    off = found - clocks[best]
    mine = np.abs(off) <= ASIDE_S
    rival = float(support[:, np.abs(clocks - clocks[best]) > ASIDE_S].max(initial=0.0))
    lead = (float(support[place, best]) - rival) / float(support[place, best])
    sure = min(1.0, lead / CLEAR_LEAD) * (1.0 if np.count_nonzero(mine) > 1 else ALONE)
    add_s = float(np.average(found[mine], weights=counts[mine] * _nearness(off[mine])))
    return Air(True, add_s, sure, int(np.count_nonzero(mine)), int(np.isfinite(found).sum()))


def _number(value: float | None) -> float:
    return float("nan") if value is None else float(value)


def _nearer(one: F64, other: F64, clock: float) -> F64:
    """Of two values of each track the one that lies nearer to a clock."""
    far = np.where(np.isfinite(one), np.abs(one - clock), np.inf)
    return np.where(np.where(np.isfinite(other), np.abs(other - clock), np.inf) < far, other, one)


def _nearness(off_s: F64) -> F64:
    """1 where nothing is between, falling off over NEAR_S; 0 where nothing is said."""
    return np.nan_to_num(np.exp(-((off_s / NEAR_S) ** 2) / 2), nan=0.0)


def weighted_median(values: Sequence[float], weights: Sequence[int]) -> float:
    """Middle of values that count as often as their weights say."""
    order = np.argsort(values)
    total = np.cumsum(np.array(weights)[order])
    half = total[-1] / 2
    first = int(np.searchsorted(total, half))
    low = values[order[first]]
    exact = total[first] == half and first + 1 < len(values)
    return float((low + values[order[first + 1]]) / 2) if exact else float(low)
