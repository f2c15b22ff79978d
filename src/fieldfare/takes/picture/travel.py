"""How much later a camera hears a source than the source's own microphone does, by the drawing.

Light takes no time: a picture is true to the stage, its sound is late by the way through the air. Where the places are
known that is taken off, so that a hit is heard when it is seen.
"""

from __future__ import annotations

from math import dist

from fieldfare.physics.acoustics import speed_of_sound
from fieldfare.show.record import Place3
from fieldfare.takes.axis import AxisTrack

TEMPERATURE_C = 20.0  # where nobody said
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
