"""Durations and sample positions as people read them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.units.clock import clock, sample_clock


@pytest.mark.parametrize(
    ("seconds", "decimals", "text"),
    [
        (0, 0, "0:00:00"),
        (3725, 0, "1:02:05"),
        (59.9996, 3, "0:01:00.000"),
        (36_000, 1, "10:00:00.0"),
        (12.3456, 3, "0:00:12.346"),
    ],
)
def test_durations(seconds: float, decimals: int, text: str) -> None:
    assert clock(seconds, decimals) == text


@given(st.integers(0, 10**7), st.sampled_from([44_100, 48_000, 96_000]))
def test_a_sample_position_reads_back_to_half_a_millisecond(sample: int, rate: int) -> None:
    hours, minutes, seconds = sample_clock(sample, rate).split(":")
    read = int(hours) * 3600 + int(minutes) * 60 + float(seconds)
    assert abs(read - sample / rate) <= 0.00051
    assert float(seconds) < 60
