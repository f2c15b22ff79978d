"""Thumps of phantom power, and what a radio leaves that loses its carrier."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import inf, log10

import numpy as np

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Track, spanned
from fieldfare.takes.checks.gaps import gaps
from fieldfare.takes.checks.levels import is_dead
from fieldfare.takes.measure.grain import BUCKET, F64
from fieldfare.takes.measure.shapes import Hole, Thump
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import figure

_NOISE_SWING = 6.1  # from the lowest to the highest of 512 samples of noise, over its rms


def _is_often(count: int, track: Track, most: float) -> bool:
    """Whether something comes more often to the minute than a fault does: it is how the instrument sounds."""
    return count > most * max(1.0, track.channel.frames / track.rate_hz / 60)


def thumps(track: Track) -> Iterator[Hit]:
    """The track jumps to one side of zero, and falls back as capacitors charge."""
    found = _faults(track)
    if not found:
        return
    start, end, places, count = spanned((one.start, one.end) for one in found)
    worst = max(found, key=lambda one: abs(one.height))
    height_db = 20 * log10(abs(worst.height))
    longest_s = max(one.end - one.start for one in found) / track.rate_hz
    yield Hit(
        "warn" if height_db > limit.THUMP_WARN_DBFS.value else "note",
        f"{'a thump' if count == 1 else f'{count} thumps'} of phantom power or of a plug, up to {figure(height_db)} "
        f"dBFS on one side of zero, the first at {sample_clock(start, track.rate_hz)}",
        "cut it out or fade round it; a high-pass filter alone leaves its edge. Mute the channel before phantom is "
        "switched or a lead is pulled, and wait until it has settled",
        0.85,
        start,
        end,
        places,
        count,
        {"peak_dbfs": height_db, "longest_s": longest_s, "thumps": float(count)},
    )


def _faults(track: Track) -> list[Thump]:
    """Thumps that are heard and are none of an instrument's own: there are few, or few are far taller than the rest."""
    found = sorted(track.channel.thumps, key=lambda one: -abs(one.height))
    if _is_often(len(found), track, limit.THUMP_RATE.value):
        found = _far_taller(found)
    return sorted((one for one in found if one.swing <= limit.THUMP_SWING.value), key=lambda one: one.start)


def _far_taller(found: list[Thump]) -> list[Thump]:
    """The few that stand out of all others, the tallest first."""
    for count, (one, other) in enumerate(pairwise(found[: int(limit.THUMP_FEW.value) + 1]), 1):
        if abs(one.height) >= limit.THUMP_OUT.value * abs(other.height):
            return found[:count]
    return []


def lost_carrier(track: Track) -> Iterator[Hit]:
    """Sound is cut off, with a burst of hiss or to a silence that is not the track's own, and comes back."""
    hissing, places = lost_places(track)
    if not places or is_dead(track):
        return
    start, end, places_told, count = spanned(places)
    longest_s = max(until - begin for begin, until in places) / track.rate_hz
    how = "with a burst of hiss" if hissing else "to a muted receiver's silence"
    yield Hit(
        "warn",
        f"sound is cut off {how} and comes back, {'once' if count == 1 else f'{count} times'}, first at "
        f"{sample_clock(start, track.rate_hz)}; the longest hole lasts {figure(1000 * longest_s)} ms",
        "fill the holes from a neighbouring track's spill or another chorus. A radio lost its carrier: move its "
        "receiver nearer and into sight, change its frequency, put in fresh batteries, take the lead instead",
        0.9 if hissing else 0.75,
        start,
        end,
        places_told,
        count,
        {"holes": float(count), "longest_ms": 1000 * longest_s},
    )


def lost_places(track: Track) -> tuple[bool, list[tuple[int, int]]]:
    """Return whether a radio that loses its carrier hisses on a track, and where it is cut off, in order of time."""
    hissing, deep = _lost(track)
    places: list[tuple[int, int]] = []
    for begin, until in sorted((*hissing, *deep), key=lambda one: (one[0], -one[1])):
        if not places or begin > places[-1][1] + BUCKET:
            places.append((begin, until))
        elif until > places[-1][1]:  # a hole is seen once more from the buckets at its edge, and hiss goes before it
            places[-1] = places[-1][0], until
    return bool(hissing), places


def _lost(track: Track) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """Hiss, and holes with hiss at an edge; and silent holes that are in another noise than the line's own."""
    bright, channel = limit.RADIO_BRIGHT.value, track.channel
    loud = [(one.start, one.end) for one in channel.thumps]  # what holds sound down, and lets go
    loud += [(one.start, one.end) for one in channel.rails]
    loud += [(one.start, one.end) for one in gaps(track)]  # told as dropouts
    beside = 2 * BUCKET
    holes = [
        one
        for one in channel.holes
        if not any(one.start - beside <= end and start <= one.end + beside for start, end in loud)
    ]
    hissing = [(one.start, one.end) for one in channel.hisses]
    hissing += [
        (one.start, one.end)
        for one in holes
        if one.bright_before >= bright  # after it a note may begin, with a pick or a stick
        and one.inside_db < min(one.before_db, one.after_db) - limit.RADIO_UNDER_DB.value
    ]
    if _is_often(len(hissing), track, limit.RADIO_RATE.value):
        hissing = []
    silent = [one for one in holes if one.inside_db < limit.RADIO_SILENT_DBFS.value]
    energies, under = _energies(track), limit.RADIO_UNDER_NOISE_DB.value
    over_db = [one.inside_db - _floor_db(one, track, energies) for one in silent]
    deep = [one for one, over in zip(silent, over_db, strict=True) if over < -under]
    deep = [] if _is_often(len(deep), track, limit.RADIO_RATE.value) else deep
    rests = [one for one, over in zip(silent, over_db, strict=True) if abs(over) <= under]  # in the line's own noise
    strange = [one for one in _strange(silent, track) if one not in rests]
    places = {(one.start, one.end) for one in (*deep, *strange)}
    return hissing, sorted(places)


def _energies(track: Track) -> F64:
    """How much sounds in each stretch of the strip, in rising order, whatever it rests at.

    Of energy without the mean of all, and that of noise of as wide a swing, the greater: either alone is too little
    where a track rests at its mean, or elsewhere.
    """
    channel, strip = track.channel, track.channel.strip
    mean = channel.total / max(1, channel.frames)
    swing = (strip.high[:-1].astype(np.float64) - strip.low[:-1]) / _NOISE_SWING
    rested = strip.energy[:-1] - strip.frames * mean**2
    energies: F64 = np.sort(np.maximum(rested, strip.frames * swing**2))
    return energies


def _floor_db(hole: Hole, track: Track, energies: F64) -> float:
    """Return what a track falls to outside of a hole: its own noise, if it ever rests. [dBFS rms]"""
    frames = track.channel.strip.frames
    own = -(-(hole.end - hole.start) // frames) + 2  # its stretches are the softest of all, if it is deep
    place = own + int((len(energies) - own) * limit.RADIO_FLOOR_SHARE.value / 100)
    if place >= len(energies):
        return -inf
    return 10 * log10(max(2 * float(energies[place]) / (frames * float(track.full_scale) ** 2), 1e-20))


def _strange(silent: list[Hole], track: Track) -> list[Hole]:
    """Silent holes that are not how an instrument rests: it hardly ever breaks off so, or its rests hiss less."""
    apart = [one for place, one in enumerate(silent) if not place or one.start >= silent[place - 1].end]
    few = limit.RADIO_FEW.value * max(1.0, track.channel.frames / track.rate_hz / 60)
    if len(apart) > few:
        usual_db = float(np.median([one.inside_db for one in apart]))
        apart = [one for one in apart if one.inside_db >= usual_db + limit.RADIO_OVER_REST_DB.value]
    noise = [one for one in apart if one.bright_inside >= limit.RADIO_WHITE.value and _goes_on(one, track)]
    short = [one for one in noise if one.end - one.start <= limit.RADIO_REST_S.value * track.rate_hz]
    return short if len(noise) <= few else []


def _goes_on(hole: Hole, track: Track) -> bool:
    """Whether more than a tick or a spit ends a hole: there is sound in the second stretch after it."""
    strip = track.channel.strip
    later = hole.end // strip.frames + 2
    if later >= len(strip.energy):
        return False
    mean_square = max(float(strip.energy[later]) / (strip.frames * float(track.full_scale) ** 2), 1e-20)
    return 10 * log10(2 * mean_square) >= hole.inside_db + limit.RADIO_BACK_DB.value
