"""Spares against print and against scipy."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fieldfare.physics.spares import odds_at_most, odds_enough, spares_for
from fieldfare.units.faults import OutOfRange

ODDS = st.floats(0, 1)


# [KofN] prints 3 of 4 at 0.9; the others by its formula.
@pytest.mark.parametrize(
    ("needed", "carried", "good", "odds"),
    [(3, 4, 0.9, 0.9477), (2, 3, 0.9, 0.972), (2, 4, 0.9, 0.9963), (12, 14, 0.97, 0.9923)],
)
def test_k_out_of_n(needed: int, carried: int, good: float, odds: float) -> None:
    assert odds_enough(needed, carried, good) == pytest.approx(odds, abs=0.00005)


def test_cables_of_a_night() -> None:
    """24 in use, 2 in a hundred fail: .6158 .9174 .9882 .9988, so two spares for 95 %. Arithmetic."""
    odds = [odds_at_most(spares, 24, 0.02) for spares in range(4)]
    assert odds == pytest.approx([0.6158, 0.9174, 0.9882, 0.9988], abs=0.00005)
    assert spares_for(24, 0.02, 0.95) == 2


@given(st.integers(0, 60), st.integers(0, 60), ODDS)
def test_binomial_against_scipy(needed: int, carried: int, good: float) -> None:
    assert odds_enough(needed, carried, good) == pytest.approx(stats.binom.sf(needed - 1, carried, good), abs=1e-9)
    assert odds_at_most(needed, carried, good) == pytest.approx(stats.binom.cdf(needed, carried, good), abs=1e-9)


@given(st.integers(0, 40), st.floats(0, 0.5), st.floats(0.5, 0.999))
def test_one_spare_fewer_is_not_enough(in_use: int, fails: float, wanted: float) -> None:
    spares = spares_for(in_use, fails, wanted)
    assert odds_at_most(spares, in_use, fails) >= wanted
    assert spares == 0 or odds_at_most(spares - 1, in_use, fails) < wanted


def test_no_number_of_spares_makes_it_certain() -> None:
    with pytest.raises(OutOfRange, match=r"wanted odds: 1 is not from 0 to 0\.999999; give odds such as 0\.95"):
        spares_for(10, 0.02, 1.0)
