"""The scores of all steps that a night may take, for one set of places and one set list."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.songs import ListedSong
from fieldfare.takes.songs import wishes

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]
Bool = NDArray[np.bool_]
NEVER = -np.inf
Reduce = Callable[[F64], F64]  # over the first axis
_GRAIN_S = 0.1  # of lengths, when the list is asked about them


@dataclass(frozen=True)
class Places:
    """Where songs may begin and end, and what speaks for it."""

    at_s: F64  # (places,)
    heard: F64  # evidence for a song, summed up to each place
    begins: F64  # what speaks for a song's beginning here after a gap; minus infinity where none can
    ends: F64  # what speaks for a song's end here before a gap
    seams: F64  # what speaks for one song running into the next here
    part: I64  # number of the take; no song spans two
    titled: F64  # (titles, places): what speaks for one title beginning here, beside all that
    in_time: F64  # (titles, places): how far the beat of one title is heard, above the usual, summed up over seconds
    unlisted: F64  # (places,): what speaks for a song that is not on the list beginning here
    must: Bool  # (places,): a person put a beginning or an end here, so that no song and no gap goes past it


def most(scores: F64) -> F64:
    """Return the largest over the first axis."""
    best: F64 = scores.max(axis=0, initial=NEVER)
    return best


def total(scores: F64) -> F64:
    """Return the logarithm of the sum of probabilities over the first axis."""
    top = scores.max(axis=0, initial=NEVER)
    safe = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        summed: F64 = safe + np.log(np.exp(scores - safe).sum(axis=0))
    return summed


class Night:
    """Scores of songs, gaps, seams and ways through the list.

    Parameters
    ----------
    places
        Where songs may begin and end.
    listed
        The set list, in order.
    cool
        What every score is multiplied by. [1]
    """

    def __init__(self, places: Places, listed: Sequence[ListedSong], cool: float = 1.0) -> None:
        self.listed, self.cool = tuple(listed), cool
        self.count, self.states = len(places.at_s), 2 * (len(listed) + 1)
        length = places.at_s[np.newaxis, :] - places.at_s[:, np.newaxis]
        apart = places.part[np.newaxis, :] != places.part[:, np.newaxis]
        song = places.heard[np.newaxis, :] - places.heard[:, np.newaxis] + wishes.A_SONG
        passed = np.concatenate([[0], np.cumsum(places.must)])
        past = passed[np.newaxis, :-1] - passed[1:, np.newaxis] > 0  # over a place that a person set
        by_hand = (places.must[np.newaxis, :] | places.must[:, np.newaxis]) & (length > 0)  # as short or long as it is
        usable = by_hand | ((length >= wishes.SHORTEST_SONG_S) & (length <= wishes.LONGEST_SONG_S))
        usable &= ~apart & ~past
        self._song = np.where(usable, song * cool, NEVER)
        longest = round(wishes.LONGEST_SONG_S / _GRAIN_S)
        self._steps_long = np.where(usable, np.clip(np.rint(length / _GRAIN_S), 1, longest), 1).astype(np.int64)
        apart_enough = by_hand | (length >= wishes.SHORTEST_GAP_S)
        between = np.where(apart_enough, wishes.gap(np.maximum(length, _GRAIN_S)), NEVER)
        between = np.where(apart, np.where(length > 0, 0.0, NEVER), between)
        between = np.where(past, NEVER, between)
        self.gap = (between + places.ends[:, np.newaxis] + places.begins[np.newaxis, :]) * cool
        grid: F64 = np.arange(1, round(wishes.LONGEST_SONG_S / _GRAIN_S) + 2, dtype=np.float64) * _GRAIN_S
        self._any = (wishes.any_song(grid) + (wishes.ADDED if listed else 0.0)) * cool
        self._by_title = wishes.listed_lengths(listed, grid) * cool
        self._titled, self._seams = places.titled * cool, places.seams
        self._unlisted = places.unlisted * cool
        self._in_time = places.in_time * (wishes.TEMPO_COUNTS * cool)
        self.opening = np.where(passed[:-1] == 0, places.begins * cool, NEVER)
        self._closing = np.where(passed[1:] == passed[-1], places.ends * cool, NEVER)
        self.nothing = NEVER if places.must.any() else self.unplayed()[0]  # score of a night without a song
        self._pause, self._seam_costs = self._around_gaps()

    def songs_to(self, end: int) -> tuple[F64, F64]:
        """Scores of the songs from every place to one: not on the list, (places,), and by title, (titles, places)."""
        score, long = self._song[:, end], self._steps_long[:, end] - 1
        in_time = (self._in_time[:, end, np.newaxis] - self._in_time) / ((long + 1) * _GRAIN_S)
        listed = score + self._by_title[:, long] + self._titled + in_time
        return score + self._any[long] + self._unlisted, listed

    def songs_from(self, begin: int) -> tuple[F64, F64]:
        """Scores of the songs from one place to every place, likewise."""
        score, long = self._song[begin], self._steps_long[begin] - 1
        in_time = (self._in_time - self._in_time[:, begin, np.newaxis]) / ((long + 1) * _GRAIN_S)
        listed = score + self._by_title[:, long] + self._titled[:, begin, np.newaxis] + in_time
        return score + self._any[long] + self._unlisted[begin], listed

    def _around_gaps(self) -> tuple[F64, F64]:
        """Scores of a gap, and of none, by what has been played; (states,) each."""
        pause, seam = np.zeros(self.states), np.full(self.states, wishes.RUNS_ON)
        for done, one in enumerate(self.listed, 1):
            if one.runs_on:
                pause[2 * done], seam[2 * done] = wishes.PAUSES_AS_LISTED, wishes.RUNS_ON_AS_LISTED
        return pause * self.cool, seam * self.cool

    def pause(self) -> F64:
        """Scores of a gap by what has been played, (states,), beside its length."""
        return self._pause

    def seam(self, place: int) -> F64:
        """Scores of running on into the next song at a place, (states,)."""
        scores: F64 = self._seam_costs + self._seams[place] * self.cool
        return scores

    def steps(self) -> tuple[tuple[I64, I64, I64, F64], ...]:
        """Ways through the list: states before, states after, title played, score. As listed, early, and late."""
        done = np.arange(len(self.listed))
        first, none = done[:-1], np.zeros(max(0, len(done) - 1))
        return (
            (2 * done, 2 * done + 2, done, np.zeros(len(done))),
            (2 * first, 2 * first + 1, first + 1, none + wishes.SWAPPED * self.cool),
            (2 * first + 1, 2 * first + 4, first, none),
        )

    def unplayed(self) -> F64:
        """Scores of stopping, (states,): what is left of the list was not played."""
        left = len(self.listed) - np.arange(len(self.listed) + 1)
        scores = np.full(self.states, NEVER)
        scores[::2] = wishes.UNPLAYED * left * self.cool
        return scores

    def last(self) -> F64:
        """Scores of a place's being the end of the last song, (places, states)."""
        return self._closing[:, np.newaxis] + self.unplayed()
