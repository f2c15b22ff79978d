"""Moist air against values computed from the published coefficients by others."""

from __future__ import annotations

import pytest

from fieldfare.physics.acoustics import speed_of_sound
from fieldfare.physics.air import speed_in_humid_air


# [JASA93], 101.325 kPa, 400 ppm; computed apart from this program from the coefficients on a university's page.
@pytest.mark.parametrize(
    ("celsius", "humidity", "speed"),
    [(0, 0, 331.45), (20, 0, 343.36), (15, 50, 340.88), (20, 50, 343.99), (25, 50, 347.13), (30, 50, 350.31)],
)
def test_speed_in_humid_air(celsius: float, humidity: float, speed: float) -> None:
    assert speed_in_humid_air(celsius, humidity) == pytest.approx(speed, abs=0.005)


def test_a_table_that_is_shifted_by_one_is_not_ours() -> None:
    """One copy of the coefficients lacks −2.93e-10. At 30 °C that is 0.027 m/s, which the values above would show."""
    with_it, without_it = speed_in_humid_air(30, 50), speed_in_humid_air(30, 50) + 2.93e-10 * 30**2 * 101_325
    assert with_it == pytest.approx(350.31, abs=0.005)
    assert without_it != pytest.approx(350.31, abs=0.005)


@pytest.mark.parametrize("celsius", [0, 10, 20, 30])
@pytest.mark.parametrize("humidity", [0, 50])
def test_dry_and_middling_air_agree_with_the_simple_formula(celsius: float, humidity: float) -> None:
    assert speed_in_humid_air(celsius, humidity) == pytest.approx(speed_of_sound(celsius), rel=0.004)


def test_moist_air_is_faster_and_carbon_dioxide_slows_it() -> None:
    assert speed_in_humid_air(25, 90) > speed_in_humid_air(25, 10)
    assert speed_in_humid_air(25, 50, carbon_dioxide_ppm=2000) < speed_in_humid_air(25, 50)
