"""Whether a track's gain was changed in the middle of it.

A knob that is turned multiplies what a track carries, its noise and spill too, by one factor from one moment on, while
the other tracks of the take stay as they are. Players get louder and softer, but the noise under them does not. So it
is the floor of the treble that tells, in the pauses, and that no other track's floor changes with it.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Take, Track
from fieldfare.takes.checks.floors import Change, changes, fit
from fieldfare.takes.checks.levels import is_dead
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import figure

_SHORT_S = 0.25  # a change is told as at one place


def steps(track: Track) -> list[Change]:
    """Return the places at which a track's floor changes for good, in order of time."""
    strip = track.channel.strip
    floor = None if is_dead(track) else fit(track)
    if floor is None:
        return []
    power = strip.energy[:-1] / (strip.frames * float(track.full_scale) ** 2)
    return changes(floor, 10 * np.log10(np.maximum(2 * power, 1e-13)), strip.frames, track.rate_hz)


def gain_steps(take: Take) -> Iterator[Hit]:
    """Everything on one track gets louder or softer at once, and stays so."""
    found = [[_moved(step, track.late) for step in steps(track)] for track in take.tracks]
    for place, track in enumerate(take.tracks):
        others = [step for other, every in enumerate(found) if other != place for step in every]
        own = [_moved(one, -track.late) for one in found[place] if _is_gain(one, others, track.rate_hz)]
        alone = len(take.tracks) == 1
        if alone:
            own = [one for one in own if one.end - one.start <= limit.GAIN_ALONE_S.value * track.rate_hz]
        if own:
            yield _told(track, own, alone=alone)


def _moved(step: Change, by: int) -> Change:
    return step._replace(start=step.start + by, end=step.end + by, at=step.at + by)


def _is_gain(step: Change, others: list[Change], rate_hz: int) -> bool:
    """Whether a step is as large as a knob makes it, and no other track's floor moves then: that would be the room.

    Where a song ends and people clap, every microphone's floor moves, up or down and each by another amount.
    """
    if not limit.GAIN_STEP_DB.value <= abs(step.by_db) <= limit.GAIN_MOST_DB.value:
        return False
    near = limit.GAIN_NEAR_S.value * rate_hz
    return not any(other.start - near <= step.end and step.start <= other.end + near for other in others)


def _told(track: Track, own: list[Change], *, alone: bool) -> Hit:
    most = max(own, key=lambda one: abs(one.by_db))
    clock = [sample_clock(at, track.rate_hz) for at in (most.start, most.end)]
    short = most.end - most.start <= _SHORT_S * track.rate_hz
    when = f"at once at {sample_clock(most.at, track.rate_hz)}" if short else f"between {clock[0]} and {clock[1]}"
    compared = "; there is no other track to compare it with" if alone else ", and on no other track"
    return Hit(
        "note" if alone else "warn",
        f"everything on it gets {figure(abs(most.by_db), 1)} dB {'louder' if most.by_db > 0 else 'softer'} {when}, "
        f"noise and spill too{compared}{_more(len(own) - 1)}",
        "ride the fader the other way from that place on, and find it by the noise in a pause. Somebody turned the "
        "gain, pressed a pad or switched what hisses; before the next take tape the knobs",
        (0.6 if alone else 0.9) * min(1.0, 0.6 + most.odds / 250),
        own[0].start,
        own[-1].end,
        tuple((one.start, one.end) for one in own),
        len(own),
        {"step_db": most.by_db, "steps": float(len(own))},
        track.label,
        track.state.path,
    )


def _more(count: int) -> str:
    return f"; {'once' if count == 1 else f'{count} times'} more" if count else ""
