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
    phantom_y_voltage_v,
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


@given(OHMS, st.lists(OHMS, min_size=1, max_size=6))
def test_a_load_by_kirchhoff(source: float, loads: list[float]) -> None:
    """A second road: the node equation of one source and all its loads."""
    conductances = np.array([1 / source, *(1 / load for load in loads)])
    voltage = conductances[0] / conductances.sum()
    assert loading_loss_db(source, parallel_ohm(*loads)) == pytest.approx(-20 * math.log10(voltage), abs=1e-9)
    assert parallel_ohm(*loads) <= min(loads) * (1 + 1e-12)


def test_a_source_sees_at_least_one_load() -> None:
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


@pytest.mark.parametrize("row", printed("phantom_at_mic"), ids=lambda row: f"{row['current_ma']} mA")
def test_phantom_where_the_other_side_of_a_y_ties_nothing(row: dict[str, str]) -> None:
    volts = phantom_y_voltage_v(float(row["current_ma"]), off_ohm=1e11)
    assert volts == pytest.approx(float(row["voltage_v"]), abs=half_a_digit(row["voltage_v"]) + 1e-5)


# Network analysis of ideal feeds of 6.81 kΩ, done apart from this program: open, and with a microphone of 4 mA.
@pytest.mark.parametrize(("off_ohm", "open_v", "loaded_v"), [(0, 24.0, 17.19), (10_000, 38.28, 27.42)])
def test_a_y_with_one_side_off(off_ohm: float, open_v: float, loaded_v: float) -> None:
    volts = [phantom_y_voltage_v(ma, off_ohm) for ma in (0, 4)]
    assert volts == pytest.approx([open_v, loaded_v], abs=0.005)


@given(st.floats(0, 3), st.floats(0, 1e6))
def test_a_y_by_the_node_equations(milliamperes: float, off_ohm: float) -> None:
    """A second road: solve both legs' nodes as a resistor network."""
    on, off = 1 / 6810, 1 / (6810 + 2 * off_ohm)  # a leg of each side; the tie is shared by both legs
    network = np.diag([on + off, on + off])
    legs = np.linalg.solve(network, [48 * on - milliamperes / 2000] * 2)
    assert phantom_y_voltage_v(milliamperes, off_ohm) == pytest.approx(max(0, float(legs[0])), abs=1e-6)


def test_a_microphone_that_asks_too_much_gets_nothing() -> None:
    assert phantom_y_voltage_v(20, off_ohm=1e11) == 0
