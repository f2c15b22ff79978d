"""Phantom power against print and by network analysis."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.physics.lines import phantom_voltage_v
from fieldfare.physics.phantom import (
    phantom_circulating_ma,
    phantom_kinds,
    phantom_power_mw,
    phantom_short_ma,
    phantom_y_voltage_v,
)

# [IEC61938] by way of a magazine's glossary: supply, feed resistor, largest current.
KINDS = [
    ("P48", 48, 6800, 10),
    ("P24", 24, 1200, 10),
    ("P12", 12, 680, 15),
    ("P12L", 12, 3300, 4),
    ("SP48", 48, 2200, 22),
]


@pytest.mark.parametrize(("name", "volts", "ohms", "milliamperes"), KINDS)
def test_kinds_are_as_printed(name: str, volts: float, ohms: float, milliamperes: float) -> None:
    kind = phantom_kinds()[name]
    assert (kind.supply_v, kind.feed_ohm, kind.most_ma) == (volts, ohms, milliamperes)


def test_only_tolerances_that_texts_agree_on_are_in_the_table() -> None:
    """One text has ±3 V for P12, another ±1 V; P24 is "defunct" in one and "preferred" in another: neither is told."""
    assert phantom_kinds()["P48"].tolerance_v == 4
    assert phantom_kinds()["P12"].tolerance_v is None


def test_a_short_draws_less_than_15_ma() -> None:
    """[PhantomShort] "under 15 mA": 14.10, 7.05 a leg; two feeds at once 28.2."""
    assert phantom_short_ma() == pytest.approx(14.10, abs=0.005)
    assert phantom_short_ma() < 15
    assert phantom_short_ma(feeds=2) == pytest.approx(28.2, abs=0.05)


# [PhantomKinds] prints 170, 100, 22 and 520 mW, to two digits.
@pytest.mark.parametrize(
    ("name", "milliwatts", "prints", "half_last_digit"),
    [
        ("P48", 169.4, 170, 5),
        ("P12", 105.9, 100, 50),
        ("P12L", 21.8, 22, 0.5),
        ("SP48", 523.6, 520, 5),
        ("P24", 240, 240, 5),
    ],
)
def test_most_power(name: str, milliwatts: float, prints: float, half_last_digit: float) -> None:
    kind = phantom_kinds()[name]
    power = phantom_power_mw(kind.supply_v, kind.feed_ohm)
    assert power == pytest.approx(milliwatts, abs=0.05)
    assert power == pytest.approx(prints, abs=half_last_digit)


def test_240_mw_are_not_of_48_v() -> None:
    """[PhantomMirror] prints 240 mW for P48, is 169: 240 mW are of 24 V with 1.2 kΩ."""
    assert phantom_power_mw() == pytest.approx(169.2, abs=0.05)
    assert phantom_power_mw(24, 1200) == pytest.approx(240)
    at_10_ma = phantom_voltage_v(10, 24, 1200) * 10
    assert at_10_ma == pytest.approx(180)


@given(st.floats(1, 60), st.floats(500, 10_000), st.floats(0, 60))
def test_no_current_gives_more_than_the_most_power(volts: float, ohms: float, milliamperes: float) -> None:
    power = phantom_voltage_v(milliamperes, volts, ohms) * milliamperes
    assert power <= phantom_power_mw(volts, ohms) * (1 + 1e-9)


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


def test_unequal_supplies_drive_a_current() -> None:
    """48 V against 44 V on a plain Y: 0.587 mA. Arithmetic."""
    assert phantom_circulating_ma(48, 44) == pytest.approx(0.587, abs=0.0005)
    assert phantom_circulating_ma(44, 48) == phantom_circulating_ma(48, 44)
