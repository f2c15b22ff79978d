"""Clicks: a jump that is not part of the sound. On one track it is a lead or a radio, on all at once a lost block.

A sharp sound is heard by several microphones, each a little later than the last; a fault is on one track alone, or on
all at the very same sample. A note begins with a jump too, but more follows than went before; and the edges of a square
wave come evenly.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Take, Track, spanned
from fieldfare.takes.checks.clipping import before_the_converter
from fieldfare.takes.checks.levels import is_dead
from fieldfare.takes.measure.grain import I64
from fieldfare.takes.measure.shapes import Click
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import listed

_SAME_SAMPLE = 2
_LEAST_TRACKS = 3
_BROKEN = 2  # tracks whose sound is broken off, beside which edges of waves count too
_BESIDE = 64  # samples from another fault, whose edge it is


def _all(track: Track) -> I64:
    """Where a track jumps at all."""
    return np.array([click.at for click in track.channel.clicks], np.int64)


def _ticks(track: Track) -> I64:
    """Where it jumps further than anything near can be predicted to, and goes on as before, away from other faults."""
    return _away_from_others(track, [click.at for click in track.channel.clicks if _is_tick(click)])


def _is_tick(click: Click) -> bool:
    """Whether a jump stands on top of what goes on, rather than is a start or an end of it.

    A sound that is broken off, or begins at once, jumps from its own swing to rest or back: it bends no further than it
    swings. A tick of one sample bends twice its own height, and is small only where a low tone swings far.
    """
    steady = click.change < limit.CLICK_STEADY.value
    if click.tall < limit.CLICK_TALL.value:
        return steady and click.alone and click.over >= limit.CLICK_OVER_LOW.value
    return click.over >= (limit.CLICK_OVER_STEADY if steady else limit.CLICK_OVER).value


def _is_edge(click: Click) -> bool:
    """Whether a jump that nothing hides bends no further than the sound beside it swings: a start or an end of it."""
    return click.over > 0 and click.tall < limit.CLICK_TALL.value and not _is_tick(click)


def _sparks(track: Track) -> I64:
    """Where it jumps sharply and goes on as before, though others may follow too closely for a tick."""
    sharp = [
        click.at
        for click, own in zip(track.channel.clicks, _edges_of_a_wave(track), strict=True)
        if not own
        and click.bend >= limit.CRACKLE_TALL.value * track.channel.peak
        and not _is_edge(click)
        and click.ratio >= (limit.CRACKLE_RATIO if click.alone else limit.CRACKLE_STEP_RATIO).value
        and click.after <= limit.CRACKLE_BALANCE.value * max(1.0, click.before)
    ]
    return _away_from_others(track, sharp)


def _away_from_others(track: Track, places: list[int]) -> I64:
    """Leave out the edges of other faults, and of silence; a tick in the midst of silence stays."""
    at = np.array(places, np.int64)
    flats = track.channel.flats
    begins, ends = (np.array(edges, np.int64) for edges in ([f.start for f in flats], [f.end for f in flats]))
    blocks = [edge for one in track.channel.repeats for edge in (one.start, one.start + one.frames)]
    in_silence = _near(at - _BESIDE, ends, _BESIDE) & _near(at + _BESIDE, begins, _BESIDE)
    edges = _near(at, np.sort(np.concatenate([begins, ends])), _BESIDE) & ~in_silence
    at = at[~edges & ~_near(at, np.array(sorted(blocks), np.int64), _BESIDE)]
    for one in track.channel.rails:
        at = at[(at < one.start - _BESIDE) | (at > one.end + _BESIDE)]
    return at


def _edges_of_a_wave(track: Track) -> list[bool]:
    """Which jumps have many as high close by: they are the edges of a synthesiser's waves."""
    at = _all(track)
    height = np.array([click.bend for click in track.channel.clicks], np.int64)
    close = np.zeros(len(at), np.int64)
    reach = limit.CLICK_WAVE_S.value * track.rate_hz
    for ahead in range(1, 2 * int(limit.CLICK_WAVE.value)):
        near = at[ahead:] - at[:-ahead] <= reach
        close[:-ahead] += near & (2 * height[ahead:] >= height[:-ahead])
        close[ahead:] += near & (2 * height[:-ahead] >= height[ahead:])
    return [bool(count >= limit.CLICK_WAVE.value) for count in close]


def _near(at: I64, others: I64, reach: int) -> NDArray[np.bool_]:
    """Which places lie within reach of any of the others, which are in order."""
    return np.asarray(np.searchsorted(others, at - reach) < np.searchsorted(others, at + reach + 1))


def _goes_on(track: Track, least: float) -> I64:
    """Where a jump stands out of sound on both sides, and is no edge of a wave: what breaks off one and begins none."""
    clicks = zip(track.channel.clicks, _edges_of_a_wave(track), strict=True)
    return np.array([click.at for click, edge in clicks if not edge and click.over >= least], np.int64)


def _in_time(take: Take) -> tuple[list[Track], float]:
    """The tracks whose jumps are held against one another, and how many of them have to jump at one sample."""
    live = [track for track in take.tracks if not is_dead(track) and track.late == 0]
    return live, max(_LEAST_TRACKS, limit.CLICK_TOGETHER.value * len(live))


def _shared(take: Take) -> tuple[I64, list[Track]]:
    """Samples at which many tracks jump together, and the tracks that do.

    Edges of a synthesiser's waves come too often to count, but for where two other tracks are broken off.
    """
    live, least = _in_time(take)
    if len(live) < least:
        return np.empty(0, np.int64), []
    jumps, goes_on = [_all(track) for track in live], [_goes_on(track, limit.CLICK_OVER.value) for track in live]
    single = [at[~np.array(_edges_of_a_wave(track), np.bool_)] for track, at in zip(live, jumps, strict=True)]
    reach = 2 * _SAME_SAMPLE
    shared: list[int] = []
    with_it: list[Track] = []
    for place in np.union1d(_crowded(single, least), _crowded(goes_on, _BROKEN)).tolist():
        if shared and place - shared[-1] <= reach:
            continue
        own, every, broken = (_with(live, places, place + reach // 2) for places in (single, jumps, goes_on))
        jumping = every if len(broken) >= _BROKEN else own
        if len(jumping) >= least:
            shared.append(place)
            with_it = max(with_it, jumping, key=len)
    return np.array(shared, np.int64), with_it


def doubtful(take: Take) -> list[tuple[int, list[Track]]]:
    """Samples at which a track may be broken off by a block left out, and the tracks that were not seen to jump."""
    live, least = _in_time(take)
    if len(live) < least:
        return []
    shared, jumps = _shared(take)[0], [_all(track) for track in live]
    broken = np.unique(np.concatenate([_goes_on(track, limit.CLICK_OVER_STEADY.value) for track in live]))
    found = []
    for place in broken[~_near(broken, shared, 2 * _SAME_SAMPLE)].tolist():
        jumping = _with(live, jumps, place)
        found.append((place, [track for track in live if not any(track is other for other in jumping)]))
    return found


def _crowded(places: Sequence[I64], least: float) -> I64:
    """Places from which on so many lie within reach, of all tracks."""
    every = np.sort(np.concatenate(places))
    crowd = np.searchsorted(every, every + 2 * _SAME_SAMPLE, side="right") - np.arange(len(every))
    return np.asarray(every[crowd >= least], np.int64)


def _with(tracks: Sequence[Track], places: Sequence[I64], at: int) -> list[Track]:
    """Tracks that have a place near."""
    window = np.array([at])
    return [track for track, own in zip(tracks, places, strict=True) if _near(window, own, _SAME_SAMPLE).any()]


def missing_blocks(take: Take) -> Iterator[Hit]:
    """Many tracks jump at the very same sample: a block was left out."""
    shared, tracks = _shared(take)
    if not len(shared):
        return
    start, end, places, count = spanned((at, at + 1) for at in shared.tolist())
    plain = [
        track
        for track in tracks
        if _near(shared, _goes_on(track, limit.CLICK_OVER_STEADY.value), 2 * _SAME_SAMPLE).any()
    ]
    sure = len(plain) >= _BROKEN or len(plain) == len(tracks)
    yield Hit(
        "stop" if sure else "warn",
        f"{len(tracks)} tracks jump at the same sample, {'once' if count == 1 else f'{count} times'}, first at "
        f"{sample_clock(start, take.rate_hz)}: {listed(track.label for track in tracks[:4])}"
        f"{' and others' if len(tracks) > 4 else ''}",
        "the recorder or its driver left out a block: from there on all tracks are early by what is missing. Lay them "
        "beside a second recorder or a camera to find how much, and keep this recorder from the next take",
        0.9 if sure else 0.7,
        start,
        end,
        places,
        count,
        {"tracks": float(len(tracks)), "places": float(count)},
    )


def _onsets(track: Track) -> I64:
    """Where a track jumps so that it may be sound that others hear too."""
    stands, tall = limit.CLICK_STANDS.value, limit.CLICK_STANDS_TALL.value
    onsets = [one.at for one in track.channel.clicks if one.over_before >= stands and one.tall >= tall]
    return np.array(onsets, np.int64)


def _alone(take: Take) -> list[tuple[Track, I64, bool]]:
    """Jumps of each track that no other hears, before or after, and whether they are so many that they crackle."""
    shared = _shared(take)[0]
    reach = round(limit.CLICK_HEARD_S.value * max(1, take.rate_hz))
    jumps, onsets = [_all(track) for track in take.tracks], [_onsets(track) for track in take.tracks]
    alone = []
    for place, track in enumerate(take.tracks):
        if is_dead(track) or any(before_the_converter(track)):  # the corners of flat tops are told as those
            continue
        heard, jumped = (
            np.sort(np.concatenate([shared, *every[:place], *every[place + 1 :]])) for every in (onsets, jumps)
        )
        ticks, sparks = _ticks(track), _sparks(track)
        ticks = ticks[~_near(ticks, heard, reach)]
        sparks = np.union1d(ticks, sparks[~_near(sparks, jumped, reach)])
        crackles = _is_crackle(sparks, track.rate_hz)
        alone.append((track, sparks if crackles else ticks, crackles))
    return alone


def single_clicks(take: Take) -> Iterator[Hit]:
    """A few jumps on one track alone."""
    for track, at, crackles in _alone(take):
        if len(at) and not crackles:
            yield _told(
                track,
                at,
                "note" if len(at) < limit.CLICK_WARN.value else "warn",
                f"{'a click' if len(at) == 1 else f'{len(at)} clicks'} that no other track hears",
                "redraw or repair them one by one; look at the lead's plugs, and whether anybody switched phantom or a "
                "pedal there",
            )


def crackle(take: Take) -> Iterator[Hit]:
    """Many jumps close together on one track alone."""
    for track, at, crackles in _alone(take):
        if crackles:
            yield _told(
                track,
                at,
                "warn",
                f"crackle: {len(at)} clicks that no other track hears",
                "a loose plug, a broken lead, a dirty pot, a flat battery or a radio at its limit. Tag that lead and "
                "put it in quarantine; a repair program takes single clicks out, but not the worst stretches",
            )


def _is_crackle(at: I64, rate_hz: int) -> bool:
    many = int(limit.CRACKLE_CLICKS.value)
    return bool(len(at) >= many and (at[many - 1 :] - at[: 1 - many]).min() <= limit.CRACKLE_S.value * rate_hz)


def _told(track: Track, at: I64, severity: str, says: str, remedy: str) -> Hit:
    gaps = np.flatnonzero(np.diff(at) > track.rate_hz) + 1
    groups: Sequence[I64] = np.split(at, gaps)
    start, end, places, count = spanned((int(one[0]), int(one[-1]) + 1) for one in groups)
    return Hit(
        "warn" if severity == "warn" else "note",
        f"{says}, first at {sample_clock(start, track.rate_hz)}",
        remedy,
        0.85,
        start,
        end,
        places,
        count,
        {"clicks": float(len(at))},
        track.label,
        track.state.path,
    )
