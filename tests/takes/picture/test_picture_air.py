"""What most tracks say of the clock counts, by their own sources or by one that all of them hear."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.takes.picture.travel import ASIDE_S, Witness, agreed

SPEED_M_S = 343.0
CAMERA = (1.0, -4.0, 1.6)
PLACES = ((0.0, 2.5, 0.8), (-2.0, 1.0, 1.4), (2.0, 1.0, 1.5), (1.2, 1.8, 1.3), (-1.1, 2.2, 0.7))  # the first is loud
CLOCK_S = 0.0165


def _own(found_s: Sequence[float], counts: Sequence[float]) -> list[Witness]:
    return [Witness(late, count, 0.0) for late, count in zip(found_s, counts, strict=True)]


def _heard(
    heard: Sequence[int], mics: Sequence[tuple[float, float, float]], own: Sequence[int | None]
) -> list[Witness]:
    """Tracks with mics and sources of their own, each of which heard one of the places."""
    found = []
    for at, place, mine in zip(mics, heard, own, strict=True):
        ways = tuple((dist(one, CAMERA) - dist(one, at)) / SPEED_M_S for one in PLACES)
        found.append(Witness(CLOCK_S - ways[place], 10.0, None if mine is None else ways[mine], ways))
    return found


def test_tracks_that_hear_another_source_do_not_move_the_clock() -> None:
    air = agreed(_own([0.0301, 0.0300, 0.0298, 0.0325, 0.0327, 0.0250], [8.0, 8, 8, 8, 4, 2]))
    assert air.drawn
    assert air.add_s == pytest.approx(0.0300, abs=0.0002)


def test_one_against_one_is_not_sure_and_neither_is_one_alone() -> None:
    assert agreed(_own([0.030, 0.034], [5.0, 5.0])).sure < 0.1
    assert agreed(_own([0.030], [5.0])).sure == pytest.approx(0.7)
    assert agreed(_own([0.030, 0.0301, 0.0299, 0.034], [5.0, 5, 5, 5])).sure == 1.0


def test_a_drum_that_every_mic_hears_louder_than_its_own_source_tells_the_clock_too() -> None:
    mics = [(0.0, 2.4, 0.9), (-2.0, 0.9, 1.4), (1.9, 0.8, 1.5), (1.2, 1.7, 1.3), (-1.0, 2.1, 0.8), (0.6, 2.8, 2.0)]
    air = agreed(_heard([0] * 6, mics, [0, 1, 2, 3, 4, None]))  # the last is an overhead, which has no own source
    assert (air.same, air.said) == (6, 6)
    assert air.add_s == pytest.approx(CLOCK_S, abs=1e-6)
    assert air.sure == 1.0
    by_own = agreed([one._replace(through_s=()) for one in _heard([0] * 6, mics, [0, 1, 2, 3, 4, None])[:5]])
    assert abs(by_own.add_s - CLOCK_S) > 0.002  # three that heard the drum seem to agree on something else


def test_what_was_heard_of_own_sources_stays_where_nothing_is_louder() -> None:
    mics = [(0.0, 2.4, 0.9), (-2.0, 0.9, 1.4), (1.9, 0.8, 1.5), (1.2, 1.7, 1.3), (-1.0, 2.1, 0.8)]
    air = agreed(_heard(range(5), mics, range(5)))
    assert air.same == 5
    assert air.add_s == pytest.approx(CLOCK_S, abs=1e-6)


@given(st.lists(st.floats(-0.0003, 0.0003), min_size=3, max_size=8), st.lists(st.floats(0.005, 0.05), max_size=2))
def test_it_lies_among_those_that_agree(near: list[float], far: list[float]) -> None:
    found = np.array([*near, *far]).tolist()
    assert abs(agreed(_own(found, [1.0] * len(found))).add_s) <= ASIDE_S
