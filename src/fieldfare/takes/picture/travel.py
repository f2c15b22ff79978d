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

from fieldfare.physics.acoustics import speed_of_sound
from fieldfare.show.record import Place3
from fieldfare.takes.axis import AxisTrack

TEMPERATURE_C = 20.0  # where nobody said
NEAR_S = 0.0004  # PRACTICE: tracks that say the same of the way differ by this: mics stand 0.15 m from where drawn
ASIDE_S = 0.001  # farther apart than this they do not say the same
ALONE = 0.7  # how sure one track alone can be, which nothing confirms
CLEAR_LEAD = 0.35  # of the weight, by which what most say leads before it is sure
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
    if drawn is None or track.role not in ("close", "voice") or not drawn.sound_at:
        return None
    places = list(drawn.sound_at)
    if any(dist(places[0], other) > _WIDE_M for other in places[1:]):
        return None
    if drawn.taking in ("mic", "split") and drawn.at is None:
        return None
    speed = speed_of_sound(TEMPERATURE_C if temperature_c is None else temperature_c)
    ways = [
        dist(place, camera) - (dist(place, drawn.at) if drawn.taking in ("mic", "split") and drawn.at else 0.0)
        for place in places
    ]
    return sum(ways) / len(ways) / speed


class Air(NamedTuple):
    """What was taken off for the way through the air."""

    drawn: bool  # by the drawing; else nothing was, and the sound alone is in time
    add_s: float  # to the take time of the device
    sure: float  # 0 to 1: how far the tracks agree on it
    same: int = 0  # tracks that say the same
    said: int = 0  # tracks that say anything


def agreed(found_s: NDArray[np.float64], weights: NDArray[np.float64]) -> Air:
    """Find what most tracks say of the clock once their own ways through the air are taken off.

    A microphone that hears another source louder than its own (a tom that hears the snare) is late by another way than
    the drawing says; such tracks each say something else, the others the same.

    Parameters
    ----------
    found_s
        What each track says. [s]
    weights
        How often each was read.

    Returns
    -------
    The mean of those that agree; it is the surer the more they outweigh the next that agree on something else.
    """
    apart = found_s[:, np.newaxis] - found_s[np.newaxis, :]
    support = (weights * np.exp(-((apart / NEAR_S) ** 2) / 2)).sum(axis=1)
    best = int(np.argmax(support))
    mine = np.abs(found_s - found_s[best]) <= ASIDE_S
    rival = float(support[~mine].max(initial=0.0))
    lead = (float(support[best]) - rival) / float(support[best])
    sure = min(1.0, lead / CLEAR_LEAD) if np.count_nonzero(mine) > 1 else ALONE * min(1.0, lead / CLEAR_LEAD)
    add_s = float(np.average(found_s[mine], weights=weights[mine] * _nearness(apart[best][mine])))
    return Air(True, add_s, sure, int(np.count_nonzero(mine)), len(found_s))


def _nearness(off_s: NDArray[np.float64]) -> NDArray[np.float64]:
    near: NDArray[np.float64] = np.exp(-((off_s / NEAR_S) ** 2) / 2)
    return near


def weighted_median(values: Sequence[float], weights: Sequence[int]) -> float:
    """Middle of values that count as often as their weights say."""
    order = np.argsort(values)
    total = np.cumsum(np.array(weights)[order])
    half = total[-1] / 2
    first = int(np.searchsorted(total, half))
    low = values[order[first]]
    exact = total[first] == half and first + 1 < len(values)
    return float((low + values[order[first + 1]]) / 2) if exact else float(low)
