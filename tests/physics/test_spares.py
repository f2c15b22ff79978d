"""Spares against print and against scipy."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fieldfare.physics.spares import odds_at_most, odds_enough, poisson_at_most, poisson_spares, spares_for
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


def test_poisson() -> None:
    """[PoissonSpares] λ = 1: .3679 .7358 .9197 .9810 .9963, three for 95 %."""
    assert [poisson_at_most(spares, 1) for spares in range(5)] == pytest.approx(
        [0.3679, 0.7358, 0.9197, 0.9810, 0.9963], abs=0.00005
    )
    assert poisson_spares(1, 0.95) == 3


@given(st.integers(0, 200), st.floats(0, 100))
def test_poisson_against_scipy(failures: int, expected: float) -> None:
    assert poisson_at_most(failures, expected) == pytest.approx(stats.poisson.cdf(failures, expected), abs=1e-9)


@given(st.floats(0, 700), st.floats(0.5, 0.999999))
def test_poisson_spares_against_scipy(expected: float, wanted: float) -> None:
    spares = poisson_spares(expected, wanted)
    assert abs(spares - stats.poisson.ppf(wanted, expected)) <= 1  # at a step, rounding decides
    assert poisson_at_most(spares, expected) >= wanted


# 45 units for 90 days, with means of 1e5, 2e5 and 3e5 hours between failures.
@pytest.mark.parametrize(("hours", "expected", "spares"), [(1e5, 0.972, 3), (2e5, 0.486, 2), (3e5, 0.324, 1)])
def test_a_stock(hours: float, expected: float, spares: int) -> None:
    assert 45 * 90 * 24 / hours == pytest.approx(expected, abs=0.0005)
    assert poisson_spares(45 * 90 * 24 / hours, 0.95) == spares


def test_the_normal_approximation_gives_one_too_many() -> None:
    """[NormalSpares] prints 2 spares for λ = 0.324, is 1: P(at most 1) is 0.958."""
    normal = 0.324 + 1.645 * 0.324**0.5
    assert normal == pytest.approx(1.26, abs=0.005)  # which is rounded up to 2
    assert poisson_at_most(1, 0.324) == pytest.approx(0.958, abs=0.0005)
    assert poisson_spares(0.324, 0.95) == 1


def test_no_number_of_spares_makes_it_certain() -> None:
    with pytest.raises(OutOfRange, match=r"wanted odds: 1 is not from 0 to 0\.999999; give odds such as 0\.95"):
        spares_for(10, 0.02, 1.0)
