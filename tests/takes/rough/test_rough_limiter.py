"""The bus: never over the ceiling, at the loudness asked for, and otherwise out of the way."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from takes.rough.band import RATE_HZ, noise, steps

from fieldfare.takes.loudness import Loudness, measure_loudness
from fieldfare.takes.rough.limiter import AHEAD, BusCourse, BusGain, fit, limited, limiter_course

Stereo = NDArray[np.float32]


def _stereo(*sides: NDArray[np.float64]) -> Stereo:
    return np.stack(sides if len(sides) == 2 else sides * 2, axis=1).astype(np.float32)


def _bus(
    sound: Stereo, target: float, ceiling: float, rate_hz: int = RATE_HZ, cut: int = 50_000
) -> tuple[BusGain, Stereo]:
    course = BusCourse(rate_hz)
    for start in range(0, len(sound), cut):
        course.feed(sound[start : start + cut])
    peaks, power = course.result()
    bus = fit(peaks, power, target, ceiling)
    parts = [limited(sound[start : start + 7001], start, bus, course.hop) for start in range(0, len(sound), 7001)]
    return bus, np.concatenate(parts)


def _read(sound: Stereo, rate_hz: int = RATE_HZ) -> Loudness:
    return measure_loudness([sound], 2, rate_hz)


@pytest.mark.parametrize("target", [-14.0, -16.0, -23.0, -11.5])
def test_loudness_is_met_and_the_ceiling_kept(target: float) -> None:
    sound = _stereo(noise(20, -25, 1) * np.repeat([1, 0.5, 1.5, 0.8], 5 * RATE_HZ), noise(20, -25, 2))
    sound[::9999] *= 12  # blows that stand out
    _, out = _bus(sound, target, -1.0)
    read = _read(out)
    assert read.integrated_lufs == pytest.approx(target, abs=0.05)
    assert read.true_peak_dbtp <= -0.75, "the filter here is shorter than the meter's; rendering leaves room for that"


def test_a_mix_below_the_ceiling_is_only_made_louder() -> None:
    sound = _stereo(noise(8, -40, 1), noise(8, -40, 2))
    bus, out = _bus(sound, -30.0, -1.0)
    assert bus.limited_db == 0
    assert np.allclose(out, sound * 10 ** (bus.gain_db / 20), rtol=1e-5)


@pytest.mark.parametrize("hz", [60.0, 997.0, 11_900.0, 15_000.0])
def test_a_burst_at_any_frequency_stays_below(hz: float) -> None:
    at = np.arange(6 * RATE_HZ)
    burst = np.sin(2 * np.pi * hz / RATE_HZ * at + 0.7) * ((at > 2 * RATE_HZ) & (at < 2.2 * RATE_HZ))
    sound = _stereo(0.9 * burst + noise(6, -30, 1))
    followed = BusCourse(RATE_HZ)
    followed.feed(sound)
    peaks, _ = followed.result()
    bus = BusGain(6.0, limiter_course(peaks, 10 ** (6 / 20), 10 ** (-1 / 20)), 0, 0)
    out = limited(sound, 0, bus, followed.hop)
    assert _read(sound).true_peak_dbtp > -2
    assert -1.3 <= _read(out).true_peak_dbtp <= -0.7, "a four times finer look misses up to 0.3 dB at 15 kHz"


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 400), st.floats(0.1, 30)), min_size=1, max_size=12),
    st.floats(0.5, 4),
)
def test_the_course_never_lets_a_peak_through(peaks: list[tuple[int, float]], gain: float) -> None:
    course = np.full(401, 0.05, np.float32)
    for place, height in peaks:
        course[place] = height
    ceiling = 0.8
    allowed = limiter_course(course, gain, ceiling)
    highest = np.maximum(allowed[:-1], allowed[1:])  # the gain runs straight from point to point
    assert (course * gain * highest <= ceiling * (1 + 1e-5)).all()
    assert (allowed <= 1).all()


def test_it_looks_ahead_so_that_its_gain_has_no_corner_at_a_peak() -> None:
    course = np.full(1000, 0.1, np.float32)
    course[500] = 2.0
    gain = limiter_course(course, 1.0, 1.0)
    assert gain[500 - 2 * AHEAD - 1] == pytest.approx(1)
    assert gain[500] == pytest.approx(0.5, abs=0.01)
    assert np.abs(np.diff(gain)).max() < 0.5 / AHEAD  # half is taken off over ten milliseconds, not at once
    assert gain[620] == pytest.approx(1 - 0.5 * np.exp(-1), abs=0.02), "back by a factor of e in 120 ms"
    assert gain[999] > 0.99


def test_both_sides_are_turned_down_alike() -> None:
    one, other = noise(6, -30, 1), noise(6, -30, 2)
    one[3 * RATE_HZ] = 1.0
    sound = _stereo(one, other)
    _, out = _bus(sound, -14.0, -1.0)
    gains = out[3 * RATE_HZ - 200 : 3 * RATE_HZ + 200] / sound[3 * RATE_HZ - 200 : 3 * RATE_HZ + 200]
    assert np.allclose(gains[:, 0], gains[:, 1], rtol=1e-5)


@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
def test_other_rates(rate_hz: int) -> None:
    sound = _stereo(steps([(5, -30), (5, -20)], 1, rate_hz))
    _, out = _bus(sound, -16.0, -1.0, rate_hz)
    assert _read(out, rate_hz).integrated_lufs == pytest.approx(-16, abs=0.1)
    assert _read(out, rate_hz).true_peak_dbtp <= -0.75


def test_silence_stays_silence() -> None:
    bus, out = _bus(np.zeros((RATE_HZ, 2), np.float32), -16, -1)
    assert (bus.gain_db, bus.limited_db) == (0, 0)
    assert not out.any()


def test_what_cannot_be_made_as_loud_is_not_squashed_without_end() -> None:
    at = np.arange(10 * RATE_HZ)
    clicks = np.zeros(len(at))
    clicks[::RATE_HZ] = 0.9
    bus, out = _bus(_stereo(clicks), -9.0, -1.0)
    assert _read(out).integrated_lufs < -10
    assert np.abs(out).max() <= 10 ** (-1 / 20) * 1.01
    assert bus.gain_db < 80


@settings(max_examples=10, deadline=None)
@given(st.integers(100, 60_000))
def test_how_it_is_fed_changes_nothing(cut: int) -> None:
    sound = _stereo(noise(2, -12, 3), noise(2, -12, 4))
    one, two = BusCourse(RATE_HZ), BusCourse(RATE_HZ)
    one.feed(sound)
    for start in range(0, len(sound), cut):
        two.feed(sound[start : start + cut])
    (peaks, power), (others, other_power) = one.result(), two.result()
    assert np.allclose(peaks, others, rtol=1e-6)
    assert np.allclose(power, other_power, rtol=1e-6)
