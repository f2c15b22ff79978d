"""Sound in air and rooms: print, energy balance, and measured combs."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import half_a_digit

from fieldfare.physics.acoustics import (
    SABINE_S_M,
    critical_distance_m,
    delay_ms,
    diffuse_level_db,
    distance_loss_db,
    speed_of_sound,
)
from fieldfare.physics.levels import sum_incoherent
from fieldfare.units.faults import OutOfRange


# [ISO9613-1] 343.2 m/s at 20 °C; the others by its formula, computed apart from this program.
@pytest.mark.parametrize(
    ("celsius", "speed"),
    [
        (20, "343.2"), (-10, "325.17"), (0, "331.29"), (10, "337.30"), (15, "340.26"), (25, "346.11"), (30, "349.00"),
        (35, "351.87"),
    ],
)  # fmt: skip
def test_speed_of_sound(celsius: float, speed: str) -> None:
    assert speed_of_sound(celsius) == pytest.approx(float(speed), abs=half_a_digit(speed))


def test_speed_of_sound_goes_with_the_root_of_the_temperature() -> None:
    """One library's text prints c = 343.2·(T/T0), is the square root: without it 30 °C would give 354.9 m/s."""
    without_root = 343.2 * 303.15 / 293.15
    assert [without_root, speed_of_sound(30)] == pytest.approx([354.9, 349.0], abs=0.05)


@pytest.mark.parametrize(("zero", "slope", "at_20"), [(331.3, 0.606, "343.42"), (331.3, 0.6, "343.3")])
def test_linear_approximations_in_print_agree_to_0_4_per_cent(zero: float, slope: float, at_20: str) -> None:
    assert zero + slope * 20 == pytest.approx(float(at_20), abs=half_a_digit(at_20))
    for celsius in (0, 10, 20, 30):
        assert speed_of_sound(celsius) == pytest.approx(zero + slope * celsius, rel=0.004)


@pytest.mark.parametrize(("celsius", "feet"), [(0, 1085.1), (20, 1124.1)])
def test_a_textbook_in_feet_agrees_to_0_4_per_cent(celsius: float, feet: float) -> None:
    """[PhysicalAudio] from the gas constant: 0.17 % below at 20 °C."""
    assert speed_of_sound(celsius) == pytest.approx(feet * 0.3048, rel=0.004)


@pytest.mark.parametrize(("celsius", "ms"), [(0, "3.019"), (20, "2.914"), (30, "2.865")])
def test_delay_of_a_metre(celsius: float, ms: str) -> None:
    assert delay_ms(1.0, celsius) == pytest.approx(float(ms), abs=half_a_digit(ms))


def test_delays_in_samples() -> None:
    """139.86 samples a metre at 48 kHz, 3496.5 over 25 m; 10 K move 10 m by 0.485 ms. Arithmetic."""
    assert 48 * delay_ms(1.0, 20) == pytest.approx(139.86, abs=0.005)
    assert delay_ms(25.0, 20) == pytest.approx(72.84, abs=0.005)
    assert 48 * delay_ms(25.0, 20) == pytest.approx(3496.5, abs=0.05)
    assert delay_ms(10.0, 20) - delay_ms(10.0, 30) == pytest.approx(0.485, abs=0.0005)


# [InverseSquare] tables from 20 to 40, 60 and 80 feet, and 100 dB at 1 m being 94 at 2 m.
@pytest.mark.parametrize(("times", "loss"), [(2, "6.0"), (3, "9.5"), (4, "12.0")])
def test_distance_loss_is_as_printed(times: float, loss: str) -> None:
    assert distance_loss_db(20.0 * times) - distance_loss_db(20.0) == pytest.approx(float(loss), abs=half_a_digit(loss))
    assert 100 - distance_loss_db(2.0) == pytest.approx(94, abs=0.05)


def test_very_close_the_law_of_distance_gives_too_much() -> None:
    """[SpeechDistance] 74 dB at 12 inches are 94 at 1 inch; by the law of a point source 95.6."""
    law = 74 + distance_loss_db(12.0) - distance_loss_db(1.0)
    assert law == pytest.approx(95.6, abs=0.05)
    assert law == pytest.approx(94, abs=2)


@given(st.floats(0.05, 100), st.floats(0.05, 100))
def test_distance_loss_is_energy_spread_over_a_sphere(near: float, far: float) -> None:
    sphere = [4 * math.pi * radius**2 for radius in (near, far)]
    assert distance_loss_db(far) - distance_loss_db(near) == pytest.approx(
        10 * math.log10(sphere[1] / sphere[0]), abs=1e-9
    )


def test_three_to_one() -> None:
    """[MasterHandbook] page 198 "at least 9 dB"; exactly 9.54, and 10 with the microphones side by side."""
    assert distance_loss_db(3.0) == pytest.approx(9.54, abs=0.005)
    assert distance_loss_db(math.hypot(1, 3)) == pytest.approx(10.0, abs=0.05)


def test_at_the_source_itself_there_is_no_loss_to_tell() -> None:
    with pytest.raises(OutOfRange, match=r"distance \(1,\): 0 m is not above 0 m.*at the source itself"):
        distance_loss_db(np.array([1.0, 0.0]))


def test_sabine_constant() -> None:
    """[RoomAcoustics] 0.161 s/m, 0.049 s/ft."""
    assert pytest.approx(0.1610, abs=0.00005) == SABINE_S_M
    assert pytest.approx(0.049, abs=0.0005) == SABINE_S_M * 0.3048


# Formula of [CriticalDistance], 0.057·√(Q·V/T): the two digits of its constant leave 0.9 % open.
@pytest.mark.parametrize(
    ("directivity", "volume", "seconds", "metres"), [(1, 200, 0.5, 1.14), (1, 1000, 1.2, 1.645), (3, 1000, 1.2, 2.85)]
)
def test_critical_distance(directivity: float, volume: float, seconds: float, metres: float) -> None:
    open_share = 0.0005 / 0.057
    assert critical_distance_m(directivity, volume, seconds) == pytest.approx(metres, rel=open_share)


@given(st.floats(50, 130), st.floats(20, 1e5), st.floats(0.2, 5), st.floats(1, 10))
def test_a_steady_source_puts_in_what_the_walls_take_out(
    level: float, volume: float, seconds: float, directivity: float
) -> None:
    """A second road: the power of the source against the power that falls on the absorbing area, I = p²/4ρc."""
    rho_c, reference = 413.0, 20e-6
    pressure_1m = reference * 10 ** (level / 20)
    power_w = 4 * math.pi * pressure_1m**2 / rho_c / directivity
    area = 24 * math.log(10) / 343.2 * volume / seconds
    pressure = math.sqrt(4 * rho_c * power_w / area)
    got = diffuse_level_db(level, volume, seconds, directivity)
    assert got == pytest.approx(20 * math.log10(pressure / reference), abs=1e-6)


def test_direct_and_room_are_equal_at_the_critical_distance() -> None:
    at = critical_distance_m(2.0, 1452.0, 1.4)
    room = diffuse_level_db(100.0, 1452.0, 1.4, 2.0)
    assert 100 - distance_loss_db(at) == pytest.approx(room, abs=1e-9)
    assert sum_incoherent([room, room]) - room == pytest.approx(3.01, abs=0.005)
