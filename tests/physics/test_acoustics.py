"""Sound in air and rooms: print, energy balance, and measured combs."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import half_a_digit, printed

from fieldfare.physics.acoustics import (
    SABINE_S_M,
    absorption_m2,
    comb_null_hz,
    comb_peak_hz,
    comb_ripple_db,
    critical_distance_m,
    delay_ms,
    diffuse_level_db,
    distance_loss_db,
    eyring_s,
    ripple_difference_db,
    sabine_s,
    speed_of_sound,
)
from fieldfare.physics.levels import sum_coherent, sum_incoherent
from fieldfare.units.faults import OutOfRange

WALLS = [(2 * (10 + 5) * 4, 0.35), (10 * 5, 0.60), (10 * 5, 0.15)]  # area in m², coefficient
RIPPLE = printed("comb_ripple")


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
    assert distance_loss_db(20 * times, 20) == pytest.approx(float(loss), abs=half_a_digit(loss))
    assert 100 - distance_loss_db(2.0) == pytest.approx(94, abs=0.05)


def test_very_close_the_law_of_distance_gives_too_much() -> None:
    """[SpeechDistance] 74 dB at 12 inches are 94 at 1 inch; by the law of a point source 95.6."""
    law = 74 - distance_loss_db(1.0, 12.0)
    assert law == pytest.approx(95.6, abs=0.05)
    assert law == pytest.approx(94, abs=2)


@given(st.floats(0.05, 100), st.floats(0.05, 100))
def test_distance_loss_is_energy_spread_over_a_sphere(near: float, far: float) -> None:
    sphere = [4 * math.pi * radius**2 for radius in (near, far)]
    assert distance_loss_db(far, near) == pytest.approx(10 * math.log10(sphere[1] / sphere[0]), abs=1e-9)


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


def test_reverberation_of_a_lecture_exercise() -> None:
    """[RoomAcoustics] 10 × 5 × 4 m, walls 0.35, ceiling 0.60, floor 0.15: 79.5 m², 0.405 s; by Eyring 0.326 s."""
    area = absorption_m2(WALLS)
    assert area == pytest.approx(79.5)
    assert sabine_s(200, area) == pytest.approx(0.405, abs=0.0005)
    surface = sum(size for size, _ in WALLS)
    assert area / surface == pytest.approx(0.3614, abs=0.00005)
    assert eyring_s(200, surface, area / surface) == pytest.approx(0.326, abs=0.0005)


@given(st.floats(10, 1e5), st.floats(10, 1e4), st.floats(0.001, 0.9))
def test_eyring_is_shorter_than_sabine_and_meets_it_where_little_is_absorbed(
    volume: float, surface: float, mean: float
) -> None:
    sabine, eyring = sabine_s(volume, surface * mean), eyring_s(volume, surface, mean)
    assert eyring < sabine
    assert eyring_s(volume, surface, 1e-6) == pytest.approx(sabine_s(volume, surface * 1e-6), rel=1e-5)


def test_eyring_counts_the_reflections_of_a_decay() -> None:
    """A second road: take α off at every mean free path, 4V/S, until 60 dB are gone."""
    volume, surface, mean = 200.0, 220.0, 0.3614
    reflections = 6 / -math.log10(1 - mean)
    assert eyring_s(volume, surface, mean) == pytest.approx(reflections * 4 * volume / surface / 343.2, rel=1e-6)


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


def test_comb_nulls_and_peaks() -> None:
    """[MasterHandbook] pages 188 and 201: 1 ms has its first null at 500 Hz; 0.5 ms and the rest by its formula."""
    assert [comb_null_hz(1.0, n) for n in (1, 2, 3, 4)] == [500, 1500, 2500, 3500]
    assert [comb_null_hz(0.5), comb_peak_hz(0.5)] == [1000, 2000]
    assert comb_null_hz(delay_ms(0.34, 20)) == pytest.approx(504.7, abs=0.05)
    assert comb_null_hz(delay_ms(0.30, 20)) == pytest.approx(572, abs=0.5)


@pytest.mark.parametrize("delay_samples", [12, 48, 77])
def test_combs_as_a_transform_shows_them(delay_samples: int) -> None:
    """A second road: the spectrum of an impulse and its copy, 8 dB lower, at 48 kHz."""
    impulse = np.zeros(48_000)
    impulse[0], impulse[delay_samples] = 1, 10 ** (-8 / 20)
    response = 20 * np.log10(abs(np.fft.rfft(impulse)))  # one bin a hertz
    low = np.argmin(response[: round(comb_peak_hz(delay_samples / 48))])
    assert comb_null_hz(delay_samples / 48) == pytest.approx(low, abs=0.5)
    assert comb_ripple_db(8) == pytest.approx((response.max(), response.min()), abs=0.001)


@pytest.mark.parametrize("row", RIPPLE, ids=lambda row: str(row["difference_db"]))
def test_ripple_of_a_comb(row: dict[str, str]) -> None:
    peak, dip = comb_ripple_db(float(row["difference_db"]))
    assert peak == pytest.approx(float(row["peak_db"]), abs=0.005)
    assert dip == (-math.inf if row["dip_db"] == "none" else pytest.approx(float(row["dip_db"]), abs=0.005))
    assert peak == pytest.approx(sum_coherent([0, -float(row["difference_db"])]))


def test_nine_decibels_do_not_keep_a_comb_within_one() -> None:
    """[MasterHandbook] page 198 prints ≤ 1 dB at 9 dB, is +2.6 and −3.8: one decibel takes 18 to 19."""
    peak, dip = comb_ripple_db(9)
    assert [peak, dip] == pytest.approx([2.6, -3.8], abs=0.05)
    peak, dip = comb_ripple_db(20 * math.log10(3))
    assert peak - dip == pytest.approx(6.0, abs=0.05)
    assert ripple_difference_db(1) == pytest.approx((18.3, 19.3), abs=0.05)


@given(st.floats(0.05, 5.9))
def test_ripple_and_difference_go_both_ways(ripple: float) -> None:
    for_peak, for_dip = ripple_difference_db(ripple)
    assert comb_ripple_db(for_peak)[0] == pytest.approx(ripple, abs=1e-9)
    assert comb_ripple_db(for_dip)[1] == pytest.approx(-ripple, abs=1e-9)
