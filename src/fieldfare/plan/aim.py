"""How each microphone is best turned, and where a wedge stands quietest in it.

Conventions: a microphone stays where it is and turns about its capsule, its source still nearly on its axis. The two of
a stereo pair keep the angle they were set up for; what is clipped to an instrument or lies on the floor does not turn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import numpy as np

from fieldfare.plan.ground import Floats
from fieldfare.plan.spill import Air, Field, field, off_axis_rad, pattern_db
from fieldfare.plan.wanted import Sounding, Wanted
from fieldfare.show.kit import Mic, Pattern, Thing
from fieldfare.show.plan import Aiming, PlannedInput
from fieldfare.show.record import Place, Place3
from fieldfare.show.show import Wedge
from fieldfare.units.text import figure, listed
from fieldfare.units.working import Given, Working

TURN_DEG = 30.0  # no farther from its recipe's axis: common practice, no source
OWN_LOSS_DB = 1.0  # of its own sound that a turn may cost
STEP_DEG = 2.5
ROUND_DEG = 10.0
CLEAN_DB = 15.0  # own sound over all spill that wants no turn: common practice, no source
WORTH_DB = 1.0  # less spill than that is not worth a turn
WELL_DB = 3.0  # a wedge no louder than that over where it is quietest stands well
WEDGE_AWAY_M = 1.2  # from the microphone's foot to the loudspeaker
WEDGE_UP_M = 0.3  # height of its loudspeaker above the floor
WEDGE_NEAR_M = 2.5  # one farther off is meant for somebody else
WEDGE_BEAM_DEG = 60.0  # to either side of where it faces
SIDE = 0.08  # share of a unit vector from which a turn has a direction worth saying


def aiming(
    rows: Iterable[PlannedInput],
    wanted: Mapping[str, Wanted],
    things: Mapping[str, Thing],
    sounding: tuple[Sounding, ...],
    air: Air,
    wedges: Iterable[Wedge],
) -> dict[str, Aiming]:
    """Find the best aim of every microphone, by id of its row; none for what hears all round or has no spill.

    Parameters
    ----------
    rows
        The rows of the plan.
    wanted, things
        What each row was wanted for, by id; the kit, by tag.
    sounding, air
        Everything on the stage, and the air between.
    wedges
        The monitor loudspeakers.
    """
    wedges, found = tuple(wedges), {}
    for row in rows:
        if row.pattern is not None:
            turn, says = _advice(row, row.pattern, wanted[row.id], things, field(wanted[row.id], sounding, air), wedges)
            if says:
                found[row.id] = Aiming(turn=turn, says=says)
    return found


def _advice(
    row: PlannedInput,
    pattern: Pattern,
    wanted: Wanted,
    things: Mapping[str, Thing],
    around: Field,
    wedges: tuple[Wedge, ...],
) -> tuple[Working | None, tuple[str, ...]]:
    ratio = around.ratio_db(pattern)
    if row.pair or ratio is None or ratio >= CLEAN_DB:
        return None, ()
    thing = things.get(row.unit.tag) if row.unit else None
    turns = isinstance(thing, Mic) and thing.mount == "stand" and pattern != "omni"
    turn = _turn(wanted, pattern, around) if turns else None
    says = (_turn_words(turn) if turn else "", _wedge(row, pattern, wedges))
    return turn, tuple(words for words in says if words)


def _turn(wanted: Wanted, pattern: Pattern, around: Field) -> Working | None:
    """The turn that leaves the most of its own sound over all spill; none where no turn is worth it."""
    aims = _cone(wanted.aim)
    own_db = np.array([_own_db(wanted, pattern, tuple(aim)) for aim in aims])
    loss_db = np.maximum(0.0, own_db[0] - own_db)  # where the recipe aims beside the sound it means to
    gained = around.spill_db(pattern, aims[0]) - around.spill_db(pattern, aims) - loss_db
    gained[loss_db > OWN_LOSS_DB] = -math.inf
    best = int(np.argmax(gained))
    if gained[best] < WORTH_DB:
        return None
    before_db, after_db = around.source_db(pattern, aims[0]), around.source_db(pattern, aims[best])
    most = int(np.argmax(10 ** (before_db / 10) - 10 ** (after_db / 10)))
    name = around.names[most] if around.names[most] != wanted.source.name else f"the rest of {wanted.source.name}"
    turned = math.degrees(math.acos(float(np.clip(aims[0] @ aims[best], -1, 1))))
    return Working(
        value=round(float(gained[best]), 1),
        unit="dB",
        formula="own − all spill, turned, over the same as placed; the aim searched about the axis in steps of 2.5°",
        given=(
            Given(name="turn", value=round(turned, 1), unit="°"),
            Given(name="towards", value=_towards(aims[0], aims[best])),
            Given(name="its own sound loses", value=round(float(loss_db[best]), 1), unit="dB"),
            Given(name=f"{name} loses", value=round(float((before_db - after_db)[most]), 1), unit="dB"),
        ),
        source="HyperPhysics",
        sure="estimate" if around.room_db is not None else "guess",
    )


def _turn_words(turn: Working) -> str:
    """Say a turn to whoever is at the stand."""
    given = {one.name: one.value for one in turn.given}
    who, less = list(given.items())[-1]
    turned, gained = figure(float(given["turn"])), figure(turn.value or 0, 1)
    return (
        f"Turn it {turned}° {given['towards']}, seen from the audience: {gained} dB more of its own sound over the "
        f"rest, {who.removesuffix(' loses')} {figure(float(less), 1)} dB less."
    )


def _cone(aim: Place3) -> Floats:
    """Unit vectors about an axis, the axis itself first. Shape (n, 3)."""
    axis = np.array(aim, dtype=np.float64)
    level = np.array([-axis[1], axis[0], 0.0]) if math.hypot(axis[0], axis[1]) > 1e-6 else np.array([1.0, 0.0, 0.0])
    level /= np.linalg.norm(level)
    upright = np.cross(axis, level)
    turns = np.radians(np.arange(STEP_DEG, TURN_DEG + STEP_DEG / 2, STEP_DEG))[:, None, None]
    rounds = np.radians(np.arange(0, 360, ROUND_DEG))[None, :, None]
    aims = np.cos(turns) * axis + np.sin(turns) * (np.cos(rounds) * level + np.sin(rounds) * upright)
    return np.concatenate([axis[None], aims.reshape(-1, 3)])


def _own_db(wanted: Wanted, pattern: Pattern, aim: Place3) -> float:
    return pattern_db(pattern, off_axis_rad(wanted.at, aim, wanted.sound_at))


def _towards(old: Floats, new: Floats) -> str:
    sides = (("to the right", "to the left"), ("upstage", "downstage"), ("up", "down"))
    across = new - (new @ old) * old
    moves = sorted(zip(across, sides, strict=True), key=lambda one: -abs(one[0]))
    return listed([words[0 if by > 0 else 1] for by, words in moves[:2] if abs(by) >= SIDE]) or "a little"


def _wedge(row: PlannedInput, pattern: Pattern, wedges: tuple[Wedge, ...]) -> str:
    """Where a wedge on the floor stands quietest in a microphone that one plays at."""
    if pattern == "omni":
        return ""
    back = math.atan2(-row.aim[1], -row.aim[0])
    turns = {deg: _floor_db(row, pattern, back + math.radians(deg)) for deg in range(0, 181, 5)}
    quiet = [deg for deg, db in turns.items() if db <= min(turns.values()) + 0.05]
    best = 0 if 0 in quiet else quiet[len(quiet) // 2]
    heard = {one.name: _heard_db(row, pattern, one.at) for one in wedges if plays_at(one, row.at)}
    loud = [f"{name} at {figure(db)} dB" for name, db in heard.items() if db > turns[best] + WELL_DB]
    if not loud:
        return ""
    place = "straight behind it" if not best else f"{best}° to either side of straight behind it"
    return (
        f"A wedge on the floor {figure(WEDGE_AWAY_M, 1)} m off is quietest in it {place}, {figure(turns[best])} dB; "
        f"of the wedges it hears {listed(loud)}."
    )


def plays_at(wedge: Wedge, at: Place3) -> bool:
    """Tell whether a wedge plays at a place: near it, and in its beam."""
    x, y = at[0] - wedge.at[0], at[1] - wedge.at[1]
    facing = math.radians(wedge.facing_deg)
    ahead = x * math.cos(facing) + y * math.sin(facing)
    away = math.hypot(x, y)
    return away <= WEDGE_NEAR_M and ahead >= away * math.cos(math.radians(WEDGE_BEAM_DEG))


def _floor_db(row: PlannedInput, pattern: Pattern, towards_rad: float) -> float:
    x, y = row.at[0] + WEDGE_AWAY_M * math.cos(towards_rad), row.at[1] + WEDGE_AWAY_M * math.sin(towards_rad)
    return _heard_db(row, pattern, (x, y))


def _heard_db(row: PlannedInput, pattern: Pattern, at: Place) -> float:
    return pattern_db(pattern, off_axis_rad(row.at, row.aim, (*at, WEDGE_UP_M)))


def more_of_its_own(wanted: Wanted, close_m: float, *, clipped: bool = False, pickup: bool = False) -> str:
    """Say how a mic gets more of its own source over the rest: nobody clips one onto a choir, nor a clipped one again.

    Parameters
    ----------
    wanted
        The input.
    close_m
        Farther from its source a microphone is no close one. [m]
    clipped, pickup
        It is clipped on already; its source's pickup is recorded as well.
    """
    if any(way.clip or "clip condenser" in way.kinds for way in wanted.accept):
        return {
            (False, False): "go closer, clip a mic on or take a pickup, or move the loud neighbour",
            (False, True): "go closer, clip a mic on, or move the loud neighbour",
            (True, False): "take a pickup, or move the loud neighbour",
            (True, True): "move the loud neighbour, or lean on the pickup",
        }[clipped, pickup]
    more = ", with more mics where it is wide" if wanted.distance_m > close_m else ""
    return f"go closer{more}, turn the back of the mic to the loud neighbour, or move one of the two"
