"""Times, doses and daily exposures against the rules that print them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import half_a_digit, printed

from fieldfare.physics.hearing import (
    WHO_VENUE_DBA,
    allowed_minutes,
    lex_8h_dba,
    niosh_dose_percent,
    niosh_minutes,
    niosh_twa_dba,
    noise_values,
    osha_dose_percent,
    osha_minutes,
    osha_twa_dba,
)

DAYS = st.lists(st.tuples(st.floats(70, 120), st.floats(1, 120)), min_size=1, max_size=6)


@pytest.mark.parametrize("row", printed("niosh_98_126_table_1_1"), ids=lambda row: f"{row['level_dba']} dB(A)")
def test_niosh_times_are_as_printed(row: dict[str, str]) -> None:
    seconds = sum(int(row[unit] or 0) * size for unit, size in (("hours", 3600), ("minutes", 60), ("seconds", 1)))
    open_s = 0.5 if row["seconds"] else 30
    assert 60 * niosh_minutes(float(row["level_dba"])) == pytest.approx(seconds, abs=open_s)


@pytest.mark.parametrize("row", printed("osha_1910_95_table_g16a"), ids=lambda row: f"{row['level_dba']} dB(A)")
def test_osha_times_are_as_printed(row: dict[str, str]) -> None:
    assert osha_minutes(float(row["level_dba"])) / 60 == pytest.approx(
        float(row["hours"]), abs=half_a_digit(row["hours"])
    )


def test_osha_at_83_db_is_21_1_hours() -> None:
    """[OSHA1910.95] the present page prints 21.2, is 21.1: the formula has 21.11, and an older page agrees."""
    assert osha_minutes(83) / 60 == pytest.approx(21.11, abs=0.005)


def test_115_db_for_a_quarter_of_an_hour_is_osha_not_niosh() -> None:
    """A list prints NIOSH 15 min at 115 and 2 h at 90, is 28 s at 115 and 2 h at 91."""
    assert 60 * niosh_minutes(115) == pytest.approx(28, abs=0.5)
    assert [niosh_minutes(91), osha_minutes(115)] == [120, 15]


@pytest.mark.parametrize("row", printed("canada_87"), ids=lambda row: f"{row['level_dba']} dB(A)")
def test_a_criterion_of_87(row: dict[str, str]) -> None:
    """[CanadaNoise] the formula with other parameters."""
    assert allowed_minutes(float(row["level_dba"]), 87, 3) / 60 == float(row["hours"])


# Formula of [NIOSH98-126].
@pytest.mark.parametrize(("dose", "twa"), [(50, 81.99), (100, 85.00), (200, 88.01), (400, 91.02)])
def test_niosh_averages(dose: float, twa: float) -> None:
    assert niosh_twa_dba(dose) == pytest.approx(twa, abs=0.005)


# Arithmetic on table 1-1.
@pytest.mark.parametrize(
    ("day", "dose", "twa"),
    [([(94, 60), (91, 60)], 150, 86.76), ([(85, 240), (88, 120), (94, 60)], 200, 88.01), ([(100, 180)], 1200, 95.8)],
)
def test_niosh_doses(day: list[tuple[float, float]], dose: float, twa: float) -> None:
    assert niosh_dose_percent(day) == pytest.approx(dose)
    assert niosh_twa_dba(dose) == pytest.approx(twa, abs=0.05)


def test_an_evening() -> None:
    """3 h at 98 dB(A): 756 % by NIOSH, 113.7 % by OSHA."""
    assert niosh_dose_percent([(98, 180)]) == pytest.approx(756, abs=0.5)
    assert osha_dose_percent([(98, 180)]) == pytest.approx(113.7, abs=0.05)


def test_100_db_for_a_quarter_of_an_hour_is_a_full_day() -> None:
    """[WHOVenues] 100 dB over 15 minutes is the most in a venue; by NIOSH that is a whole day's dose."""
    assert niosh_dose_percent([(WHO_VENUE_DBA, 15)]) == pytest.approx(100)


# Formula of [OSHA1910.95] I(2).
@pytest.mark.parametrize(("dose", "twa"), [(25, "80.0"), (50, "85.0"), (100, "90.0"), (200, "95.0"), (400, "100.0")])
def test_osha_averages(dose: float, twa: str) -> None:
    assert osha_twa_dba(dose) == pytest.approx(float(twa), abs=half_a_digit(twa))


def test_osha_worked_examples() -> None:
    """[OSHAExamples] 118.75 % and 91.2 dB(A); 49.34 % by the rounded table, 49.31 exactly; 131 % for 92 dB(A)."""
    day = [(100.0, 60.0), (90.0, 240.0), (85.0, 180.0)]
    assert osha_dose_percent(day) == pytest.approx(118.75)
    assert osha_twa_dba(118.75) == pytest.approx(91.2, abs=0.05)
    assert osha_dose_percent([(85, 300), (87, 120), (80, 30)]) == pytest.approx(49.31, abs=0.005)
    by_the_table = 100 * (5 / 16 + 2 / 12.1 + 0.5 / 32)
    assert by_the_table == pytest.approx(49.34, abs=0.005)
    assert osha_dose_percent([(92, 480)]) == pytest.approx(131, abs=1)


def test_an_exam_page_forgets_that_5_db_halve_the_time() -> None:
    """[DoseExam] prints 125 % for 4 h at 95 and 4 h at 90, is 150 %: 4/4 and 4/8."""
    assert osha_dose_percent([(95, 240), (90, 240)]) == pytest.approx(150)


def test_what_lies_below_the_threshold_does_not_count() -> None:
    """[OSHAExamples] for engineering controls nothing below 90 counts: 1 h at 100 and 4 h at 90 make 1.00."""
    day = [(100.0, 60.0), (90.0, 240.0), (89.0, 120.0)]
    assert osha_dose_percent(day, threshold_dba=90) == pytest.approx(100)
    assert osha_dose_percent(day, threshold_dba=80) > 110
    assert osha_dose_percent([(79, 480)]) == 0


@given(DAYS)
def test_niosh_average_is_the_energy_mean(day: list[tuple[float, float]]) -> None:
    """A second road: NIOSH's 3 dB are, but for 0.3 %, energy; so its average is the European daily exposure."""
    assert niosh_twa_dba(niosh_dose_percent(day)) == pytest.approx(lex_8h_dba(day), abs=0.15)


@given(st.floats(80, 115))
def test_the_time_that_is_allowed_makes_a_dose_of_100(level: float) -> None:
    assert niosh_dose_percent([(level, min(niosh_minutes(level), 1440))]) <= 100 + 1e-9
    assert osha_dose_percent([(level, osha_minutes(level) / 2)]) == pytest.approx(50)


def test_daily_exposure() -> None:
    """A quarter of an hour at 100 dB(A): 84.95 dB(A); 3 h at 100: 95.7. Arithmetic."""
    assert lex_8h_dba([(100, 15)]) == pytest.approx(84.95, abs=0.005)
    assert lex_8h_dba([(100, 180)]) == pytest.approx(95.7, abs=0.05)
    assert lex_8h_dba([]) == -math.inf


def test_british_values() -> None:
    """[NoiseRegulations] regulation 4."""
    values = [(name, value.daily_dba, value.peak_dbc) for name, value in noise_values().items()]
    assert values == [("lower action", 80, 135), ("upper action", 85, 137), ("limit", 87, 140)]
