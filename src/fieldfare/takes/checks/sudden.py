"""Thumps of phantom power, and what a radio leaves that loses its carrier."""

from __future__ import annotations

from collections.abc import Iterator
from math import log10

import numpy as np

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Track, spanned
from fieldfare.takes.checks.gaps import gaps
from fieldfare.takes.checks.levels import is_dead
from fieldfare.takes.measure.grain import BUCKET, F64
from fieldfare.takes.measure.shapes import Hole
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import figure


def _is_often(count: int, track: Track, most: float) -> bool:
    """Whether something comes more often to the minute than a fault does: it is how the instrument sounds."""
    return count > most * max(1.0, track.channel.frames / track.rate_hz / 60)


def thumps(track: Track) -> Iterator[Hit]:
    """The track jumps to one side of zero, and falls back as capacitors charge."""
    found = track.channel.thumps
    if not found or _is_often(len(found), track, limit.THUMP_RATE.value):
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


def lost_carrier(track: Track) -> Iterator[Hit]:
    """Sound is cut off, with a burst of hiss or to a silence that is deeper than the track's own, and comes back."""
    hissing, deep = _lost(track)
    places: list[tuple[int, int]] = []
    for begin, until in sorted((*hissing, *deep), key=lambda one: (one[0], -one[1])):
        if not places or begin > places[-1][1] + BUCKET:
            places.append((begin, until))
        elif until > places[-1][1]:  # a hole is seen once more from the buckets at its edge, and hiss goes before it
            places[-1] = places[-1][0], until
    if not places or is_dead(track):
        return
    start, end, places_told, count = spanned(places)
    longest_s = max(until - begin for begin, until in places) / track.rate_hz
    how = "with a burst of hiss" if hissing else "to less than its own noise"
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


def _lost(track: Track) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """Hiss, and holes with hiss at an edge; and holes that are deeper than the track ever gets elsewhere."""
    bright, channel = limit.RADIO_BRIGHT.value, track.channel
    loud = [(one.start, one.end) for one in channel.thumps]  # what holds sound down, and lets go
    loud += [(one.start, one.end) for one in channel.rails]
    loud += [(one.start, one.end) for one in gaps(track)]  # told as dropouts
    holes = [one for one in channel.holes if not any(one.start <= end and start <= one.end for start, end in loud)]
    hissing = [(one.start, one.end) for one in channel.hisses]
    hissing += [
        (one.start, one.end)
        for one in holes
        if one.bright_before >= bright  # after it a note may begin, with a pick or a stick
        and one.inside_db < min(one.before_db, one.after_db) - limit.RADIO_UNDER_DB.value
    ]
    if _is_often(len(hissing), track, limit.RADIO_RATE.value):
        hissing = []
    offset = (channel.total / max(1, channel.frames)) ** 2  # holes are seen without it
    energy = np.sort(np.maximum(channel.strip.energy[:-1] - channel.strip.frames * offset, 0.0))
    deep = [(one.start, one.end) for one in holes if _is_deep(one, track, energy)]
    return hissing, [] if _is_often(len(deep), track, limit.RADIO_RATE.value) else deep


def _is_deep(hole: Hole, track: Track, energy: F64) -> bool:
    """Whether a hole is deeper than what the track falls to outside of it; energies of the strip, in rising order."""
    frames = track.channel.strip.frames
    own = -(-(hole.end - hole.start) // frames) + 2  # its stretches are the softest of all, if it is deep
    place = own + int((len(energy) - own) * limit.RADIO_FLOOR_SHARE.value / 100)
    if place >= len(energy):
        return False
    floor_db = 10 * log10(max(2 * float(energy[place]) / (frames * float(track.full_scale) ** 2), 1e-20))
    silent = hole.inside_db < limit.RADIO_SILENT_DBFS.value  # what is let through where nothing is sent
    return hole.inside_db < floor_db - (limit.RADIO_UNDER_NOISE_DB if silent else limit.RADIO_DEEP_DB).value
