"""Whether a track's gain was changed in the middle of it.

A knob that is turned multiplies what a track carries, its noise and spill too, by one factor from one moment on, while
the other tracks of the take stay as they are. Players get louder and softer, but the noise under them does not. So it
is the floor of the treble that tells, in the pauses, and that no other track's floor changes with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Take, Track
from fieldfare.takes.checks.floors import Change, Floor, changes, difference, fit
from fieldfare.takes.checks.jumps import Course
from fieldfare.takes.checks.levels import is_dead
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import figure

_SHORT_S = 0.25  # a change is told as at one place


class _Known(NamedTuple):
    """A track's floor, and where it changes, in order of time."""

    track: Track
    floor: Floor
    change: tuple[Change, ...]


def steps(track: Track) -> tuple[Change, ...]:
    """Return the places at which a track's floor changes, in order of time."""
    known = _known(track)
    return known.change if known else ()


def _known(track: Track) -> _Known | None:
    floor = None if is_dead(track) else fit(track)
    return None if floor is None else _Known(track, floor, changes(floor, Course.of(track), track.rate_hz))


def gain_steps(take: Take) -> Iterator[Hit]:
    """Everything on one track gets louder or softer at once, and stays so."""
    every = [known for track in take.tracks if (known := _known(track))]
    alone = len(take.tracks) == 1
    for known in every:
        track = known.track
        others = [[_moved(one, other.track.late) for one in other.change] for other in every if other is not known]
        own = _lasting(
            known.floor,
            [
                one
                for one in known.change
                if limit.GAIN_STEP_DB.value <= abs(one.by_db) <= limit.GAIN_MOST_DB.value
                and not _is_the_room(_moved(one, track.late), others, track.rate_hz)
            ],
        )
        if alone:
            own = [one for one in own if one.end - one.start <= limit.GAIN_ALONE_S.value * track.rate_hz]
        if own:
            yield _told(track, own, alone=alone)


def _moved(step: Change, by: int) -> Change:
    return step._replace(start=step.start + by, end=step.end + by, at=step.at + by)


def _lasting(floor: Floor, steps: Sequence[Change]) -> list[Change]:
    """Those of some steps that stay, in order of time: between them, the floor never comes back.

    Applause and the band come and go over the noise of the microphone, and each pause shows where that stands.
    """
    wait, found = sorted(steps, key=lambda one: -one.odds), list[Change]()
    while new := next((one for one in wait if _stays(floor, one, found)), None):
        wait.remove(new)
        found.append(new)
    return sorted(found)


def _stays(floor: Floor, step: Change, found: Sequence[Change]) -> bool:
    """Whether the floors of all before a step and all after it differ by as much, up to the steps beside it."""
    begin = max((one.at for one in found if one.at < step.at), default=int(floor.at[0]))
    end = min((one.at for one in found if one.at > step.at), default=int(floor.at[-1]) + 1)
    odds, by_db = difference(floor, begin, step.at, end)
    near_db = max(limit.GAIN_STAYS_DB.value, limit.GAIN_STAYS.value * abs(step.by_db))
    return odds >= limit.GAIN_FLOOR_ODDS.value and abs(by_db - step.by_db) <= near_db


def _is_the_room(step: Change, others: Sequence[Sequence[Change]], rate_hz: int) -> bool:
    """Whether floors of other tracks move then, too: one by about as much, two by half, or three the same way.

    Where a song ends and people clap, every microphone's floor moves, each by another amount.
    """
    near = limit.GAIN_NEAR_S.value * rate_hz
    alike_db = max(limit.GAIN_SLIGHT_DB.value, limit.GAIN_ALIKE.value * abs(step.by_db))
    alike = half = along = 0
    for changes_there in others:
        moves = [one.by_db for one in changes_there if one.start - near <= step.end and step.start <= one.end + near]
        alike += any(abs(by_db - step.by_db) <= alike_db for by_db in moves)
        half += any(abs(by_db) >= 0.5 * abs(step.by_db) for by_db in moves)
        along += any(by_db * step.by_db > 0 for by_db in moves)
    return alike >= 1 or half >= 2 or along >= 3


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
