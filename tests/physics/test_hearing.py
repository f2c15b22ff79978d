"""Times, doses and daily exposures against the rules that print them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import printed

from fieldfare.physics.hearing import (
    WHO_VENUE_DBA,
    niosh_dose_percent,
    niosh_minutes,
)


@pytest.mark.parametrize("row", printed("niosh_98_126_table_1_1"), ids=lambda row: f"{row['level_dba']} dB(A)")
def test_niosh_times_are_as_printed(row: dict[str, str]) -> None:
    seconds = sum(int(row[unit] or 0) * size for unit, size in (("hours", 3600), ("minutes", 60), ("seconds", 1)))
    open_s = 0.5 if row["seconds"] else 30
    assert 60 * niosh_minutes(float(row["level_dba"])) == pytest.approx(seconds, abs=open_s)


def test_115_db_may_not_be_borne_for_a_quarter_of_an_hour() -> None:
    """A list prints NIOSH 15 min at 115 and 2 h at 90, is 28 s at 115 and 2 h at 91."""
    assert 60 * niosh_minutes(115) == pytest.approx(28, abs=0.5)
    assert niosh_minutes(91) == 120


# Arithmetic on table 1-1.
@pytest.mark.parametrize(
    ("day", "dose"),
    [([(94, 60), (91, 60)], 150), ([(85, 240), (88, 120), (94, 60)], 200), ([(100, 180)], 1200)],
)
def test_niosh_doses(day: list[tuple[float, float]], dose: float) -> None:
    assert niosh_dose_percent(day) == pytest.approx(dose)


def test_an_evening() -> None:
    """3 h at 98 dB(A): 756 %. Arithmetic."""
    assert niosh_dose_percent([(98, 180)]) == pytest.approx(756, abs=0.5)


def test_100_db_for_a_quarter_of_an_hour_is_a_full_day() -> None:
    """[WHOVenues] 100 dB over 15 minutes is the most in a venue; by NIOSH that is a whole day's dose."""
    assert niosh_dose_percent([(WHO_VENUE_DBA, 15)]) == pytest.approx(100)


@given(st.floats(80, 115))
def test_the_time_that_is_allowed_makes_a_dose_of_100(level: float) -> None:
    assert niosh_dose_percent([(level, niosh_minutes(level) / 2)]) == pytest.approx(50)
