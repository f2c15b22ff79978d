"""Choosing a rough mix: from the take as measured, and the drawing where there is one, to a mix sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from fieldfare.show.mix import IdleGate, MixSheet, MixSong, MixTarget, MixTrack
from fieldfare.takes.axis import Axis
from fieldfare.takes.rough.balance import Gain, gains_of, parts_of, roles_of
from fieldfare.takes.rough.gate import gate_of
from fieldfare.takes.rough.levels import TrackPower, power_of_tracks
from fieldfare.takes.rough.placing import pans_of
from fieldfare.takes.rough.rides import rides_of
from fieldfare.takes.rough.roles import MixRole
from fieldfare.takes.rough.timing import Lateness, lateness, loud_stretches


class Stretch(NamedTuple):
    """A song, in samples on the take's axis."""

    title: str
    start: int
    end: int


def choose_mix(
    axis: Axis,
    songs: Sequence[Stretch] = (),
    target: MixTarget | None = None,
    *,
    power: TrackPower | None = None,
) -> MixSheet:
    """Choose a rough mix.

    Parameters
    ----------
    axis
        The take.
    songs
        What is mixed; the whole take as one where none are given.
    target
        Loudness and ceiling; -16 LUFS and -1 dBTP where none are given.
    power
        Loudness of all tracks from moment to moment, where that was measured before.
    """
    cut = tuple(songs) or (Stretch(axis.name, 0, axis.frames),)
    spans = tuple((song.start, song.end) for song in cut)
    power = power or power_of_tracks(axis, axis.track)
    roles = roles_of(axis.track)
    parts = parts_of(axis.track, roles)
    gates = {place: gate_of(power, place, spans) for place, role in enumerate(roles) if role.gated}
    gains = gains_of(parts, power, spans, gates)
    by_track = {place: gain for part, gain in zip(parts, gains, strict=True) for place in part.tracks}
    pans = pans_of(axis.track, roles, parts)
    late = _lateness(axis, roles, by_track, power, spans)
    levels = np.array([[-np.inf if gain.mute else db for db in gain.gain_db] for gain in _in_order(by_track)])
    return MixSheet(
        take=axis.name,
        rate_hz=axis.rate_hz,
        target=target or MixTarget(),
        track=tuple(
            _track(axis, place, roles[place], by_track[place], pans[place], late.get(place), gates.get(place))
            for place in range(len(axis.track))
        ),
        song=tuple(MixSong(title=song.title, start=song.start, end=song.end) for song in cut),
        ride=rides_of(power, levels, spans, axis.frames) if songs else (),
    )


def _in_order(by_track: dict[int, Gain]) -> list[Gain]:
    return [by_track[place] for place in sorted(by_track)]


def _lateness(
    axis: Axis,
    roles: Sequence[MixRole],
    gains: dict[int, Gain],
    power: TrackPower,
    spans: tuple[tuple[int, int], ...],
) -> dict[int, Lateness | None]:
    """How late each room mic hears the stage; the two of a pair are put earlier by the same, the smaller of both."""
    rooms = [place for place, role in enumerate(roles) if role.name == "room" and not gains[place].mute]
    close = [
        (axis.track[place], 10 ** (gains[place].gain_db[0] / 20))
        for place, role in enumerate(roles)
        if role.name not in ("room", "house mix", "talkback") and not gains[place].mute
    ]
    loud = loud_stretches(power, spans) if rooms and close else ()
    told = lateness(axis, [axis.track[place] for place in rooms], close, loud)
    found = dict(zip(rooms, told, strict=True))
    for place in rooms:
        pair = axis.track[place].drawn.pair if axis.track[place].drawn else ""  # type: ignore[union-attr]
        other = next((one for one in rooms if pair and axis.track[one].id == pair), None)
        mine, theirs = found[place], found.get(other) if other is not None else None
        if mine and theirs and theirs.samples < mine.samples:
            found[place] = theirs
    return found


def _track(
    axis: Axis,
    place: int,
    role: MixRole,
    gain: Gain,
    pan: float,
    late: Lateness | None,
    gate: IdleGate | None,
) -> MixTrack:
    track = axis.track[place]
    flip = bool(track.drawn and track.drawn.flip)
    said = [gain.why]
    if flip:
        said.append("turned over, as drawn")
    if late:
        said.append(late.says)
    return MixTrack(
        label=track.label,
        role=role.name,
        mute=gain.mute,
        gain_db=gain.gain_db,
        pan=pan,
        high_pass_hz=role.high_pass_hz,
        shift=-late.samples if late else 0,
        flip=flip,
        gate=gate,
        why="; ".join(said),
    )
