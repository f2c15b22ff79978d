"""Whether a track's gain was changed in the middle of it.

A knob that is turned multiplies what a track carries, its noise and spill too, by one factor from one moment on, while
the other tracks of the take stay as they are. Players get louder and softer, and applause comes and goes, but the noise
under them comes back in a pause as it was. So it is the floor of the treble that tells: it differs between all before
and all after, other tracks' floors do not move along, and level and treble jump by as much at one place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import inf

import numpy as np

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Take, Track
from fieldfare.takes.checks.floors import Change, Floor, changes, difference, fit, sudden
from fieldfare.takes.checks.jumps import Course
from fieldfare.takes.checks.levels import is_dead
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import figure

_SHORT_S = 0.25  # a change is told as at one place


@dataclass(frozen=True)
class _Known:
    """A track, its floor and its course."""

    track: Track
    floor: Floor
    course: Course

    @cached_property
    def moves(self) -> tuple[Change, ...]:
        """Where its floor changes, in order of time: against all of the take, what is beside it, and at a jump."""
        rate_hz = self.track.rate_hz
        found = [
            one for wide in (inf, limit.GAIN_BESIDE_S.value) for one in changes(self.floor, self.course, rate_hz, wide)
        ]
        jumped = sudden(self.floor, self.course, rate_hz)
        return tuple(sorted([*found, jumped] if jumped else found))


def gain_steps(take: Take) -> Iterator[Hit]:
    """Everything on one track gets louder or softer at once, and stays so."""
    every = [
        _Known(track, floor, Course.of(track)) for track in take.tracks if not is_dead(track) and (floor := fit(track))
    ]
    alone = len(take.tracks) == 1
    for known in every:
        track = known.track
        others = [[_moved(one, other.track.late) for one in other.moves] for other in every if other is not known]
        own = _lasting(
            known.floor,
            [
                one
                for one in known.moves
                if limit.GAIN_STEP_DB.value <= abs(one.by_db) <= limit.GAIN_MOST_DB.value
                and not _is_the_room(_moved(one, track.late), others, track.rate_hz)
                and not _is_mute(track, one, known.moves)
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
    while new := _next(floor, wait, found):
        found += new
        wait = [one for one in wait if all(one.end < other.start or other.end < one.start for other in found)]
    return sorted(found)


def _next(floor: Floor, wait: Sequence[Change], found: Sequence[Change]) -> tuple[Change, ...]:
    """The next step that stays, or two of which the second takes back a part of the first; nothing where none does."""
    for one in wait:
        if _stays(floor, one, found):
            return (one,)
    for one, other in pairwise(sorted(wait)):
        net_db = one.by_db + other.by_db
        both = _stays(floor, one, [*found, other]) and _stays(floor, other, [*found, one])
        if both and abs(net_db) >= limit.GAIN_STEP_DB.value:
            return one, other
    return ()


def _stays(floor: Floor, step: Change, found: Sequence[Change]) -> bool:
    """Whether the floors of all before a step and all after it differ by as much, up to the steps beside it."""
    begin = max((one.at for one in found if one.at < step.at), default=int(floor.at[0]))
    end = min((one.at for one in found if one.at > step.at), default=int(floor.at[-1]) + 1)
    odds, by_db = difference(floor, begin, step.at, end)
    near_db = max(limit.GAIN_STAYS_DB.value, limit.GAIN_STAYS.value * abs(step.by_db))
    jumped = step.jump >= limit.GAIN_SUDDEN_JUMP.value
    least = limit.GAIN_SUDDEN_FLOOR_ODDS if jumped else limit.GAIN_FLOOR_ODDS
    return odds >= least.value and abs(by_db - step.by_db) <= near_db


def _is_the_room(step: Change, others: Sequence[Sequence[Change]], rate_hz: int) -> bool:
    """Whether floors of other tracks move then, too: one by about as much, two by half, or three by a quarter.

    Where a song ends and people clap, every microphone's floor moves, each by another amount.
    """
    near = limit.GAIN_NEAR_S.value * rate_hz
    alike_db = max(limit.GAIN_SLIGHT_DB.value, limit.GAIN_ALIKE.value * abs(step.by_db))
    alike = half = quarter = 0
    for changes_there in others:
        moves = [one.by_db for one in changes_there if one.start - near <= step.end and step.start <= one.end + near]
        alike += any(abs(by_db - step.by_db) <= alike_db for by_db in moves)
        half += any(abs(by_db) >= 0.5 * abs(step.by_db) for by_db in moves)
        quarter += any(by_db / step.by_db >= 0.25 for by_db in moves)
    return alike >= 1 or half >= 2 or quarter >= 3


def _is_mute(track: Track, step: Change, moves: Sequence[Change]) -> bool:
    """Whether steady noise is all there is on the softer side, up to where the floor moves next, and no music fell.

    What a muted channel still gives is softer than its preamp, but what it had to carry is gone altogether.
    """
    begin = max((one.end for one in moves if one.end < step.start), default=0)
    end = min((one.start for one in moves if one.start > step.end), default=track.channel.frames)
    margin, per = round(_SHORT_S * track.rate_hz), track.measures.level_frames
    sides = [
        track.levels_db[-(-(first + margin) // per) : max(0, last - margin) // per]
        for first, last in ((begin, step.start), (step.end, end))
    ]
    soft, loud = sides if step.by_db > 0 else sides[::-1]
    if not len(soft) or not len(loud):
        return False
    low, high = np.percentile(soft, (5, 95))
    fell_db = float(np.percentile(loud, 95)) - high
    return bool(high - low < limit.DEAD_STEADY_DB.value and fell_db > abs(step.by_db) + limit.GAIN_MUTE_DB.value)


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
