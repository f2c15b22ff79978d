"""Leads, circuits and batteries against print."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import half_a_digit, printed

from fieldfare.physics.mains import (
    DROP_LIMIT_PERCENT,
    FOOT_M,
    Conductor,
    at_temperature_ohm,
    awg_diameter_mm,
    battery_minutes,
    circuit_power_w,
    conductor_ohm_per_km,
    continuous_limit_a,
    nec_ohm_per_kft,
    table_drop_v,
    voltage_drop_v,
    wire_ohm,
)
from fieldfare.units.faults import OutOfRange

AWG_TABLE = printed("awg_copper")
PER_KM = 1000 / FOOT_M / 1000  # Ω/1000 ft to Ω/km

# [IEC60228] by way of two pages.
IEC: list[tuple[Conductor, dict[float, float]]] = [
    ("class 5 plain", {0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30}),
    ("class 5 tinned", {1.0: 20.0, 1.5: 13.7, 2.5: 8.21}),
    ("class 1 or 2 plain", {1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4: 4.61}),
]


@pytest.mark.parametrize(("conductor", "table"), IEC, ids=[name for name, _ in IEC])
def test_resistances_are_as_printed(conductor: Conductor, table: dict[float, float]) -> None:
    assert {size: conductor_ohm_per_km(size, conductor) for size in table} == table


def test_resistances_of_the_standard_are_maxima() -> None:
    """One page heads the table "minimum", is the maximum: clean copper of the nominal size has less."""
    for size in IEC[0][1]:
        assert conductor_ohm_per_km(size) > wire_ohm(1000, size)


def test_a_size_that_is_not_in_the_table_names_those_that_are() -> None:
    with pytest.raises(OutOfRange, match=r"1\.6 mm² is not in the table of class 5 plain; give one of 0\.75, 1, 1\.5"):
        conductor_ohm_per_km(1.6)
    with pytest.raises(OutOfRange, match="13 AWG is not in the table; give one of 14, 12, 10, 8"):
        nec_ohm_per_kft(13)
    with pytest.raises(OutOfRange, match=r"6 mm² is not in the table; give one of 1\.5, 2\.5, 4"):
        table_drop_v(10, 10, 6)


@pytest.mark.parametrize("row", printed("iec_60228_correction"), ids=lambda row: f"{row['temperature_c']} °C")
def test_correction_to_20_degrees(row: dict[str, str]) -> None:
    factor = at_temperature_ohm(1, 20, from_c=float(row["temperature_c"]))
    assert factor == pytest.approx(float(row["factor"]), abs=half_a_digit(row["factor"]))


@given(st.floats(0.1, 100), st.floats(-40, 200), st.floats(-40, 200))
def test_a_temperature_there_and_back(ohm: float, first: float, second: float) -> None:
    there = at_temperature_ohm(ohm, second, from_c=first)
    assert at_temperature_ohm(there, first, from_c=second) == pytest.approx(ohm)


@pytest.mark.parametrize("row", AWG_TABLE, ids=lambda row: f"{row['awg']} AWG")
def test_wire_gauges(row: dict[str, str]) -> None:
    """[AWG] a university's table; it cuts its diameters off rather than rounding them."""
    diameter_mm = awg_diameter_mm(int(row["awg"]))
    if row["diameter_in"]:
        assert 0 <= diameter_mm / 25.4 - float(row["diameter_in"]) < 2 * half_a_digit(row["diameter_in"])
    ohm = wire_ohm(1000 * FOOT_M, math.pi * diameter_mm**2 / 4)
    assert ohm == pytest.approx(float(row["ohm_per_kft"]), abs=half_a_digit(row["ohm_per_kft"]))


@pytest.mark.parametrize(("gauge", "ohm_per_km"), [(14, "8.28"), (16, "13.2"), (18, "20.9")])
def test_wire_gauges_in_metres(gauge: int, ohm_per_km: str) -> None:
    row = next(row for row in AWG_TABLE if int(row["awg"]) == gauge)
    ours = wire_ohm(1000, math.pi * awg_diameter_mm(gauge) ** 2 / 4)
    assert ours == pytest.approx(float(ohm_per_km), abs=0.05)
    assert ours == pytest.approx(float(row["ohm_per_kft"]) * PER_KM, rel=0.001)


@pytest.mark.parametrize(("gauge", "ohm"), [(14, 3.07), (12, 1.93), (10, 1.21), (8, 0.764)])
def test_the_american_code(gauge: int, ohm: float) -> None:
    """[NEC9] table 8, by way of two pages."""
    assert nec_ohm_per_kft(gauge) == ohm


def test_2_525_ohm_is_not_in_the_american_code() -> None:
    """Quoted for 14 AWG as table 8, is solid wire at 20 °C: table 8 is at 75 °C, 3.07. One page calls that stranded."""
    assert nec_ohm_per_kft(14) == 3.07
    american_correction = 309.5 / 254.5
    assert [2.525 * american_correction] == pytest.approx([3.071], abs=0.0005)
    assert at_temperature_ohm(2.525, 75) == pytest.approx(3.07, abs=0.015)  # the standard's, rounder


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


@pytest.mark.parametrize(("ohm_per_kft", "volts", "percent"), [(2.525, 6.06, 5.05), (3.07, 7.37, 6.14)])
def test_drop_of_an_american_lead(ohm_per_kft: float, volts: float, percent: float) -> None:
    """12 A over 100 ft of 14 AWG at 20 and at 75 °C, on 120 V. Arithmetic."""
    drop = voltage_drop_v(12, 100 * FOOT_M, ohm_per_kft * PER_KM)
    assert [drop, 100 * drop / 120] == pytest.approx([volts, percent], abs=0.005)


def test_cords_of_textbooks() -> None:
    """[CordProblems] 0.0600 and 0.300 Ω at 5 A; 12 ft of 18 AWG at 5 A; 10 m of 1.25 mm² at 1.69e-8 Ω·m, 0.135 Ω."""
    assert [voltage_drop_v(5, 500, ohm) for ohm in (0.06, 0.3)] == pytest.approx([0.3, 1.5])
    assert 5 * wire_ohm(2 * 12 * FOOT_M, 0.823) == pytest.approx(0.765, abs=0.005)
    assert wire_ohm(10, 1.25, 1.69e-8) == pytest.approx(0.135, abs=0.0005)


def test_british_table() -> None:
    """[BS7671] table 4D2B: 18 mV per A and m for 2.5 mm² at 70 °C. The conductor's resistance, warm, comes near."""
    assert table_drop_v(16, 30, 2.5) == pytest.approx(16 * 30 * 0.018)
    warm = voltage_drop_v(1, 1, at_temperature_ohm(conductor_ohm_per_km(2.5, "class 1 or 2 plain"), 70))
    assert warm == pytest.approx(0.018, abs=0.0005)


def test_limits_of_the_drop() -> None:
    """[BS7671] appendix 4: 3 % of 230 V for lighting are 6.9 V, 5 % for the rest 11.5 V."""
    assert [230 * DROP_LIMIT_PERCENT[use] / 100 for use in ("lighting", "other")] == pytest.approx([6.9, 11.5])


@pytest.mark.parametrize(("breaker", "amperes", "watts"), [(15, 12, 1440), (20, 16, 1920)])
def test_four_fifths_of_a_breaker(breaker: float, amperes: float, watts: float) -> None:
    """[NEC210] 125 % of a continuous load, so 12 A and 16 A, 1440 W and 1920 W at 120 V."""
    assert continuous_limit_a(breaker) == pytest.approx(amperes)
    assert 1.25 * continuous_limit_a(breaker) == pytest.approx(breaker)
    assert circuit_power_w(continuous_limit_a(breaker), 120) == pytest.approx(watts)


def test_what_a_plug_carries() -> None:
    assert [circuit_power_w(amperes, 230) for amperes in (13, 16)] == [2990, 3680]


def test_batteries() -> None:
    """[BatteryRunTime] 1000 Wh at 150 W and 0.9: 6.0 h; 40 Ah of 12 V at 180 W and 0.60: 1.6 h. The rest arithmetic."""
    assert battery_minutes(1000, 150, 0.9) / 60 == pytest.approx(6.0)
    assert battery_minutes(40 * 12, 180, 0.60) / 60 == pytest.approx(1.6, abs=0.0005)
    assert battery_minutes(40 * 12, 180, 1) / 60 == pytest.approx(2.667, abs=0.0005)
    assert battery_minutes(7 * 12, 100, 0.6) == pytest.approx(30.2, abs=0.05)
    assert battery_minutes(1000, 150, 0.9, depth=0.5) / 60 == pytest.approx(3.0)


@given(st.floats(0.1, 32), st.floats(1, 100), st.floats(1, 30))
def test_what_a_lead_loses_is_what_it_turns_to_heat(amperes: float, metres: float, ohm_per_km: float) -> None:
    heat_w = amperes**2 * 2 * metres * ohm_per_km / 1000
    assert amperes * voltage_drop_v(amperes, metres, ohm_per_km) == pytest.approx(heat_w)
