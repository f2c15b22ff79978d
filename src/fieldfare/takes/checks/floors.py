"""Where the noise floor of a track changes for good: what of a glimpse is noise, and how high the noise stands.

A glimpse shows noise, when its four bands stand to each other as the noise's do, or music over it, which may be as loud
as it likes but never less than the noise. So each floor from a row of levels has its odds in each glimpse, and odds of
many glimpses multiply. A change is where two floors, one before and one after, explain much more than any one does.
What never rests shows the least of its sound instead, which says little by itself: there a jump of level and treble by
as much, further than they jump by themselves, has to say the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log, log10, pi, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Track
from fieldfare.takes.checks.jumps import Course, nats
from fieldfare.takes.checks.sudden import lost_places
from fieldfare.takes.measure.grain import BUCKET, F64, GLIMPSE_SAMPLES, I64

_FLOORS_DB = np.arange(-8.0, 45.0)  # that are tried, re the least of the track
_LEAST_PERCENT = 2.0  # of the glimpses lie under what stands for the least floor in a band
_SPREAD_DB = 6.55  # of noise in a band of one bin; it falls with the root of the bins: measured on white noise
_UNDER_LEAST = 1.5  # times the spread that such a percentile of noise lies under its mean
_MUSIC_DB = 8.0  # by which music's bands stray from how the noise's stand to each other
_MUSIC_RANGE_DB = 80.0
_OFTEN = 0.3  # of the glimpses, as a guess, show noise
_STRAY = -7.0  # nats, for what is neither: a glimpse in a hole
_LEAST_GLIMPSES = 24


class Change(NamedTuple):
    """A change of the floor, between two places in samples."""

    start: int
    end: int
    at: int  # likeliest
    by_db: float
    odds: float  # nats over no change
    jump: float  # of these, what level and treble say


@dataclass(frozen=True, slots=True)
class Floor:
    """What is known of a track's floor at each of its glimpses."""

    at: I64  # samples
    mean_db: F64  # over the bands, re the least floor
    likely: F64  # (glimpses, floors): nats
    noise: F64  # (glimpses, floors): odds that it shows the noise of this floor


def fit(track: Track) -> Floor | None:
    """Return what is known of a track's floor; nothing where it has none, as what comes from a digital source."""
    glimpses = track.channel.glimpses
    level = glimpses.level.astype(np.float64)
    total = 10 * np.log10(np.sum(10 ** (level / 10), axis=1)) if level.size else np.empty(0)
    rounding_db = 10 * log10(track.quantum**2 / 6 * sum(glimpses.widths) / (GLIMPSE_SAMPLES / 2))
    rounding_db -= 20 * log10(track.full_scale)
    least_db = max(limit.GAIN_PREAMP_DBFS.value, rounding_db + limit.GAIN_ROUNDING_DB.value)
    own = np.ones(len(total), np.bool_)  # what a radio leaves where it lost its carrier is another noise
    for start, end in lost_places(track)[1]:
        own &= (glimpses.at < start - 2 * BUCKET) | (glimpses.at >= end + 2 * BUCKET)
    seen = np.flatnonzero(own & (total > least_db))
    quieter = np.count_nonzero(own & (total <= least_db) & (total >= -190))
    if len(seen) < _LEAST_GLIMPSES or quieter > limit.GAIN_PREAMP_SHARE.value * len(total):
        return None
    return _odds(level[seen], glimpses.at[seen], _SPREAD_DB / np.sqrt(np.array(glimpses.widths)))


def _odds(level: F64, at: I64, spread: F64) -> Floor:
    bands = level - np.percentile(level, _LEAST_PERCENT, axis=0) - _UNDER_LEAST * spread
    off = (bands[:, np.newaxis] - _FLOORS_DB[:, np.newaxis]) / spread
    noise = -0.5 * np.sum(off**2, axis=2) - np.sum(np.log(spread * sqrt(2 * pi)))
    mean = bands.mean(axis=1)
    stray = np.sum(((bands - mean[:, np.newaxis]) / _MUSIC_DB) ** 2, axis=1)
    anything = -0.5 * stray - (bands.shape[1] - 1) * log(_MUSIC_DB * sqrt(2 * pi)) - log(_MUSIC_RANGE_DB)
    music = anything[:, np.newaxis] - 4.5 * np.minimum(off.min(axis=2) + 2, 0) ** 2  # never less than the noise
    likely = np.logaddexp(log(_OFTEN) + noise, log(1 - _OFTEN) + music)
    likely = np.logaddexp(likely, anything[:, np.newaxis] + _STRAY)
    return Floor(at, mean, likely, np.exp(noise - np.logaddexp(noise, music)))


def changes(floor: Floor, course: Course, rate_hz: int, beside_s: float) -> tuple[Change, ...]:
    """Return the changes of a floor, in order of time: the clearest first, then those on either side of it.

    Parameters
    ----------
    floor
        The floor of a track.
    course
        Its level and treble, by which a change is placed.
    rate_hz
        Sample rate. [Hz]
    beside_s
        How much on either side of a place is looked at. [s]
    """
    sums, places = _summed(floor, course)
    found: list[Change] = []
    parts = [(0, len(floor.at))]
    while parts:
        begin, end = parts.pop()
        odds = _Odds.of(sums, places, begin, end, rate_hz, beside_s)
        change = _clearest(floor, odds, places, begin, course, rate_hz)
        if change:
            found.append(change)
            middle = int(np.searchsorted(places, change.at))
            parts += [(begin, middle), (middle, end)]
    return tuple(sorted(found))


def sudden(floor: Floor, course: Course, rate_hz: int) -> Change | None:
    """Return the change that floors of all before and all after, and level and treble at its place, say together.

    Of all places it is the likeliest by both; nothing where level and treble do not jump there further than by
    themselves. The noise need not be seen bare.

    Parameters
    ----------
    floor
        The floor of a track.
    course
        Its level and treble.
    rate_hz
        Sample rate. [Hz]
    """
    sums, places = _summed(floor, course)
    odds = _Odds.of(sums, places, 0, len(floor.at), rate_hz, inf)
    by_db = _FLOORS_DB[odds.after] - _FLOORS_DB[odds.before]
    differ = (odds.gain >= limit.GAIN_SUDDEN_FLOOR_ODDS.value) & (np.abs(by_db) >= limit.GAIN_SLIGHT_DB.value)
    cuts = np.minimum(np.searchsorted(places, np.arange(len(course.level_db)) * course.frames), len(places) - 1)
    here = np.flatnonzero(differ[cuts])
    if not len(here):
        return None
    first, last = int(here[0]), int(here[-1])
    jump = nats(course, by_db[cuts[first : last + 1]], first, last)[here - first]
    cut = int(cuts[here[(jump + odds.gain[cuts[here]]).argmax()]])
    sides = _Sides.of(floor, odds, cut, 0)
    change = _change(floor, sides, float(odds.gain[cut]), places, (0, len(floor.at)), course, rate_hz)
    if not change or change.jump < limit.GAIN_SUDDEN_JUMP.value or change.odds < limit.GAIN_SUDDEN_ODDS.value:
        return None
    return change


def _summed(floor: Floor, course: Course) -> tuple[F64, I64]:
    """Odds of each floor summed up to each cut, and the places of the cuts: before each glimpse and after the last."""
    sums = np.concatenate([np.zeros((1, len(_FLOORS_DB))), np.cumsum(floor.likely, axis=0)])
    return sums, np.append(floor.at, floor.at[-1] + course.frames)


def difference(floor: Floor, begin: int, at: int, end: int) -> tuple[float, float]:
    """Return how many nats better two floors explain what lies between two places than one, and how they differ.

    Parameters
    ----------
    floor
        The floor of a track.
    begin, at, end
        Where the first begins, the second takes over, and that ends. [samples]
    """
    low, cut, high = np.searchsorted(floor.at, (begin, at, end)).tolist()
    before, after = floor.likely[low:cut].sum(axis=0), floor.likely[cut:high].sum(axis=0)
    was, _ = _height(floor, low, cut, int(before.argmax()))
    now, _ = _height(floor, cut, high, int(after.argmax()))
    return float(before.max() + after.max() - (before + after).max()), now - was


class _Odds(NamedTuple):
    """For each cut: how much better two floors explain what is beside it than one, which ones, and how far beside."""

    gain: F64
    before: NDArray[np.intp]
    after: NDArray[np.intp]
    low: NDArray[np.intp]
    high: NDArray[np.intp]
    near: float  # samples about a cut that another cut tells nothing new of

    @classmethod
    def of(cls, sums: F64, places: I64, begin: int, end: int, rate_hz: int, beside_s: float) -> _Odds:
        here = places[begin : end + 1]
        apart = float(np.median(np.diff(places)))
        wide = max(beside_s * rate_hz, 120 * apart)
        low = np.maximum(begin, np.searchsorted(places, here - wide))
        high = np.minimum(end, np.searchsorted(places, here + wide))
        before, after = sums[begin : end + 1] - sums[low], sums[high] - sums[begin : end + 1]
        gain = before.max(axis=1) + after.max(axis=1) - (before + after).max(axis=1)
        near = 0.75 * _least_samples(places, rate_hz)
        gain[(here < here[0] + near) | (here > here[-1] - near)] = 0.0
        skip = max(_NEAR_S * rate_hz, min(wide, float(here[-1] - here[0])) / 32)
        return cls(gain, before.argmax(axis=1), after.argmax(axis=1), low, high, skip)


def _least_samples(places: I64, rate_hz: int) -> float:
    """How long a floor has to stay."""
    return max(limit.GAIN_LEAST_S.value * rate_hz, 48 * float(np.median(np.diff(places))))


def _clearest(floor: Floor, odds: _Odds, places: I64, begin: int, course: Course, rate_hz: int) -> Change | None:
    """The clearest change of a part that stands up to a closer look."""
    here, gain = places[begin : begin + len(odds.gain)], odds.gain.copy()
    while len(gain) and gain.max() >= limit.GAIN_FLOOR_ODDS.value:
        cut = int(gain.argmax())
        sides = _Sides.of(floor, odds, cut, begin)
        if min(sides.seen) >= limit.GAIN_SEEN.value:
            change = _change(floor, sides, float(gain[cut]), places, (begin, begin + len(gain) - 1), course, rate_hz)
            if change and change.odds >= limit.GAIN_ODDS.value and not _swells(floor, sides, change.at, rate_hz):
                return change
        gain[np.abs(here - here[cut]) < odds.near] = 0.0
    return None


class _Sides(NamedTuple):
    """What two floors before and after a cut show."""

    low: int  # glimpses from here on
    high: int  # to here
    before: int  # which floor
    after: int
    heights_db: tuple[float, float]
    seen: tuple[float, float]  # glimpses of noise alone

    @classmethod
    def of(cls, floor: Floor, odds: _Odds, cut: int, begin: int) -> _Sides:
        low, high, before, after = (int(one[cut]) for one in (odds.low, odds.high, odds.before, odds.after))
        was, seen_before = _height(floor, low, begin + cut, before)
        now, seen_after = _height(floor, begin + cut, high, after)
        return cls(low, high, before, after, (was, now), (seen_before, seen_after))


def _change(
    floor: Floor, sides: _Sides, odds: float, places: I64, part: tuple[int, int], course: Course, rate_hz: int
) -> Change | None:
    """The change from one floor to another, placed; nothing where it is slight, or too near an end of the part."""
    low, high, before, after = sides[:4]
    was, now = sides.heights_db
    if abs(now - was) < limit.GAIN_SLIGHT_DB.value:
        return None
    against = np.concatenate([[0.0], np.cumsum(floor.likely[low:high, before] - floor.likely[low:high, after])])
    start, end, at, jump = _place(against, places[low : high + 1], now - was, course, rate_hz)
    least, (first, last) = _least_samples(places, rate_hz), places[list(part)]
    return Change(start, end, at, now - was, odds + jump, jump) if first + least <= at <= last - least else None


def _height(floor: Floor, begin: int, end: int, which: int) -> tuple[float, float]:
    """Mean level of the glimpses that show the noise of a floor, and how many do."""
    weight = floor.noise[begin:end, which]
    seen = float(weight.sum())
    return float(np.dot(weight, floor.mean_db[begin:end])) / max(seen, 1e-9), seen


def _swells(floor: Floor, sides: _Sides, at: int, rate_hz: int) -> bool:
    """Whether a floor that rises or falls bit by bit explains much better what is there than one that jumps."""
    here, each = floor.at[sides.low : sides.high], np.arange(sides.low, sides.high)
    was, now = sides.heights_db

    def odds(centre: float, wide: float) -> float:
        turn = np.clip((here - centre) / wide, -0.5, 0.5)
        which = np.rint((was + now) / 2 + (now - was) * turn - _FLOORS_DB[0]).astype(np.int64)
        return float(floor.likely[each, np.clip(which, 0, len(_FLOORS_DB) - 1)].sum())

    slow = max(odds(at + by * rate_hz, wide * rate_hz) for wide in _SWELLS_S for by in (-wide / 2, 0, wide / 2))
    return slow > odds(at, 1.0) + limit.GAIN_SWELL.value


def _place(against: F64, places: I64, by_db: float, course: Course, rate_hz: int) -> tuple[int, int, int, float]:
    """Where a change lies: where the one floor ends and the other begins, and where level and treble jump by as much.

    `against` is how much likelier the old floor is, summed up to each of the places. Beside first and last sample and
    the likeliest, how many nats the jump there speaks for it.
    """
    frames, count = course.frames, len(course.level_db)
    likely = np.flatnonzero(against >= against.max() - _FLOOR_REACH)
    first = min(max(0, int(places[max(likely[0] - 1, 0)]) // frames - _MARGIN), count)
    last = max(first, min(count, int(places[min(likely[-1], len(places) - 1)]) // frames + _MARGIN))
    stretches = np.arange(first, last + 1)
    jump = nats(course, by_db, first, last)
    score = against[np.minimum(np.searchsorted(places, stretches * frames), len(against) - 1)] + jump
    best = int(score.argmax())
    good = np.flatnonzero(score >= score[best] - limit.GAIN_PLACE.value)
    if (good[-1] - good[0]) * frames > limit.GAIN_WIDE_S.value * rate_hz:
        good = np.flatnonzero(score >= score[best] - limit.GAIN_WIDE_PLACE.value)
    start, end = int(stretches[good[0]]) - 1, int(stretches[good[-1]]) + 1
    return max(0, start) * frames, end * frames, int(stretches[best]) * frames, float(jump[best])


_NEAR_S = 3.0
_SWELLS_S = (4.0, 8.0, 16.0, 32.0)
_FLOOR_REACH = 80.0  # nats
_MARGIN = 20  # stretches
