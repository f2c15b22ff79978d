"""Out of range: said as a technician says it, floats and arrays alike."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.physics._numbers import Span, all_within, lg, within
from fieldfare.units.faults import OutOfRange

SHARE = Span("share", "", 0, 1, "give a share")
LENGTH = Span("lead", "m", 0, math.inf, "give its length", above=True)
MEAN = Span("mean", "", 0, 1, "give a mean", above=True, below=True)
LEVEL = Span("level", "dB", -math.inf, 400, "give a level")
ANY = Span("place", "m", -math.inf, math.inf, "give a place")


@pytest.mark.parametrize(
    ("span", "value", "says"),
    [
        (SHARE, -0.5, "share: −0.5 is not from 0 to 1; give a share"),
        (SHARE, 1 + 1e-9, "share: 1.000000001 is not from 0 to 1; give a share"),
        (SHARE, math.nan, "share: nan is not from 0 to 1; give a share"),
        (LENGTH, 0.0, "lead: 0 m is not above 0 m; give its length"),
        (LENGTH, math.inf, "lead: inf m is not above 0 m; give its length"),
        (MEAN, 1.0, "mean: 1 is not above 0 and below 1; give a mean"),
        (LEVEL, 1e6, "level: 1e+06 dB is not at most 400 dB; give a level"),
        (LEVEL, math.inf, "level: inf dB is not at most 400 dB; give a level"),
        (ANY, math.nan, "place: nan m is not a finite number; give a place"),
    ],
)
def test_what_is_out_of_range_is_told_in_one_sentence(span: Span, value: float, says: str) -> None:
    with pytest.raises(OutOfRange, match="is not") as alone:
        within(value, span)
    assert str(alone.value) == says
    with pytest.raises(OutOfRange, match=r"\(1,\): ") as listed:
        all_within([0.5, value], span)
    assert str(listed.value) == says.replace(": ", " (1,): ", 1)


@given(st.floats(0, 1))
def test_what_is_within_comes_back(value: float) -> None:
    assert within(value, SHARE) == value
    assert np.array_equal(within(np.array([value]), SHARE), [value])


def test_silence_is_a_level() -> None:
    assert within(-math.inf, LEVEL) == -math.inf
    assert [lg(0.0), lg(np.zeros(1))[0]] == [-math.inf, -math.inf]


def test_an_integer_and_a_zero_dimensional_array_are_numbers() -> None:
    assert isinstance(within(1, SHARE), float)
    assert within(np.array(0.5), SHARE) == 0.5
    with pytest.raises(OutOfRange, match=r"^share: 2 is not from 0 to 1"):
        within(np.array(2.0), SHARE)
