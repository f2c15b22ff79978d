"""The exact dynamic programme: of all ways to lay songs over the places where one may begin or end, the likeliest.

A night is told as gap, song, gap, song and so on; songs follow the list, except that one may be dropped, one that is
not on it added, two neighbours swapped. Nothing is left out for speed: every pair of places is tried as a song, every
pair as a gap, at every place in the list. The same recursion, summed instead of maximised and run both ways, gives
how sure each choice is.

Conventions: places are in seconds, in order; a state of the list is 2 · songs done + 1 where the next but one was
played first. Scores are log probabilities, up to a constant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.songs import ListedSong
from fieldfare.takes.songs.night import NEVER, Night, Places, Reduce, most, total
from fieldfare.takes.songs.wishes import DROPPED

F64 = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Laid:
    """One song as laid: places of its beginning and end, and its place in the list; none for one that is not on it."""

    begin: int
    end: int
    listed: int | None


@dataclass(frozen=True)
class Answer:
    """The likeliest night, and how sure its parts are."""

    laid: tuple[Laid, ...]
    begins: F64  # (places,): probability that a song begins here
    ends: F64
    titles: tuple[F64, ...]  # of each song laid: probabilities of the titles of the list, and last that it is none


@dataclass(frozen=True)
class _Ways:
    """Scores of all ways up to a song's beginning or end at each place and state, or from there on.

    Songs of the list are passed over right before the next one of it, and only there, so that no night counts twice.
    """

    begin: F64  # (places, states)
    passed: F64  # likewise, songs passed over; up to or from the beginning of a song of the list
    end: F64


def lay_songs(places: Places, listed: Sequence[ListedSong], cool: float = 1.0) -> Answer:
    """Find the likeliest night.

    Parameters
    ----------
    places
        Where songs may begin and end, and what speaks for it.
    listed
        The set list, in order; empty where there is none.
    cool
        By how much scores are taken back before it is told how sure they are; the choice itself is not changed. [1]
    """
    night = Night(places, listed)
    laid = _trace(night, _forward(night, most))
    cooler = Night(places, listed, cool)
    before, after = _forward(cooler, total), _backward(cooler)
    everything = _combine(total, before.end + cooler.last(), np.array([cooler.nothing]))
    begins = _share(before.begin + after.begin, everything)
    ends = _share(before.end + after.end, everything)
    titles = tuple(_titles(cooler, before, after, one) for one in laid)
    return Answer(laid, begins, ends, titles)


def _share(scores: F64, everything: float) -> F64:
    if not np.isfinite(everything):  # no night fits what was set by hand
        return np.zeros(len(scores))
    share: F64 = np.exp(np.minimum(total(scores.T) - everything, 0.0))
    return share


def _combine(reduce: Reduce, *scores: F64) -> float:
    return float(reduce(np.concatenate([np.ravel(one) for one in scores])))


def _forward(night: Night, reduce: Reduce) -> _Ways:
    """Score every way from the start of the night to each place."""
    ways = _Ways(*(np.full((night.count, night.states), NEVER) for _ in range(3)))
    for place in range(night.count):
        ways.end[place] = _played(night, reduce, ways, place)
        ways.begin[place] = _begun(night, reduce, ways.end, place)
        ways.passed[place] = _with_drops(night, reduce, ways.begin[place])
    return ways


def _played(night: Night, reduce: Reduce, ways: _Ways, place: int) -> F64:
    """Score the ends of songs at one place, by state, from the scores of their beginnings."""
    added, titled = night.songs_to(place)
    scores = reduce(ways.begin + added[:, np.newaxis])
    for before, after, title, cost in night.steps():
        if len(title):
            played = reduce(ways.passed[:, before] + titled[title].T) + cost
            scores[after] = reduce(np.stack([scores[after], played]))
    return scores


def _begun(night: Night, reduce: Reduce, end: F64, place: int) -> F64:
    """Score the beginnings at one place: as the first song, after a gap, or out of the song before."""
    opening = np.full(night.states, NEVER)
    opening[0] = night.opening[place]
    after_gap = reduce(end[:place] + night.gap[:place, place, np.newaxis]) + night.pause()
    return reduce(np.stack([opening, after_gap, end[place] + night.seam(place)]))


def _with_drops(night: Night, reduce: Reduce, scores: F64) -> F64:
    """Let songs of the list be passed over, as many as there are."""
    scores = scores.copy()
    for done in range(len(night.listed)):
        here, there = 2 * done, 2 * done + 2
        scores[there] = _combine(reduce, scores[there : there + 1], scores[here : here + 1] + DROPPED * night.cool)
    return scores


def _backward(night: Night) -> _Ways:
    """Score every way from each place to the end of the night, summed."""
    ways = _Ways(*(np.full((night.count, night.states), NEVER) for _ in range(3)))
    for place in range(night.count - 1, -1, -1):
        added, titled = night.songs_from(place)
        for before, after, title, cost in night.steps():
            if len(title):
                played = total(ways.end[:, after] + titled[title].T) + cost
                ways.passed[place, before] = total(np.stack([ways.passed[place, before], played]))
        for done in range(len(night.listed) - 1, -1, -1):
            here, there = 2 * done, 2 * done + 2
            further = ways.passed[place, there : there + 1] + DROPPED * night.cool
            ways.passed[place, here] = _combine(total, ways.passed[place, here : here + 1], further)
        ways.begin[place] = total(np.stack([total(ways.end + added[:, np.newaxis]), ways.passed[place]]))
        later = slice(place + 1, None)
        after_gap = total(ways.begin[later] + night.gap[place, later, np.newaxis]) + night.pause()
        ways.end[place] = total(np.stack([night.last()[place], after_gap, ways.begin[place] + night.seam(place)]))
    return ways


def _titles(night: Night, before: _Ways, after: _Ways, one: Laid) -> F64:
    """Tell how probable each title of the list is for a song as laid, and last that it is none of them."""
    added, titled = night.songs_to(one.end)
    scores = np.full(len(night.listed) + 1, NEVER)
    scores[-1] = _combine(total, before.begin[one.begin] + added[one.begin] + after.end[one.end])
    for states, then, title, cost in night.steps():
        for state, new, number, score in zip(states, then, title, cost, strict=True):
            way = before.passed[one.begin, state] + titled[number, one.begin] + score + after.end[one.end, new]
            scores[number] = _combine(total, scores[number : number + 1], np.array([way]))
    share: F64 = np.exp(scores - _combine(total, scores))
    return share


def _trace(night: Night, ways: _Ways) -> tuple[Laid, ...]:
    """Follow the best way back from the end of the night."""
    scores = ways.end + night.last()
    if not scores.size or scores.max() <= night.nothing:
        return ()
    place, state = (int(one) for one in np.unravel_index(int(scores.argmax()), scores.shape))
    laid: list[Laid] = []
    while True:
        song, state = _song_before(night, ways, place, state)
        laid.append(song)
        back = _end_before(night, ways, song, state)
        if back is None:
            return tuple(reversed(laid))
        place, state = back


def _song_before(night: Night, ways: _Ways, place: int, state: int) -> tuple[Laid, int]:
    """Find the song that ends best at a place and leaves the list in a state, and the state before it."""
    added, titled = night.songs_to(place)
    options: list[tuple[F64, int, int | None]] = [(ways.begin[:, state] + added, state, None)]
    for before, after, title, cost in night.steps():
        for there in np.flatnonzero(after == state):
            played = ways.passed[:, before[there]] + titled[title[there]] + cost[there]
            options.append((played, int(before[there]), int(title[there])))
    scores, earlier, listed = max(options, key=lambda one: float(one[0].max()))
    return Laid(int(scores.argmax()), place, listed), earlier


def _end_before(night: Night, ways: _Ways, song: Laid, state: int) -> tuple[int, int] | None:
    """Find what came before a song: where the last one ended and in which state of the list, or that it is the first.

    Songs passed over lie between the two states.
    """
    best: tuple[float, tuple[int, int] | None] = (NEVER, None)
    begin, even = song.begin, not state % 2
    for earlier in range(0, state + 1, 2) if even and song.listed is not None else (state,):
        cost = DROPPED * night.cool * (state - earlier) / 2
        if earlier == 0 and cost + night.opening[begin] > best[0]:
            best = (float(cost + night.opening[begin]), None)
        scores = ways.end[:begin, earlier] + night.gap[:begin, begin] + night.pause()[earlier] + cost
        if len(scores) and scores.max() > best[0]:
            best = (float(scores.max()), (int(scores.argmax()), earlier))
        ran_on = float(ways.end[begin, earlier] + night.seam(begin)[earlier] + cost)
        if ran_on > best[0]:
            best = (ran_on, (begin, earlier))
    return best[1]
