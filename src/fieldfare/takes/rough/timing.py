"""How late the room mics hear the stage: measured against the sum of the close tracks, or told from the drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import dist

import numpy as np

from fieldfare.physics.acoustics import USUAL_C, speed_of_sound
from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.takes.lag import Pieces, correlate, pieces_of
from fieldfare.takes.rough.levels import GRAINS, TrackPower

LONGEST_S = 0.15  # 50 m
CLEAR = 8.0  # a peak of chance alone stands about 5 above the rest
FIRST_SHARE = 0.6  # PRACTICE
STRETCHES, STRETCH_S = 24, 4.0
_PIECE_S = 0.68


@dataclass(frozen=True, slots=True)
class Lateness:
    """By how much a track is later than the stage."""

    samples: int
    says: str


def lateness(
    axis: Axis, rooms: Sequence[AxisTrack], close: Sequence[tuple[AxisTrack, float]], loud: Sequence[int]
) -> tuple[Lateness | None, ...]:
    """Measure how late tracks hear what the close ones hear.

    Parameters
    ----------
    axis
        The take.
    rooms
        The room mics.
    close
        The close tracks, each with its gain in the mix.
    loud
        First samples of the stretches to look at, from `loud_stretches`.

    Returns
    -------
    How late each is; none where neither measurement nor drawing tells.
    """
    size = 1 << int(np.ceil(np.log2(max(_PIECE_S, 4 * LONGEST_S) * axis.rate_hz)))
    tracks = [*rooms, *(one for one, _ in close)]
    gains = np.array([gain for _, gain in close], np.float32)
    ours: list[Pieces] = []
    theirs: list[list[Pieces]] = [[] for _ in rooms]
    for start in loud if close else ():
        sound = axis.read(start, round(STRETCH_S * axis.rate_hz), tracks)
        ours.append(pieces_of(gains @ sound[len(rooms) :], size, size // 2, axis.rate_hz))
        for pieces, heard in zip(theirs, sound, strict=False):
            pieces.append(pieces_of(heard, size, size // 2, axis.rate_hz))
    return tuple(
        _measured(axis, ours, pieces) or _drawn(axis, room, [one for one, _ in close])
        for room, pieces in zip(rooms, theirs, strict=True)
    )


def _measured(axis: Axis, ours: Sequence[Pieces], theirs: Sequence[Pieces]) -> Lateness | None:
    if not ours:
        return None
    peak = correlate(ours, theirs).peak(0.0, LONGEST_S, first_share=FIRST_SHARE)
    if peak.clear < CLEAR:
        return None
    late = round(peak.lag_s * axis.rate_hz)
    return Lateness(late, f"heard the stage {1000 * peak.lag_s:.1f} ms late, measured; put as much earlier")


def _drawn(axis: Axis, track: AxisTrack, close: Sequence[AxisTrack]) -> Lateness | None:
    sounds = [at for one in close if one.drawn for at in one.drawn.sound_at]
    if not sounds or track.drawn is None or track.drawn.at is None:
        return None
    middle = tuple(float(x) for x in np.mean(np.array(sounds), axis=0))
    late_s = dist(middle, track.drawn.at) / speed_of_sound(USUAL_C)
    says = f"stands {1000 * late_s:.1f} ms from the stage by the drawing; put as much earlier"
    return Lateness(round(late_s * axis.rate_hz), says)


def loud_stretches(power: TrackPower, songs: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    """First samples of stretches spread over the songs, the louder ones of each part."""
    span = round(STRETCH_S * GRAINS)
    whole = power.power.sum(axis=0)
    starts = [
        place
        for first, last in songs
        for place in range(*power.grains(first, last).indices(len(whole))[:2], span)
        if place + span <= power.grains(first, last).stop
    ]
    if not starts:
        return ()
    shares = np.array_split(np.array(starts), min(STRETCHES, len(starts)))
    best = [max(share.tolist(), key=lambda place: float(whole[place : place + span].sum())) for share in shares]
    return tuple(place * power.rate_hz // GRAINS for place in best)
