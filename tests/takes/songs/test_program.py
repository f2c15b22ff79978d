"""The dynamic programme is exact: on small nights it finds what trying everything finds, and is as sure as that."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fieldfare.show.songs import ListedSong
from fieldfare.takes.songs import wishes
from fieldfare.takes.songs.night import NEVER, Places
from fieldfare.takes.songs.program import Laid, lay_songs


@dataclass(frozen=True)
class _Told:
    score: float
    laid: tuple[Laid, ...]


def _orders(listed: int) -> Iterator[tuple[tuple[int | None, ...], float]]:
    """Every way to play from a list with at most five songs added, each with its score."""

    def go(
        done: int, row: tuple[int | None, ...], score: float, added: int
    ) -> Iterator[tuple[tuple[int | None, ...], float]]:
        yield row, score + wishes.UNPLAYED * (listed - done)
        if added < 5:
            cost = wishes.ADDED if listed else 0.0
            yield from go(done, (*row, None), score + cost, added + 1)
        for drop in range(listed - done):
            first = done + drop
            cost = score + wishes.DROPPED * drop
            yield from go(first + 1, (*row, first), cost, added)
            if first + 1 < listed:
                yield from go(first + 2, (*row, first + 1, first), cost + wishes.SWAPPED, added)

    yield from go(0, (), 0.0, 0)


def _spans(places: Places, songs: int) -> Iterator[tuple[tuple[int, int], ...]]:
    """Every way to lay so many songs over the places."""

    def go(first: int, left: int) -> Iterator[tuple[tuple[int, int], ...]]:
        if not left:
            yield ()
            return
        for begin in range(first, len(places.at_s)):
            for end in range(begin + 1, len(places.at_s)):
                for rest in go(end, left - 1):
                    yield ((begin, end), *rest)

    yield from go(0, songs)


def _of_title(places: Places, title: int | None, begin: int, end: int) -> float:
    if title is None:
        return float(places.unlisted[begin])
    beat = (places.in_time[title, end] - places.in_time[title, begin]) / (places.at_s[end] - places.at_s[begin])
    return float(places.titled[title, begin] + wishes.TEMPO_COUNTS * beat)


def _by_hand(places: Places, first: int, last: int) -> bool:
    return bool(places.must[first] or places.must[last])


def _score(
    places: Places, listed: tuple[ListedSong, ...], spans: tuple[tuple[int, int], ...], row: tuple[int | None, ...]
) -> float:
    set_by_hand = set(np.flatnonzero(places.must).tolist())
    if not set_by_hand <= {place for span in spans for place in span}:
        return NEVER
    score = places.begins[spans[0][0]] + places.ends[spans[-1][1]]
    done = 0
    for (begin, end), title in zip(spans, row, strict=True):
        length = places.at_s[end] - places.at_s[begin]
        fits = wishes.SHORTEST_SONG_S <= length <= wishes.LONGEST_SONG_S or _by_hand(places, begin, end)
        if not fits or places.part[begin] != places.part[end]:
            return NEVER
        score += places.heard[end] - places.heard[begin] + wishes.A_SONG
        wish = wishes.any_song if title is None else lambda long, one=listed[title]: wishes.listed_song(one, long)
        score += float(wish(np.array([length]))[0]) + _of_title(places, title, begin, end)
    for number, ((_, end), (begin, _)) in enumerate(pairwise(spans)):
        done = max([-1, *(one for one in row[: number + 1] if one is not None)]) + 1
        pending = done >= 2 and done - 2 not in row[: number + 1] and done - 2 in row
        runs_on = not pending and done > 0 and listed[done - 1].runs_on
        if begin == end:
            score += places.seams[begin] + (wishes.RUNS_ON_AS_LISTED if runs_on else wishes.RUNS_ON)
            continue
        gap = places.at_s[begin] - places.at_s[end]
        if places.part[begin] == places.part[end]:
            fits = gap >= wishes.SHORTEST_GAP_S or _by_hand(places, end, begin)
            score += float(wishes.gap(np.array([gap]))[0]) if fits else NEVER
        score += places.ends[end] + places.begins[begin] + (wishes.PAUSES_AS_LISTED if runs_on else 0.0)
    return float(score)


def _everything(places: Places, listed: tuple[ListedSong, ...]) -> list[_Told]:
    told = [] if places.must.any() else [_Told(wishes.UNPLAYED * len(listed), ())]
    for row, cost in _orders(len(listed)):
        for spans in _spans(places, len(row)) if row else ():
            score = _score(places, listed, spans, row) + cost
            if np.isfinite(score):
                told.append(_Told(score, tuple(Laid(*span, title) for span, title in zip(spans, row, strict=True))))
    return told


@st.composite
def _nights(draw: st.DrawFn) -> tuple[Places, tuple[ListedSong, ...]]:
    rng = np.random.default_rng(draw(st.integers(0, 10_000)))
    count, titles = draw(st.integers(2, 6)), draw(st.integers(0, 2))
    steps = rng.choice([1, 5, 15, 60, 150], count)
    at_s = np.cumsum(steps).astype(np.float64)
    begins, ends, seams = (np.where(rng.random(count) < 0.7, rng.uniform(-2, 2, count), NEVER) for _ in range(3))
    places = Places(
        at_s, np.cumsum(rng.normal(0, 15, count)), begins, ends, seams,
        np.cumsum(rng.random(count) < 0.15), rng.uniform(-2, 2, (titles, count)),
        np.cumsum(rng.uniform(-1, 1, (titles, count)), axis=1),
        rng.uniform(-1, 1, count), rng.random(count) < draw(st.sampled_from((0.0, 0.3))),
    )  # fmt: skip
    listed = tuple(
        ListedSong(
            title=f"song {number}",
            length_s=float(rng.uniform(15, 200)) if rng.random() < 0.8 else None,
            runs_on=bool(rng.random() < 0.3),
        )
        for number in range(titles)
    )
    return places, listed


@given(_nights())
@settings(max_examples=60, deadline=None)
def test_the_answer_is_that_of_trying_everything(night: tuple[Places, tuple[ListedSong, ...]]) -> None:
    places, listed = night
    answer = lay_songs(places, listed)
    told = _everything(places, listed)
    assume(told)
    best = max(told, key=lambda one: one.score)
    got = [one for one in told if one.laid == answer.laid]
    assert got
    assert got[0].score == pytest.approx(best.score, abs=1e-6)


@given(_nights())
@settings(max_examples=40, deadline=None)
def test_it_is_as_sure_as_the_share_of_all_nights_says(night: tuple[Places, tuple[ListedSong, ...]]) -> None:
    places, listed = night
    told = _everything(places, listed)
    assume(told)
    top = max(one.score for one in told)
    weights = np.exp([one.score - top for one in told])
    answer = lay_songs(places, listed)
    for place in range(len(places.at_s)):
        begun = sum(w for w, one in zip(weights, told, strict=True) if any(song.begin == place for song in one.laid))
        ended = sum(w for w, one in zip(weights, told, strict=True) if any(song.end == place for song in one.laid))
        assert answer.begins[place] == pytest.approx(begun / weights.sum(), abs=1e-6)
        assert answer.ends[place] == pytest.approx(ended / weights.sum(), abs=1e-6)
    for song, titles in zip(answer.laid, answer.titles, strict=True):
        same = [
            (w, one)
            for w, one in zip(weights, told, strict=True)
            if any((s.begin, s.end) == (song.begin, song.end) for s in one.laid)
        ]
        whole = sum(w for w, _ in same)
        for title in range(len(listed)):
            mine = sum(w for w, one in same if Laid(song.begin, song.end, title) in one.laid)
            assert titles[title] == pytest.approx(mine / whole, abs=1e-6)
