"""How loud each track is set: by what it is, from how loud it was measured while it played.

Tracks of one source and role share one level; the two sides of a pair have one gain, so that the image stays. A track
that is much quieter in a song than in the take was not played there: it keeps the gain of the take, so that nothing but
spill is never pulled up.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite, log10
from statistics import median

import numpy as np

from fieldfare.show.mix import IdleGate
from fieldfare.takes.axis import AxisTrack
from fieldfare.takes.loudness.gates import lufs
from fieldfare.takes.rough.levels import Spans, TrackPower
from fieldfare.takes.rough.roles import BY_NAME, MixRole, is_aside, mix_role, side_of, stem_of
from fieldfare.units.text import figure

LEAD_LUFS = -20.0  # the level that roles are told from; the bus is brought to its target afterwards
ASIDE_DB = -6.0  # of the second track of a source, against its first; PRACTICE
NOTHING_LUFS = -62.0  # quieter than this all through: nothing on it but noise; PRACTICE
NOT_PLAYED_LU = 7.0  # quieter in a song than in the take by this: not played there; PRACTICE
PLAYED_SHARE = 0.03  # of a song in which it is used, at least, to have been played in it; PRACTICE
ENOUGH_TRACKS = 3  # without a house mix; with fewer it is needed after all
WEAK_LU = 20.0  # quieter than most by more than this: not raised any further; PRACTICE


@dataclass(frozen=True)
class Part:
    """What gets one gain: a track, or the two sides of a pair."""

    tracks: tuple[int, ...]
    role: MixRole
    share_db: float  # of its group's level


@dataclass(frozen=True, slots=True)
class Gain:
    """The gains of a part, song by song, and why."""

    gain_db: tuple[float, ...]
    loudness_lufs: float  # while it plays, over the take; -inf where there is nothing
    mute: bool
    why: str


def roles_of(tracks: Sequence[AxisTrack]) -> tuple[MixRole, ...]:
    """Tell what each track is to the mix."""
    roles = []
    for track in tracks:
        drawn = track.drawn
        role = mix_role(drawn.part, track.label, drawn.source, drawn.recipe) if drawn else mix_role("", track.label, "")
        by_drawing = {"room": "room", "overhead": "overhead", "mix": "house mix", "talk": "talkback"}
        roles.append(BY_NAME[by_drawing[track.role]] if track.role in by_drawing else role)
    return tuple(roles)


def parts_of(tracks: Sequence[AxisTrack], roles: Sequence[MixRole]) -> tuple[Part, ...]:
    """Share tracks out to groups of one source and role, and the groups to parts with a gain of their own."""
    groups: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for place, (track, role) in enumerate(zip(tracks, roles, strict=True)):
        groups[_group(track, role)].append(place)
    parts = []
    for places in groups.values():
        role = roles[places[0]]
        units = _pairs(tracks, places)
        aside = [all(_aside(tracks[place]) for place in unit) for unit in units]
        wanted = [ASIDE_DB if second and not all(aside) else 0.0 for second in aside]
        whole_db = 10 * log10(sum(10 ** (db / 10) for db in wanted))
        parts += [Part(unit, role, db - whole_db) for unit, db in zip(units, wanted, strict=True)]
    return tuple(sorted(parts, key=lambda part: part.tracks))


def _aside(track: AxisTrack) -> bool:
    return is_aside(track.drawn.part if track.drawn else "", track.label)


def _group(track: AxisTrack, role: MixRole) -> tuple[str, ...]:
    """Toms and voices stand for themselves, by their names; what else one source gives to one role is one group."""
    if track.drawn and track.drawn.source and role.name not in ("tom", "room", "other"):
        return (role.name, track.drawn.source)
    return (role.name, stem_of(track.label))


def _pairs(tracks: Sequence[AxisTrack], places: Sequence[int]) -> list[tuple[int, ...]]:
    """Put the two sides of a pair together: as drawn, or by names that differ in left and right alone."""
    units: list[tuple[int, ...]] = []
    left = list(places)
    while left:
        one = left.pop(0)
        other = next((place for place in left if _are_pair(tracks[one], tracks[place])), None)
        if other is not None:
            left.remove(other)
        units.append((one,) if other is None else (one, other))
    return units


def _are_pair(one: AxisTrack, other: AxisTrack) -> bool:
    if one.drawn and one.drawn.pair:
        return one.drawn.pair == other.id
    return side_of(one.label) * side_of(other.label) == -1 and stem_of(one.label) == stem_of(other.label)


def gains_of(
    parts: Sequence[Part], power: TrackPower, songs: Spans, gates: Mapping[int, IdleGate | None]
) -> tuple[Gain, ...]:
    """Set the gain of every part in every song.

    Parameters
    ----------
    parts
        What gets a gain.
    power
        Loudness of all tracks from moment to moment.
    songs
        First sample and sample after the last of every song.
    gates
        Of the tracks that are turned down while nobody uses them: what is below is not counted as playing.
    """
    summed = TrackPower(power.rate_hz, np.stack([power.power[list(part.tracks)].sum(axis=0) for part in parts]))
    played = [_played(summed, place, songs, gates.get(part.tracks[0])) for place, part in enumerate(parts)]
    there = [
        (part, one.over_take)
        for part, one in zip(parts, played, strict=True)
        if one.over_take > NOTHING_LUFS and not part.role.left_out
    ]
    close = [loudness for part, loudness in there if part.role.name != "room"]
    usual = median(close) if close else LEAD_LUFS
    alone = sum(len(part.tracks) for part, _ in there) < ENOUGH_TRACKS
    return tuple(_gain(part, one, usual, alone=alone) for part, one in zip(parts, played, strict=True))


@dataclass(frozen=True, slots=True)
class _Played:
    """How loud a part is while it plays. [LUFS]"""

    over_take: float
    by_song: tuple[float | None, ...]  # none where it is not played


def _played(power: TrackPower, place: int, songs: Spans, gate: IdleGate | None) -> _Played:
    above = gate.below_lufs if gate else -np.inf
    over_take = power.loudness(place, songs, above)
    by_song: list[float | None] = []
    for song in songs:
        blocks = lufs(power.blocks(place, (song,)))
        used = float(np.mean(blocks > above)) if len(blocks) else 0.0
        loudness = power.loudness(place, (song,), above)
        plays = isfinite(loudness) and used >= (PLAYED_SHARE if gate else 0) and loudness > over_take - NOT_PLAYED_LU
        by_song.append(loudness if plays else None)
    return _Played(over_take, tuple(by_song))


def _gain(part: Part, played: _Played, usual: float, *, alone: bool) -> Gain:
    role, silent = part.role, (0.0,) * len(played.by_song)
    if not played.over_take > NOTHING_LUFS:
        return Gain(silent, played.over_take, True, "left out: there is nothing on it")
    target, floor = LEAD_LUFS + role.level_lu + part.share_db, usual - WEAK_LU
    gains = [
        round(target - max(played.over_take if loudness is None else loudness, floor), 1) for loudness in played.by_song
    ]
    said = [f"{figure(role.level_lu, sign=True)} LU to the lead"]
    if part.share_db:
        said[0] += f", {figure(part.share_db, 1, sign=True)} of its source"
    if played.over_take < floor:
        said.append("weak: not raised any further")
    if idle := played.by_song.count(None):
        said.append(f"hardly played in {idle} of {len(gains)} {'song' if len(gains) == 1 else 'songs'}")
    if role.left_out and not alone:
        said.insert(0, f"left out: {role.left_out}")
    return Gain(tuple(gains), played.over_take, bool(role.left_out) and not alone, "; ".join(said))
