"""Loads, splits and cables against print and by network analysis."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import half_a_digit, printed

from fieldfare.physics.lines import (
    corner_hz,
    loading_loss_db,
    lowpass_loss_db,
    parallel_ohm,
    phantom_voltage_v,
    reflected_ohm,
    resonance_hz,
    split_loss_db,
    transformer_loss_db,
)
from fieldfare.units.faults import OutOfRange

OHMS = st.floats(1, 1e6)


@pytest.mark.parametrize("row", printed("loading"), ids=lambda row: f"{row['source_ohm']} into {row['load_ohm']}")
def test_loading(row: dict[str, str]) -> None:
    loss = loading_loss_db(float(row["source_ohm"]), float(row["load_ohm"]))
    assert loss == pytest.approx(float(row["loss_db"]), abs=half_a_digit(row["loss_db"]))


def test_four_and_five_times_the_source() -> None:
    """[Bridging] 80 % and 83.3 % of the voltage."""
    shares = [100 * 10 ** (-loading_loss_db(300.0, 300.0 * times) / 20) for times in (4, 5)]
    assert shares == pytest.approx([80, 83.3], abs=0.05)


def test_ten_times_the_source_is_bridging() -> None:
    """[Bridging] matched impedances cost 6 dB, ten times the source less than 1."""
    assert loading_loss_db(200.0, 200.0) == pytest.approx(6, abs=0.05)
    assert loading_loss_db(200.0, 2000.0) < 1


@pytest.mark.parametrize("row", printed("passive_splits"), ids=lambda row: f"{row['own_ohm']} and {row['others_ohm']}")
def test_passive_splits(row: dict[str, str]) -> None:
    source, own = float(row["source_ohm"]), float(row["own_ohm"])
    others = [float(ohm) for ohm in row["others_ohm"].split()]
    assert loading_loss_db(source, own) == pytest.approx(float(row["alone_db"]), abs=0.0005)
    assert loading_loss_db(source, parallel_ohm(own, *others)) == pytest.approx(float(row["all_db"]), abs=0.0005)
    assert split_loss_db(source, own, *others) == pytest.approx(float(row["extra_db"]), abs=0.001)


@given(OHMS, st.lists(OHMS, min_size=1, max_size=6))
def test_a_load_by_kirchhoff(source: float, loads: list[float]) -> None:
    """A second road: the node equation of one source and all its loads."""
    conductances = np.array([1 / source, *(1 / load for load in loads)])
    voltage = conductances[0] / conductances.sum()
    assert loading_loss_db(source, parallel_ohm(*loads)) == pytest.approx(-20 * math.log10(voltage), abs=1e-9)
    assert parallel_ohm(*loads) <= min(loads) * (1 + 1e-12)


def test_a_split_needs_another_input() -> None:
    with pytest.raises(OutOfRange, match="other inputs: 0 is not at least 1; give the input"):
        split_loss_db(150, 1500)
    with pytest.raises(OutOfRange, match="loads: 0 is not at least 1; give at least one"):
        parallel_ohm()


@pytest.mark.parametrize(
    "row", printed("cable_corners"), ids=lambda row: f"{row['resistance_ohm']} {row['capacitance_pf']}"
)
def test_corner_of_a_cable(row: dict[str, str]) -> None:
    khz = corner_hz(float(row["resistance_ohm"]), float(row["capacitance_pf"])) / 1000
    assert khz == pytest.approx(float(row["corner_khz"]), abs=half_a_digit(row["corner_khz"]))
    if row["prints_khz"]:
        open_khz = max(half_a_digit(row["prints_khz"]), 0.01 * khz)  # worked examples, one rounded to 100
        assert khz == pytest.approx(float(row["prints_khz"]), abs=open_khz)


def test_a_corner_in_print_is_a_little_high() -> None:
    """[CableDamping] a magazine prints "just above 12 kHz" for 12 kΩ and 4 m of 280 pF/m, is 11.84."""
    assert corner_hz(12_000.0, 4 * 280.0) == pytest.approx(12_000, rel=0.03)
    assert corner_hz(12_000.0, 4 * 280.0) < 12_000


def test_loss_of_a_long_cable() -> None:
    """150 Ω over 100 m of 100 pF/m lose 0.152 dB at 20 kHz; half the corner costs 0.969 dB ([CableDamping] "1 dB")."""
    assert lowpass_loss_db(20_000.0, corner_hz(150.0, 10_000.0)) == pytest.approx(0.152, abs=0.0005)
    assert lowpass_loss_db(0.5, 1.0) == pytest.approx(0.969, abs=0.0005)
    assert lowpass_loss_db(0.5, 1.0) == pytest.approx(1, abs=0.5)


@given(st.floats(10, 1e5), st.floats(10, 1e5), st.floats(20, 20_000))
def test_a_cable_as_a_complex_divider(ohm: float, picofarad: float, hertz: float) -> None:
    impedance = 1 / (2j * math.pi * hertz * picofarad * 1e-12)
    loss = -20 * math.log10(abs(impedance / (ohm + impedance)))
    assert lowpass_loss_db(hertz, corner_hz(ohm, picofarad)) == pytest.approx(loss, abs=1e-9)


def test_a_passive_pickup_is_not_a_resistance() -> None:
    """2.4 H with 300 pF resonate at 5.93 kHz; 10 kΩ with 300 pF would only begin to fall at 53 kHz. Arithmetic."""
    assert resonance_hz(2.4, 300) / 1000 == pytest.approx(5.93, abs=0.005)
    assert corner_hz(10_000.0, 300.0) / 1000 == pytest.approx(53.1, abs=0.05)


def test_transformer_di() -> None:
    """12:1 into 1.5 kΩ shows 216 kΩ and loses 21.58 dB. Arithmetic."""
    assert reflected_ohm(1500, 12) == 216_000
    assert transformer_loss_db(12) == pytest.approx(21.58, abs=0.005)


@given(st.floats(100, 1e5), st.floats(1, 30), st.floats(0.01, 10))
def test_an_ideal_transformer_keeps_the_power(load: float, ratio: float, volts: float) -> None:
    secondary = volts * 10 ** (-transformer_loss_db(ratio) / 20)
    assert secondary**2 / load == pytest.approx(volts**2 / reflected_ohm(load, ratio), rel=1e-9)


@pytest.mark.parametrize("row", printed("phantom_at_mic"), ids=lambda row: f"{row['current_ma']} mA")
def test_phantom_voltage_left(row: dict[str, str]) -> None:
    volts = phantom_voltage_v(float(row["current_ma"]))
    assert volts == pytest.approx(float(row["voltage_v"]), abs=half_a_digit(row["voltage_v"]))


def test_phantom_at_both_ends_of_its_tolerance() -> None:
    """[IEC61938] 44 to 52 V: 9.95 and 17.95 V are left at 10 mA. Arithmetic."""
    assert [phantom_voltage_v(10, volts) for volts in (44, 52)] == pytest.approx([9.95, 17.95], abs=0.005)


def test_two_feeds_on_a_plain_y() -> None:
    """41.19 V at 4 mA, 30.98 at 10: two feeds have half the resistance of one. Arithmetic."""
    assert [phantom_voltage_v(ma, feeds=2) for ma in (4, 10)] == pytest.approx([41.19, 30.98], abs=0.01)


def test_a_microphone_that_asks_too_much_gets_nothing() -> None:
    assert phantom_voltage_v(20) == 0
