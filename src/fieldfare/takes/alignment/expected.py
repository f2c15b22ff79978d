"""What the drawing lets expect: how late, how loud and which way up a listener hears a source.

Conventions: places in metres; a way's length is from the source to the listener less that to the track close to it,
or all of it where that is a DI, which hears without any way through air.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, dist, log10

from fieldfare.physics.acoustics import NEAREST_M
from fieldfare.physics.microphones import OMNI_SHARE, response
from fieldfare.show.drawn import DrawnInput
from fieldfare.show.record import Place3

CLEARLY = 0.15  # of the response on the axis: less may be heard either way up
NULL_FLOOR = 10 ** (-20 / 20)  # a real mic hears at least this from its null: reflections, and its own body; PRACTICE


@dataclass(frozen=True, slots=True)
class Expected:
    """One way as drawn."""

    metres: float
    level_db: float  # direct sound at the listener against the close track, gains of both equal
    polarity: int  # 0 where it may be either


def expected(source: DrawnInput, listener: DrawnInput, sounds: Sequence[Place3], *, fellows: bool) -> Expected | None:
    """Tell how a listener hears a source.

    Parameters
    ----------
    source
        The input close to it.
    listener
        The other input.
    sounds
        Where it sounds; the first is the one that counts. [m]
    fellows
        Both are meant for that source.

    Returns
    -------
    The way; none where the drawing does not tell.
    """
    if not sounds or listener.at is None or source.at is None or not listener.in_air:
        return None
    there = sounds[0]
    far_m, near_m = dist(there, listener.at), dist(there, source.at)
    ratio = _response(listener, there)
    level_db = 20 * log10(max(abs(ratio), NULL_FLOOR) / max(far_m, NEAREST_M))
    sign = 0 if abs(ratio) < CLEARLY else 1 if ratio > 0 else -1
    if source.flip:
        sign = -sign
    if listener.flip and fellows:
        sign = -sign
    if not source.in_air:
        return Expected(far_m, level_db, sign)
    own_db = 20 * log10(max(abs(_response(source, there)), NULL_FLOOR) / max(near_m, NEAREST_M))
    return Expected(far_m - near_m, level_db - own_db, sign)


def _response(row: DrawnInput, there: Place3) -> float:
    if row.at is None or row.aim is None or row.pattern is None or not any(row.aim):
        return 1.0
    length = dist(there, row.at)
    if length < NEAREST_M:
        return 1.0
    cosine = sum((a - b) * c for a, b, c in zip(there, row.at, row.aim, strict=True)) / length
    return float(response(OMNI_SHARE[row.pattern], acos(max(-1.0, min(1.0, cosine)))))


def sounds_of(row: DrawnInput, rows: Sequence[DrawnInput]) -> tuple[Place3, ...]:
    """Where a source sounds: where it was drawn, then at its amplifier, where a mic stands in front of one."""
    own = _middle(row.sound_at)
    beside = [
        _middle(other.sound_at)
        for other in rows
        if other is not row and other.source == row.source and not row.in_air and other.in_air
    ]
    return tuple(dict.fromkeys(place for place in (own, *beside) if place is not None))


def _middle(places: Sequence[Place3]) -> Place3 | None:
    if not places:
        return None
    x, y, z = (sum(place[axis] for place in places) / len(places) for axis in range(3))
    return (x, y, z)
