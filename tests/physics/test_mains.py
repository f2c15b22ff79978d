"""Leads, circuits, generators and batteries against print."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import half_a_digit, printed

from fieldfare.physics.mains import (
    COPPER_OHM_MM2_KM,
    battery_minutes,
    conductor_ohm_per_km,
    continuous_limit_a,
    generator_share,
    real_power_w,
    voltage_drop_v,
)

FOOT_M = 0.3048


# [IEC60228] class 5 plain, by way of two pages.
@pytest.mark.parametrize(("mm2", "ohm"), [(0.75, 26.0), (1.0, 19.5), (1.5, 13.3), (2.5, 7.98), (4, 4.95), (6, 3.30)])
def test_resistances_are_as_printed_and_maxima(mm2: float, ohm: float) -> None:
    """One page heads the table "minimum", is the maximum: clean copper of the nominal size has less."""
    assert conductor_ohm_per_km(mm2) == ohm > COPPER_OHM_MM2_KM / mm2


@pytest.mark.parametrize(
    "row", [row for row in printed("awg_copper") if row["diameter_in"]], ids=lambda row: f"{row['awg']} AWG"
)
def test_wire_gauges(row: dict[str, str]) -> None:
    """[AWG] solid copper at 20 °C; the table cuts its diameters off, by up to 0.04 % of the area."""
    area_mm2 = math.pi * (float(row["diameter_in"]) * 25.4) ** 2 / 4
    ohm_per_kft = conductor_ohm_per_km(area_mm2) * FOOT_M
    assert ohm_per_kft == pytest.approx(float(row["ohm_per_kft"]), rel=0.0005)


# Arithmetic on [IEC60228]: current, length, size; volts lost and per cent of 230 V.
@pytest.mark.parametrize(
    ("amperes", "metres", "mm2", "volts", "percent"),
    [
        (10, 50, 1.5, "13.30", "5.78"), (16, 30, 1.5, "12.77", "5.55"), (16, 30, 2.5, "7.66", "3.33"),
        (13, 25, 1.5, "8.65", "3.76"),
    ],
)  # fmt: skip
def test_drop_of_a_lead(amperes: float, metres: float, mm2: float, volts: str, percent: str) -> None:
    drop = voltage_drop_v(amperes, metres, conductor_ohm_per_km(mm2))
    assert drop == pytest.approx(float(volts), abs=half_a_digit(volts))
    assert 100 * drop / 230 == pytest.approx(float(percent), abs=half_a_digit(percent))


def test_drop_of_an_american_lead() -> None:
    """12 A over 100 ft of 14 AWG at 20 °C, 2.525 Ω/1000 ft by [AWG], on 120 V: 6.06 V, 5.05 %. Arithmetic."""
    drop = voltage_drop_v(12, 100 * FOOT_M, 2.525 / FOOT_M)
    assert [drop, 100 * drop / 120] == pytest.approx([6.06, 5.05], abs=0.005)


def test_cords_of_textbooks() -> None:
    """[CordProblems] 0.0600 and 0.300 Ω at 5 A; 12 ft of 18 AWG, 0.823 mm², at 5 A: 0.765 V."""
    assert [voltage_drop_v(5, 500, ohm) for ohm in (0.06, 0.3)] == pytest.approx([0.3, 1.5])
    assert voltage_drop_v(5, 12 * FOOT_M, conductor_ohm_per_km(0.823)) == pytest.approx(0.765, abs=0.005)


@pytest.mark.parametrize(("breaker", "amperes", "watts"), [(15, 12, 1440), (20, 16, 1920)])
def test_four_fifths_of_a_breaker(breaker: float, amperes: float, watts: float) -> None:
    """[NEC210] 125 % of a continuous load, so 12 A and 16 A, 1440 W and 1920 W at 120 V."""
    assert continuous_limit_a(breaker) == pytest.approx(amperes)
    assert 1.25 * continuous_limit_a(breaker) == pytest.approx(breaker)
    assert continuous_limit_a(breaker) * 120 == pytest.approx(watts)


def test_batteries() -> None:
    """[BatteryRunTime] 1000 Wh at 150 W and 0.9: 6.0 h; 40 Ah of 12 V at 180 W and 0.60: 1.6 h. The rest arithmetic."""
    assert battery_minutes(1000, 150, 0.9) / 60 == pytest.approx(6.0)
    assert battery_minutes(40 * 12, 180, 0.60) / 60 == pytest.approx(1.6, abs=0.0005)
    assert battery_minutes(40 * 12, 180, 1) / 60 == pytest.approx(2.667, abs=0.0005)
    assert battery_minutes(7 * 12, 100, 0.6) == pytest.approx(30.2, abs=0.05)


@given(st.floats(0.1, 32), st.floats(1, 100), st.floats(1, 30))
def test_what_a_lead_loses_is_what_it_turns_to_heat(amperes: float, metres: float, ohm_per_km: float) -> None:
    heat_w = amperes**2 * 2 * metres * ohm_per_km / 1000
    assert amperes * voltage_drop_v(amperes, metres, ohm_per_km) == pytest.approx(heat_w)


def test_high_and_hot() -> None:
    """[GeneratorTables] 0.94 at 2000 m, 0.94 at 50 °C; both together 0.884."""
    assert generator_share(2000, 40) == pytest.approx(0.94)
    assert generator_share(1000, 50) == pytest.approx(0.94)
    assert generator_share(2000, 50) == pytest.approx(0.884, abs=0.0005)


def test_low_and_cool_it_gives_all() -> None:
    assert generator_share(0, 20) == generator_share(1000, 40) == 1


def test_makers_differ_so_an_engine_is_not_ours() -> None:
    """A farming text takes 3 % for each 1000 ft above 500 ft: 225 hp are 198 at 4500 ft. The alternator loses less."""
    engine = 225 * (1 - 0.03 * (4500 - 500) / 1000)
    assert engine == pytest.approx(198)
    assert generator_share(4500 * 0.3048, 20) > engine / 225


def test_real_power() -> None:
    assert real_power_w(2000, 0.8) == 1600
