"""Tracks side by side: polarity within a pair, and the same signal on two tracks."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import dist
from typing import NamedTuple

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Take, Track
from fieldfare.takes.checks.levels import is_dead
from fieldfare.takes.measure.compare import Likeness, correlations, likeness
from fieldfare.units.text import figure

_SIDES = {"l": "side", "left": "side", "r": "side", "right": "side"}
_SOUND_M_S = 343.0  # at 20 °C: only bounds a lag
_SPARE_S = 0.0005
_WITNESS_LAG_S = 0.01
_WITNESSES = 8


class Pair(NamedTuple):
    """Two tracks that hear the same, and how they should."""

    first: Track
    second: Track
    upright: bool  # expected of the second against the first
    lag_s: float  # at most, from one to the other


def pairs(take: Take) -> list[Pair]:
    """Return the pairs of a take: by the plan where it knows the tracks, else labels that differ in left and right."""
    live = [track for track in take.tracks if not is_dead(track) and track.loud_db > limit.LOUD_ENOUGH_DBFS.value]
    found = []
    for first, second in combinations(live, 2):
        if first.late != second.late:
            continue
        if first.planned and second.planned:
            if first.planned.pair == second.planned.id or second.planned.pair == first.planned.id:
                apart_m = dist(first.planned.at, second.planned.at)
                upright = first.planned.flip == second.planned.flip
                found.append(Pair(first, second, upright, apart_m / _SOUND_M_S + _SPARE_S))
        elif _are_sides(first.label, second.label):
            found.append(Pair(first, second, *_as_listed(first, second)))
    return found


def _as_listed(first: Track, second: Track) -> tuple[bool, float]:
    """How two sides should lie to one another by the list of inputs: upright or not, and the lag at most."""
    one, other = first.listed, second.listed
    upright = one is None or other is None or bool(one.flip) == bool(other.flip)
    if one is None or other is None or one.at is None or other.at is None:
        return upright, limit.PAIR_LAG_S.value
    return upright, dist(one.at, other.at) / _SOUND_M_S + _SPARE_S


def _are_sides(first: str, second: str) -> bool:
    """Whether two labels differ in left and right alone.

    >>> _are_sides("OH L", "OH R"), _are_sides("Room left", "Room right"), _are_sides("Vox 1", "Vox 2")
    (True, True, False)
    """
    words = [label.casefold().replace("_", " ").replace("-", " ").split() for label in (first, second)]
    neutral = [[_SIDES.get(word, word) for word in one] for one in words]
    return words[0] != words[1] and neutral[0] == neutral[1]


def _compare(first: Track, second: Track, lag_s: float) -> Likeness | None:
    return likeness(first.channel.lows, second.channel.lows, first.rate_hz, lag_s)


def reversed_side(take: Take) -> Iterator[Hit]:
    """One side of a pair is upside down against the other."""
    for pair in pairs(take):
        like = _compare(pair.first, pair.second, pair.lag_s)
        if like is None or like.rest_db <= limit.SAME_REST_DB.value:
            continue
        wrong, right = (like.reversed, like.upright) if pair.upright else (like.upright, like.reversed)
        if wrong < limit.PAIR_LEAST.value or wrong < limit.PAIR_REVERSED.value * right:
            continue
        suspect, other = _suspect(pair, take)
        lag_s = like.reversed_lag_s if pair.upright else like.upright_lag_s
        says = f"upside down against {other.label}: together they lose their low end"
        if not pair.upright:
            says = f"the same way up as {other.label}, where {take.by} expects the opposite"
        yield Hit(
            "warn",
            says,
            f"reverse the polarity of one of the two, {suspect.label} by what the other tracks say, and listen in "
            "mono. Then find the lead or adapter that is wired the other way, and mark it",
            min(0.99, wrong / (wrong + right)),
            0,
            suspect.channel.frames,
            figures={"reversed": wrong, "upright": right, "lag_ms": 1000 * lag_s, "correlation": like.correlation},
            track=suspect.label,
            file=suspect.state.path,
        )


def _suspect(pair: Pair, take: Take) -> tuple[Track, Track]:
    """Which side the other tracks contradict, and the other one."""
    sides = (pair.first, pair.second)
    others = [track for track in take.tracks if track not in sides and not is_dead(track)][:_WITNESSES]
    votes = []
    for side in sides:
        likes = (_compare(side, other, _WITNESS_LAG_S) for other in others)
        votes.append(sum(like.upright - like.reversed for like in likes if like is not None))
    return (sides[0], sides[1]) if votes[0] < votes[1] else (sides[1], sides[0])


def same_signal(take: Take) -> Iterator[Hit]:
    """Two tracks carry one signal."""
    live = [track for track in take.tracks if not is_dead(track) and track.loud_db > limit.LOUD_ENOUGH_DBFS.value]
    for first, second in _alike(live):
        like = _compare(first, second, 0.0)
        if like is None or like.rest_db > limit.SAME_REST_DB.value:
            continue
        exact = _exact(first, second)
        paired = _are_sides(first.label, second.label)
        if first.planned and second.planned:
            paired = first.planned.pair == second.planned.id
        how = "sample for sample" if exact else f"within {figure(-like.rest_db)} dB"
        upside = ", upside down" if like.correlation < 0 else ""
        yield Hit(
            "note" if paired else "warn",
            f"the same signal as {first.label}{upside}, {how}",
            "both sides of the pair carry one signal: the instrument sends mono, or one lead was split"
            if paired
            else "one of the two sources was not recorded: follow both lines from the microphone to the recorder, and "
            "look at the routing",
            0.99 if exact else 0.9,
            0,
            second.channel.frames,
            figures={"rest_db": like.rest_db, "correlation": like.correlation},
            track=second.label,
            file=second.state.path,
        )


def _alike(tracks: list[Track]) -> Iterator[tuple[Track, Track]]:
    """Pairs of tracks whose low bands correlate nearly fully."""
    kept: dict[tuple[int, ...], list[Track]] = {}
    for track in tracks:
        kept.setdefault(tuple(track.channel.lows.excerpt_at.tolist()), []).append(track)
    for at, group in kept.items():
        if not at:
            continue
        matrix = correlations([track.channel.lows for track in group])
        for one, other in combinations(range(len(group)), 2):
            if 1 - matrix[one, other] ** 2 < 10 * 10 ** (limit.SAME_REST_DB.value / 10):
                yield group[one], group[other]


def _exact(first: Track, second: Track) -> bool:
    one, other = first.channel, second.channel
    return (one.energy, one.total, one.low, one.high, one.peak_at) == (
        (other.energy, other.total, other.low, other.high, other.peak_at)
    )
