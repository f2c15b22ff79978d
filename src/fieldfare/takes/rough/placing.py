"""Where each track stands between the loudspeakers: as the audience sees the stage."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, pi, sin

from fieldfare.takes.axis import AxisTrack
from fieldfare.takes.rough.balance import Part
from fieldfare.takes.rough.roles import MixRole, side_of

NARROWEST_M = 2.0  # half a stage is taken to be at least so wide
PAIRED = {"room": 1.0, "overhead": 0.8, "house mix": 1.0}
PAIR_PAN = 0.7


def pans_of(tracks: Sequence[AxisTrack], roles: Sequence[MixRole], parts: Sequence[Part]) -> tuple[float, ...]:
    """Return the pan of every track, from -1 for the left to 1 for the right.

    Parameters
    ----------
    tracks
        The tracks.
    roles
        What each is to the mix.
    parts
        Which of them are pairs.
    """
    widest = max((abs(x) for track in tracks if (x := _where(track)) is not None), default=0.0)
    half_m = max(NARROWEST_M, widest)
    pans = [0.0] * len(tracks)
    for part in parts:
        for place, side in zip(part.tracks, _sides(part.tracks, tracks), strict=True):
            if len(part.tracks) == 2:
                pans[place] = side * PAIRED.get(roles[place].name, PAIR_PAN)
            elif (x := _where(tracks[place])) is not None:
                pans[place] = max(-1.0, min(1.0, x / half_m)) * roles[place].spread
            else:
                pans[place] = 0.5 * side * (roles[place].spread > 0)
    return tuple(round(pan, 2) + 0.0 for pan in pans)


def _where(track: AxisTrack) -> float | None:
    """Across the stage, where its sound comes from, or else where the mic stands; none where neither is known."""
    if track.drawn is None or track.role in ("room", "mix", "talk"):
        return None
    if track.drawn.sound_at and track.role != "overhead":
        return sum(at[0] for at in track.drawn.sound_at) / len(track.drawn.sound_at)
    return track.drawn.at[0] if track.drawn.at else None


def _sides(places: Sequence[int], tracks: Sequence[AxisTrack]) -> tuple[int, ...]:
    """-1 for the left one and 1 for the right one of a pair: as named, or as drawn where names say nothing."""
    named = tuple(side_of(tracks[place].label) for place in places)
    if len(places) == 1 or set(named) == {-1, 1}:
        return named
    drawn = [tracks[place].drawn for place in places]
    across = [one.at[0] if one and one.at else 0.0 for one in drawn]
    return (1, -1) if across[0] > across[1] else (-1, 1)


def pan_gains(pan: float) -> tuple[float, float]:
    """Gains to the left and the right that keep the power of a track wherever it is put.

    >>> [round(gain, 4) for gain in pan_gains(0.0)], [round(gain, 4) for gain in pan_gains(1.0)]
    ([0.7071, 0.7071], [0.0, 1.0])
    """
    angle = (pan + 1) * pi / 4
    return cos(angle), sin(angle)
