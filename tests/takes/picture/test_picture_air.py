"""What most tracks say of the clock counts, not what one says that hears another source."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.takes.picture.travel import ASIDE_S, agreed


def test_tracks_that_hear_another_source_do_not_move_the_clock() -> None:
    air = agreed(np.array([0.0301, 0.0300, 0.0298, 0.0325, 0.0327, 0.0250]), np.array([8.0, 8, 8, 8, 4, 2]))
    assert air.drawn
    assert air.add_s == pytest.approx(0.0300, abs=0.0002)


def test_one_against_one_is_not_sure_and_neither_is_one_alone() -> None:
    assert agreed(np.array([0.030, 0.034]), np.array([5.0, 5.0])).sure < 0.1
    assert agreed(np.array([0.030]), np.array([5.0])).sure == pytest.approx(0.7)
    assert agreed(np.array([0.030, 0.0301, 0.0299, 0.034]), np.array([5.0, 5, 5, 5])).sure == 1.0


@given(st.lists(st.floats(-0.0003, 0.0003), min_size=3, max_size=8), st.lists(st.floats(0.005, 0.05), max_size=2))
def test_it_lies_among_those_that_agree(near: list[float], far: list[float]) -> None:
    found = np.array([*near, *far])
    assert abs(agreed(found, np.ones(len(found))).add_s) <= ASIDE_S
