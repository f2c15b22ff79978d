"""What the microphones hear besides their own source: spill, wedges and neighbours."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import degrees, dist, floor

from fieldfare.physics.microphones import OMNI_SHARE, null_deg
from fieldfare.plan.acts import apart
from fieldfare.plan.aim import WEDGE_UP_M, more_of_its_own, plays_at
from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.spill import off_axis_rad, pattern_db
from fieldfare.show.kit import Mic
from fieldfare.show.plan import PlannedInput
from fieldfare.units.text import figure, metres

DROWNED_DB = -10.0  # own sound over the spill: a mic that hears the rest this much louder is a room mic
WEDGE_DB = -6.0  # response towards a wedge above which it stands badly
CLOSE_M = 0.5  # farther from its source a microphone is no close one
THREE_TO_ONE = 3.0
FAR_OFF_M = 3.0  # beyond stage and room: common practice, no source


def drowned(context: Context) -> Iterator[Fired]:
    """A microphone hears the others far louder than its own source."""
    for row in context.inputs:
        if row.spill.value is not None and row.spill.value < DROWNED_DB:
            thing = context.things.get(row.unit.tag) if row.unit else None
            remedy = more_of_its_own(
                context.wanted[row.id],
                CLOSE_M,
                clipped=isinstance(thing, Mic) and thing.mount == "clip",
                pickup=any(other.source == row.source and other.taking == "di" for other in context.inputs),
            )
            yield Fired(row.label, remedy, row.id, figure(-row.spill.value))


def wedge_in_the_lobe(context: Context) -> Iterator[Fired]:
    """A wedge plays from where the microphone hears well."""
    for row in _close(context):
        if row.pattern is None or row.pattern == "omni":
            continue
        for wedge in context.show.wedge:
            angle = off_axis_rad(row.at, row.aim, (*wedge.at, WEDGE_UP_M))
            if plays_at(wedge, row.at) and pattern_db(row.pattern, angle) > WEDGE_DB:
                null = null_deg(OMNI_SHARE[row.pattern])
                where = f"about {figure(null)}° off its axis" if null is not None else "behind it"
                remedy = f"turn the mic or move the wedge until it stands {where}"
                yield Fired(f"{wedge.name} before {row.label}", remedy, row.id, f"{figure(degrees(angle))}°")


def three_to_one(context: Context) -> Iterator[Fired]:
    """Another close microphone stands nearer than three times the distance to the source; the nearer of two is told."""
    for row, other in combinations(_close(context), 2):
        if _never_both(context, row, other):
            continue
        one, two = min(((row, other), (other, row)), key=lambda both: _times_as_far(context, *both))
        ratio = _times_as_far(context, one, two)
        if 0 < ratio < THREE_TO_ONE:
            remedy = "go closer or move them apart; where both are open, their sum has the sound of a comb"
            told = figure(floor(10 * ratio) / 10, 1)  # down: what is told as too near never reads 3.0
            yield Fired(f"{one.label} and {two.label}", remedy, one.id, f"{told} to 1")


def _times_as_far(context: Context, row: PlannedInput, other: PlannedInput) -> float:
    """By how many times farther a source is from another's microphone than from its own."""
    wanted = context.wanted[row.id]
    return dist(wanted.sound_at, other.at) / wanted.distance_m


def far_off(context: Context) -> Iterator[Fired]:
    """A source is written far off the stage and out of the room, where a slipped point or sign puts it."""
    stage, room = context.venue.stage, context.venue.room
    for source in context.show.sources:
        x, y = source.at
        off_m = max(abs(x) - max(stage.width_m, room.width_m) / 2, y - stage.depth_m, -y - room.length_m)
        if off_m > FAR_OFF_M:
            yield Fired(source.name, "put it right; cables are led there", "", metres(off_m))


def _close(context: Context) -> list[PlannedInput]:
    """Microphones close to a source of their own."""
    return [
        row
        for row in context.inputs
        if row.taking in ("mic", "split") and 0 < context.wanted[row.id].distance_m <= CLOSE_M
    ]


def _never_both(context: Context, row: PlannedInput, other: PlannedInput) -> bool:
    one, two = context.wanted[row.id].source, context.wanted[other.id].source
    if apart(context.wanted[row.id].sets, context.wanted[other.id].sets) or one.alone != two.alone:
        return True
    return (
        one.name == two.name
        or bool(one.player and one.player == two.player)
        or one.name == two.doubles_with
        or one.doubles_with == two.name
    )
