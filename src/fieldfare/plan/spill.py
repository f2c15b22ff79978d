"""What every microphone hears: each source directly and through the room, and its own sound over all the rest.

Conventions: dB SPL as the microphone hears it, its pattern counted, against a sound on its axis. The loudest moments of
all parts of one source come together; two sources of one player never do, and the louder of them counts. Of acts that
never play together, those of the loudest set count. What sounds alone, while the band is silent, hears and is heard by
nothing but what sounds so too.
The direct sound of a source is taken to be as loud everywhere as on its axis, which is the worst case.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fieldfare.physics.acoustics import NEAREST_M, USUAL_C, delay_ms, diffuse_level_db, distance_loss_db
from fieldfare.physics.levels import sum_incoherent
from fieldfare.physics.microphones import OMNI_SHARE, random_efficiency, response_db
from fieldfare.plan.acts import Sets, apart, in_set
from fieldfare.plan.ground import Floats
from fieldfare.plan.remember import noted
from fieldfare.plan.wanted import Sounding, Wanted
from fieldfare.show.kit import Pattern
from fieldfare.show.plan import Spill, SpillOctave
from fieldfare.show.record import Place3
from fieldfare.show.venue import Venue
from fieldfare.units.working import Given, Working

NULL_FLOOR_DB = -24.0  # no real microphone hears less than this from where its pattern has a null
NAMED = 3  # sources that a working names one by one
NOTED = 1 << 15  # what was heard and summed lately: where one thing moves, all else is heard as before
_together = noted(NOTED)(sum_incoherent)


@dataclass(frozen=True, slots=True)
class Air:
    """The air between sources and microphones."""

    temperature_c: float
    volume_m3: float
    reverberation_s: float | None  # none: not known, and the room is not counted
    octaves: tuple[tuple[int, float], ...] = ()  # Hz and reverberation time, where it was measured by octave bands


@dataclass(frozen=True, slots=True)
class Heard:
    """One thing that sounds, as one microphone hears it."""

    source: str
    part: str
    direct_db: float
    diffuse_db: float | None  # none where the reverberation time is not known
    distance_m: float
    off_axis_deg: float
    delay_ms: float
    plus_minus_db: float
    players: frozenset[str]  # the sources of its player, one of which sounds at a time
    level_db: float  # direct sound and room together
    at: Place3  # where it sounds
    sets: Sets  # in which it sounds; empty: all


@dataclass(frozen=True, slots=True)
class Balance:
    """A microphone's own sound, and what else it hears in the set where that is loudest, the loudest first."""

    own_db: float
    own_plus_minus_db: float
    others: tuple[Heard, ...]  # one part of a source each
    spill_db: float | None  # of everything else together; none where nothing else sounds
    room_counted: bool

    @property
    def ratio_db(self) -> float | None:
        """Own sound over all spill; none where there is none."""
        return None if self.spill_db is None else self.own_db - self.spill_db


def air(venue: Venue) -> Air:
    """Take from a venue what sound is changed by; an unknown reverberation time stays unknown."""
    room = venue.room
    warm = venue.temperature_c.known
    return Air(
        temperature_c=USUAL_C if warm is None else warm,
        volume_m3=room.length_m * room.width_m * room.height_m,
        reverberation_s=room.mid_reverberation_s,
        octaves=tuple((one.hz, one.reverberation_s) for one in room.octave),
    )


def off_axis_rad(at: Place3, aim: Place3, place: Place3) -> float:
    """Angle from a microphone's axis to a place; 0 where it has no axis or is at the place itself. [rad]"""
    way = [there - here for here, there in zip(at, place, strict=True)]
    sizes = math.hypot(*way) * math.hypot(*aim)
    along = sum(one * other for one, other in zip(way, aim, strict=True))
    return math.acos(max(-1.0, min(1.0, along / sizes))) if sizes else 0.0


def pattern_db(pattern: Pattern, angle_rad: float) -> float:
    """Response of a real microphone at an angle: that of its pattern, its nulls filled in. [dB]"""
    return max(NULL_FLOOR_DB, response_db(OMNI_SHARE[pattern], angle_rad))


@noted(NOTED)
def hear(sounding: Sounding, at: Place3, aim: Place3, pattern: Pattern, air: Air, players: frozenset[str]) -> Heard:
    """Tell how a microphone hears one thing.

    Parameters
    ----------
    sounding
        What sounds, and how loud it gets.
    at, aim
        Place of the microphone and unit vector along its axis. [m, 1]
    pattern
        Of the microphone.
    air
        Temperature and room.
    players
        The sources of this source's player.

    Sources
    -------
    The room by [CriticalDistance], less what has died away by the time the direct sound arrives: [EnergyRelations1988].
    """
    distance_m = math.dist(sounding.at, at)
    angle = off_axis_rad(at, aim, sounding.at)
    direct_db = sounding.level_db - distance_loss_db(max(NEAREST_M, distance_m)) + pattern_db(pattern, angle)
    diffuse_db = None
    late_ms = delay_ms(distance_m, air.temperature_c)
    if air.reverberation_s is not None:
        room_db = diffuse_level_db(sounding.level_db, air.volume_m3, air.reverberation_s, sounding.directivity)
        room_db -= 60 * late_ms / 1000 / air.reverberation_s  # no reflection comes before the direct sound
        diffuse_db = room_db + 10 * math.log10(random_efficiency(OMNI_SHARE[pattern]))
    return Heard(
        source=sounding.source,
        part=sounding.part,
        direct_db=direct_db,
        diffuse_db=diffuse_db,
        distance_m=distance_m,
        off_axis_deg=math.degrees(angle),
        delay_ms=late_ms,
        plus_minus_db=sounding.plus_minus_db,
        players=players,
        level_db=direct_db if diffuse_db is None else sum_incoherent([direct_db, diffuse_db]),
        at=sounding.at,
        sets=sounding.sets,
    )


def _is_own(sounding: Sounding, wanted: Wanted) -> bool:
    """Tell whether a microphone is meant for this sound."""
    return sounding.source == wanted.source.name and (not wanted.hears or sounding.part in wanted.hears)


def balance(wanted: Wanted, pattern: Pattern, sounding: Iterable[Sounding], air: Air) -> Balance:
    """Weigh a microphone's own sound against everything else that sounds with it.

    A microphone whose source makes no sound of its own hears the room; all is its own, and there is no spill.

    Parameters
    ----------
    wanted
        The input with its place and aim. Its own sound is as loud as the middle of what its recipe expects.
    pattern
        Of the microphone.
    sounding
        Everything on the stage.
    air
        Temperature and room.
    """
    low_db, high_db = wanted.spl_db
    others = max(_by_set(wanted, _others(wanted, pattern, tuple(sounding), air)), key=_loudness)
    return Balance(
        own_db=(low_db + high_db) / 2,
        own_plus_minus_db=(high_db - low_db) / 2,
        others=tuple(sorted(others, key=lambda one: (-one.level_db, one.source, one.part))),
        spill_db=sum_incoherent(list(by_player(others).values())) if others else None,
        room_counted=air.reverberation_s is not None,
    )


def _others(wanted: Wanted, pattern: Pattern, everything: tuple[Sounding, ...], air: Air) -> list[Heard]:
    """Everything that a microphone hears besides its own sound, in whatever set they sound together."""
    players, mine = _players(everything), wanted.source.name
    of_mine = players.get(mine, frozenset({mine}))
    return [
        hear(one, wanted.at, wanted.aim, pattern, air, players[one.source])
        for one in everything
        if not _is_own(one, wanted)
        and (one.source == mine or one.source not in of_mine)
        and mine in players
        and not apart(one.sets, wanted.sets)
        and one.alone == wanted.source.alone  # who talks while the band is silent is no spill of it, nor it of them
    ]


def _by_set(wanted: Wanted, heard: list[Heard]) -> list[list[Heard]]:
    """Sort what is heard by the sets in which its own source sounds; all in one where the acts do not differ."""
    numbers = sorted({number for one in heard for number in one.sets if in_set(wanted.sets, number)})
    return [[one for one in heard if in_set(one.sets, number)] for number in numbers] or [heard]


def _loudness(heard: list[Heard]) -> float:
    return sum_incoherent(list(by_player(heard).values())) if heard else -math.inf


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """Everything but its own sound as it arrives at one input, before any pattern: arrays over what sounds."""

    own_db: float
    aim: Floats  # unit vector along the axis
    way: Floats  # by what sounds: unit vector towards it; of shape (n, 3)
    free_db: Floats  # direct, as an omni hears it
    room_db: Floats | None  # none where the reverberation time is not known
    names: tuple[str, ...]  # of the sources
    source: NDArray[np.int_]  # number of its source
    player: NDArray[np.int_]  # by source: number of its player
    sets: NDArray[np.bool_]  # by set and source: whether it sounds there

    def ratio_db(self, pattern: Pattern) -> float | None:
        """Own sound over all spill with a pattern; none where there is no spill. The same as a `Balance` tells."""
        return self.own_db - float(self.spill_db(pattern, self.aim)) if len(self.way) else None

    def spill_db(self, pattern: Pattern, aim: Floats) -> Floats:
        """Level of all spill together with a pattern, for one axis of shape (3,) or many of shape (..., 3). [dB SPL]"""
        by_player = np.argsort(self.player, kind="stable")
        energy = self._energy_by_source(pattern, aim)[..., None, by_player] * self.sets[:, by_player]
        begins = np.flatnonzero(np.diff(self.player[by_player], prepend=-1))
        loudest = np.maximum.reduceat(energy, begins, axis=-1)  # shape (..., sets, players)
        return np.asarray(10 * np.log10(loudest.sum(axis=-1).max(axis=-1)))

    def source_db(self, pattern: Pattern, aim: Floats) -> Floats:
        """Level of each source with a pattern on one axis, in the order of the sources. [dB SPL]"""
        return np.asarray(10 * np.log10(self._energy_by_source(pattern, aim)))

    def _energy_by_source(self, pattern: Pattern, aim: Floats) -> Floats:
        share = OMNI_SHARE[pattern]
        angle_rad = np.arccos(np.clip(aim @ self.way.T, -1.0, 1.0))
        energy = 10 ** ((self.free_db + np.maximum(NULL_FLOOR_DB, response_db(share, angle_rad))) / 10)
        if self.room_db is not None:
            energy = energy + 10 ** (self.room_db / 10) * random_efficiency(share)
        of = np.zeros((len(self.source), len(self.player)))
        of[np.arange(len(self.source)), self.source] = 1.0
        return np.asarray(energy @ of)


def field(wanted: Wanted, sounding: Iterable[Sounding], air: Air) -> Field:
    """Gather what arrives at an input besides its own sound, so that many patterns can be tried on it.

    Parameters
    ----------
    wanted
        The input with its place and aim.
    sounding
        Everything on the stage.
    air
        Temperature and room.
    """
    others = tuple(_others(wanted, "omni", tuple(sounding), air))  # an omni hears everything as it is
    by_set = [{one.source for one in there} for there in _by_set(wanted, list(others))]
    sources = {name: number for number, name in enumerate(dict.fromkeys(one.source for one in others))}
    teams = {team: number for number, team in enumerate(dict.fromkeys(one.players for one in others))}
    team_of = {one.source: teams[one.players] for one in others}
    known = air.reverberation_s is not None
    return Field(
        own_db=sum(wanted.spl_db) / 2,
        aim=np.array(wanted.aim, dtype=np.float64),
        way=_ways(wanted, others),
        free_db=np.array([one.direct_db for one in others]),
        room_db=np.array([one.diffuse_db for one in others], dtype=np.float64) if known else None,
        names=tuple(sources),
        source=np.array([sources[one.source] for one in others], dtype=np.int_),
        player=np.array([team_of[name] for name in sources], dtype=np.int_),
        sets=np.array([[name in there for name in sources] for there in by_set], dtype=np.bool_),
    )


def _ways(wanted: Wanted, others: tuple[Heard, ...]) -> Floats:
    """Unit vector from a microphone to each thing that sounds; its own axis for what is in the very place of it."""
    ways = np.array([one.at for one in others], dtype=np.float64).reshape(-1, 3) - np.array(wanted.at)
    far = np.linalg.norm(ways, axis=1, keepdims=True)
    axis = np.array(wanted.aim, dtype=np.float64)
    return np.where(far > 0, ways / np.where(far > 0, far, 1.0), axis)


def by_source(heard: Iterable[Heard]) -> dict[str, float]:
    """Level of each source, the loudest moments of its parts together."""
    levels: dict[str, list[float]] = {}
    for one in heard:
        levels.setdefault(one.source, []).append(one.level_db)
    return {source: _together(tuple(parts)) for source, parts in levels.items()}


def by_player(heard: Iterable[Heard]) -> dict[frozenset[str], float]:
    """Level of each player: that of the louder of two sources that never sound together."""
    heard = tuple(heard)
    of = {one.source: one.players for one in heard}
    levels: dict[frozenset[str], float] = {}
    for source, level_db in by_source(heard).items():
        levels[of[source]] = max(level_db, levels.get(of[source], -math.inf))
    return levels


def spill_working(balance: Balance) -> Working:
    """Own sound over all spill as a figure that can be opened; none where there is no spill."""
    ratio, spill_db = balance.ratio_db, balance.spill_db
    loudest = sorted(by_source(balance.others).items(), key=lambda one: -one[1])
    named = tuple(Given(name=f"spill of {source}", value=round(db, 1), unit="dB SPL") for source, db in loudest[:NAMED])
    total = () if spill_db is None else (Given(name="all spill", value=round(spill_db, 1), unit="dB SPL"),)
    swing = max((one.plus_minus_db for one in balance.others[:1]), default=0.0)
    heard = "direct and room" if balance.room_counted else "direct sound alone: the reverberation time is not known"
    return Working(
        value=None if ratio is None else round(ratio, 1),
        unit="dB",
        formula=f"own − all spill; all spill = 10·lg Σ 10^(spill / 10), {heard}",
        given=(Given(name="own", value=round(balance.own_db, 1), unit="dB SPL"), *named, *total),
        source="SSE",
        sure="estimate" if balance.room_counted else "guess",
        plus_minus=None if ratio is None else round(math.hypot(balance.own_plus_minus_db, swing), 1),
    )


def spill_matrix(rows: Iterable[tuple[Wanted, Pattern]], sounding: Iterable[Sounding], air: Air) -> tuple[Spill, ...]:
    """Tell how every source is heard in every microphone of its sets, its own too: level, distance and delay.

    A source of several parts is as far away as the part that is loudest there.

    Parameters
    ----------
    rows
        The inputs that are taken with a microphone, each with its pattern.
    sounding
        Everything on the stage.
    air
        Temperature and room.
    """
    everything = tuple(sounding)
    players = _players(everything)
    cells = []
    for wanted, pattern in rows:
        heard = [
            hear(one, wanted.at, wanted.aim, pattern, air, players[one.source])
            for one in everything
            if not apart(one.sets, wanted.sets)
        ]
        for source, level_db in by_source(heard).items():
            parts = [one for one in heard if one.source == source]
            nearest = max(parts, key=lambda one: one.direct_db)
            cells.append(
                Spill(
                    source=source,
                    input=wanted.id,
                    level_db=round(level_db, 1),
                    direct_db=round(_together(tuple(one.direct_db for one in parts)), 1),
                    distance_m=round(nearest.distance_m, 3),
                    delay_ms=round(nearest.delay_ms, 3),
                    octave=_octaves(nearest, everything, wanted, pattern, air),
                )
            )
    return tuple(cells)


def _octaves(
    heard: Heard, everything: tuple[Sounding, ...], wanted: Wanted, pattern: Pattern, air: Air
) -> tuple[SpillOctave, ...]:
    """What reaches the microphone of a part in each octave, over the same octave at 1 m; needs no spectrum of it.

    The pattern is taken to be the same in all bands; the loss in the air itself, below 1 dB on a stage, is left out.
    """
    if not air.octaves:
        return ()
    part = next(one for one in everything if (one.source, one.part, one.at) == (heard.source, heard.part, heard.at))
    told = []
    for hz, reverberation_s in air.octaves:
        band = hear(part, wanted.at, wanted.aim, pattern, replace(air, reverberation_s=reverberation_s), heard.players)
        assert band.diffuse_db is not None
        told.append(
            SpillOctave(
                hz=hz,
                direct_db=round(band.direct_db - part.level_db, 1),
                diffuse_db=round(band.diffuse_db - part.level_db, 1),
            )
        )
    return tuple(told)


def _players(sounding: tuple[Sounding, ...]) -> dict[str, frozenset[str]]:
    """The sources of each source's player: all that are bound by never sounding together, however long the chain."""
    groups = {one.source: frozenset({one.source}) for one in sounding}
    for one in sounding:
        if one.never_with in groups:
            together = groups[one.source] | groups[one.never_with]
            groups |= dict.fromkeys(together, together)
    return groups
