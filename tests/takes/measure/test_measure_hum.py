"""Hum: readings at the mains and its multiples, the mains off nominal, and the low notes that are no hum."""

from __future__ import annotations

import numpy as np
import pytest
from takes.measure.signals import Floats, codes, measured, noise, seconds, tone

from fieldfare.takes.measure.hum import Hum, find_hum
from fieldfare.takes.measure.lowband import MAINS_HZ


def _hum(sound: Floats, rate_hz: int = 48_000) -> Hum | None:
    return find_hum(measured(codes(sound), rate_hz=rate_hz).channel[0].lows)


def _line(sound: Floats, mains_hz: float, harmonic: int) -> tuple[float, float]:
    """Level of a line, and the mains that it says, as the middle of all stretches."""
    lines = measured(codes(sound)).channel[0].lows.mains[:, MAINS_HZ.index(mains_hz), harmonic - 1]
    level, hz = float(np.median(lines[:, 0])), float(np.median(lines[:, 1]))
    return float(20 * np.log10(max(level, 1e-12))), hz


def _goertzel_dbfs(sound: Floats, hz: float, rate_hz: int = 48_000) -> float:
    """One bin of a plain transform over all of it: the way that is right for whole cycles alone."""
    turns = np.exp(-2j * np.pi * hz * np.arange(len(sound)) / rate_hz)
    return float(20 * np.log10(2 * abs(np.dot(sound, turns)) / len(sound) + 1e-15))


def test_lines_read_as_they_are() -> None:
    """50 Hz at −60 and 150 Hz at −70.46 dBFS read so, and nothing stands at 60 and 120 Hz."""
    sound = tone(50, -60, 20) + tone(150, -70.46, 20)
    assert _line(sound, 50.0, 1)[0] == pytest.approx(-60.00, abs=0.005)
    assert _line(sound, 50.0, 3)[0] == pytest.approx(-70.46, abs=0.005)
    assert _line(sound, 50.0, 1)[0] == pytest.approx(_goertzel_dbfs(sound, 50), abs=0.005)
    assert _line(sound, 60.0, 1)[0] < -140
    assert _line(sound, 60.0, 2)[0] < -140


def test_noise_of_the_same_level_moves_a_reading_by_little() -> None:
    """With white noise at −60 dBFS over one second such a line reads −59.9."""
    sound = tone(50, -60, 40) + tone(100, -60, 40) + noise(-60, 40)
    found = _hum(sound)
    assert found is not None
    assert found.line_dbfs == pytest.approx((-60, -60), abs=0.15)
    assert found.dbfs == pytest.approx(-56.99, abs=0.15)


@pytest.mark.parametrize(("off_hz", "lost_db"), [(0.1, 0.14), (0.2, 0.56), (0.5, 3.9)])
def test_mains_off_nominal_read_full(off_hz: float, lost_db: float) -> None:
    """A plain bin of one second loses 0.14, 0.56 and 3.9 dB there; a line that is looked for does not."""
    sound = tone(50 + off_hz, -60, 20) + tone(2 * (50 + off_hz), -66, 20)
    assert -60 - _goertzel_dbfs(sound[:48_000], 50) == pytest.approx(lost_db, abs=0.08)
    level, hz = _line(sound, 50.0, 1)
    assert level == pytest.approx(-60, abs=0.02)
    assert hz == pytest.approx(50 + off_hz, abs=0.005)
    found = _hum(sound + noise(-90, 20))
    assert found is not None
    assert found.mains_hz == pytest.approx(50 + off_hz, abs=0.005)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 88_200, 96_000, 192_000])
@pytest.mark.parametrize("mains_hz", [50, 60])
def test_every_rate_and_both_mains(rate_hz: int, mains_hz: int) -> None:
    sound = sum(tone(mains_hz * h, -50 - 6 * h, 10, rate_hz, phase=h) for h in (1, 2, 3)) + noise(-95, 10, 1, rate_hz)
    found = _hum(np.asarray(sound), rate_hz)
    assert found is not None
    assert found.mains_hz == pytest.approx(mains_hz, abs=0.01)
    assert found.line_dbfs == pytest.approx((-56, -62, -68), abs=0.05)
    assert found.harmonics == (1, 2, 3)


def test_hum_under_music_is_found_in_the_pauses() -> None:
    music = sum(tone(hz, -18, 60) for hz in (98.0, 146.83, 196.0, 392.0))
    playing = (seconds(60) % 20) < 14
    sound = np.where(playing, music, 0) + tone(50, -62, 60) + tone(100, -70, 60) + tone(150, -66, 60) + noise(-85, 60)
    found = _hum(sound)
    assert found is not None
    assert found.dbfs == pytest.approx(-60.2, abs=0.3)
    assert find_hum(measured(codes(sound)).channel[0].lows, 60.0) is None


# Equal temperament at A 440: low B of a bass 30.87, G1 49.00, A#1 58.27, B1 61.74, G2 98.00, B2 123.47 Hz.
LOW_NOTES = {"B0": 30.87, "G1": 49.00, "A#1": 58.27, "B1": 61.74, "G2": 98.00, "B2": 123.47}


@pytest.mark.parametrize("hz", LOW_NOTES.values(), ids=LOW_NOTES)
@pytest.mark.parametrize("cents", [-12, 0, 12])
def test_a_low_note_held_for_ever_is_no_hum(hz: float, cents: float) -> None:
    """G1 is 1 Hz from 50: a note with all its harmonics, held steady through the whole recording, is the worst case."""
    at_hz = hz * 2 ** (cents / 1200)
    sound = sum(tone(at_hz * h, -20 - 4 * h, 20, phase=h) for h in range(1, 8)) + noise(-90, 20)
    assert _hum(np.asarray(sound)) is None


def test_a_single_line_is_no_hum() -> None:
    assert _hum(tone(50, -50, 20) + noise(-90, 20)) is None


def test_noise_silence_and_what_is_too_short_do_not_hum() -> None:
    assert _hum(noise(-40, 20)) is None
    assert _hum(np.zeros(480_000)) is None
    assert _hum(tone(50, -50, 5) + tone(100, -50, 5)) is None


def test_a_note_that_comes_and_goes_at_the_mains_is_no_hum() -> None:
    gate = (seconds(40) % 4) < 1.5
    assert _hum(gate * (tone(50, -30, 40) + tone(100, -36, 40)) + noise(-80, 40)) is None


def _short_rests(length_s: float, hz: float = 73.4) -> Floats:
    """Notes of a bass, each 0.7 s long, with 0.3 s of rest after it: no stretch of two seconds is without one."""
    time = seconds(length_s)
    note = np.sin(2 * np.pi * hz * time) + 0.5 * np.sin(4 * np.pi * hz * time)
    swell = np.clip(np.minimum(time % 1 / 0.01, (0.7 - time % 1) / 0.02), 0, 1)
    return np.asarray(0.2 * note * swell, np.float64)


@pytest.mark.parametrize("mains_hz", [49.9, 60.1])
def test_hum_in_rests_shorter_than_a_stretch_is_found(mains_hz: float) -> None:
    lines = np.asarray(sum(tone(mains_hz * h, -60 - 3 * h, 30, phase=h) for h in (1, 2, 3)))
    found = _hum(_short_rests(30) + lines + noise(-90, 30))
    assert found is not None
    assert found.mains_hz == pytest.approx(mains_hz, abs=0.1)
    assert found.dbfs == pytest.approx(-60.5, abs=1.5)
    assert set(found.harmonics) >= {1, 2}


def test_rests_with_noise_or_with_a_note_in_them_do_not_hum() -> None:
    assert _hum(_short_rests(30) + noise(-90, 30)) is None
    drone = np.asarray(sum(tone(48.9 * h, -60 - 3 * h, 30, phase=h) for h in (1, 2, 3)))  # 2 % off the mains
    assert _hum(_short_rests(30) + drone + noise(-90, 30)) is None
