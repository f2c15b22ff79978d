"""The signals of the loudness standards that can be made, read as the standards say. [EBU3341], [EBU3342], [BS2217]."""

from __future__ import annotations

import numpy as np
import pytest
from printed_tables import printed
from takes.loudness.signals import RATE_HZ, Sound, silence, tones

from fieldfare.takes.loudness import Loudness, Meter, TruePeak, position_weight
from fieldfare.takes.loudness.weighting import k_weighting

STEADY = printed("ebu_3341_table_1_loudness")
PEAKS = printed("ebu_3341_table_1_peaks")
RANGES = printed("ebu_3342_table_1")
SINES = printed("bs_2217_sines")
WITHIN_LU = 0.1


def _read(sound: Sound, *, rate_hz: int = RATE_HZ) -> Loudness:
    meter = Meter(sound.shape[1], rate_hz, peaks=False)
    meter.feed(sound)
    return meter.result()


def _parts(text: str) -> list[tuple[float, float]]:
    return [(float(level), float(seconds)) for level, seconds in (part.split(":") for part in text.split())]


@pytest.mark.parametrize("row", STEADY, ids=lambda row: f"case {row['case']}")
def test_ebu_3341_cases_of_steady_tones(row: dict[str, str]) -> None:
    read = _read(tones(_parts(row["tones"]) * int(row["times"])))
    expected, within = float(row["expected_lufs"]), float(row["tolerance_lu"])
    wanted = row["reads"].split()
    if "I" in wanted:
        assert read.integrated_lufs == pytest.approx(expected, abs=within)
    for letter, course, highest in (
        ("M", read.momentary_lufs, read.momentary_max_lufs),
        ("S", read.short_lufs, read.short_max_lufs),
    ):
        if letter in wanted:
            settled = course[10:] if letter == "M" and "constant" in wanted else course
            assert np.abs(settled - expected).max() <= within
            assert highest == pytest.approx(expected, abs=within)


def test_ebu_3341_case_6_five_channels_are_weighted() -> None:
    levels = (-28.0, -28.0, -24.0, -30.0, -30.0)  # L R C Ls Rs
    sound = np.concatenate([tones([(level, 20)], channels=1) for level in levels], axis=1)
    assert _read(sound).integrated_lufs == pytest.approx(-23.0, abs=WITHIN_LU)
    low_frequency_channel = np.insert(sound, 3, tones([(0.0, 20)], channels=1)[:, 0], axis=1)
    assert _read(low_frequency_channel).integrated_lufs == pytest.approx(-23.0, abs=WITHIN_LU)


@pytest.mark.parametrize("i", range(20))
def test_ebu_3341_cases_10_and_13_files_with_one_tone_anywhere(i: int) -> None:
    short = np.concatenate([silence(i * 0.15), tones([(-23, 3)]), silence(1)])
    assert _read(short).short_max_lufs == pytest.approx(-23.0, abs=WITHIN_LU)
    momentary = np.concatenate([silence(i * 0.02), tones([(-23, 0.4)]), silence(1)])
    assert _read(momentary).momentary_max_lufs == pytest.approx(-23.0, abs=WITHIN_LU)


def test_ebu_3341_cases_11_and_14_highest_so_far_in_a_programme_that_goes_on() -> None:
    short, momentary = Meter(2, RATE_HZ, peaks=False), Meter(2, RATE_HZ, peaks=False)
    for i in range(20):
        level = -38.0 + i
        short.feed(np.concatenate([silence(i * 0.15), tones([(level, 3)]), silence(3 - i * 0.15)]))
        assert short.result().short_max_lufs == pytest.approx(level, abs=WITHIN_LU), i
        momentary.feed(np.concatenate([silence(i * 0.02), tones([(level, 0.4)]), silence(0.4 - i * 0.02)]))
        assert momentary.result().momentary_max_lufs == pytest.approx(level, abs=WITHIN_LU), i


@pytest.mark.parametrize("row", RANGES, ids=lambda row: f"case {row['case']}")
def test_ebu_3342_ranges(row: dict[str, str]) -> None:
    sound = tones([(float(level), 20) for level in row["levels_dbfs"].split()])
    assert _read(sound).range_lu == pytest.approx(float(row["range_lu"]), abs=0.2), "asked for: ±1"
    twice = np.concatenate([sound, sound])  # [EBU3342] section 3.1: repeating a programme does not change its range
    assert _read(twice).range_lu == pytest.approx(float(row["range_lu"]), abs=0.2)


@pytest.mark.parametrize("target", [-23.0, -24.0])
@pytest.mark.parametrize("row", SINES, ids=lambda row: f"{row['hz']} Hz")
def test_bs_2217_sines(row: dict[str, str], target: float) -> None:
    level = float(row["peak_dbfs"]) + target + 23.0
    read = _read(tones([(level, 20)], hz=float(row["hz"])))
    assert read.integrated_lufs == pytest.approx(target, abs=0.02), "asked for: ±0.1"


# BS.1770 annex 1, after equation 7: a full-scale sine of 997 Hz in one front channel reads -3.01 LKFS. [BS1770] The
# figure holds at 48 kHz; elsewhere the same filters give these, worked out apart from this program.
@pytest.mark.parametrize(("rate_hz", "expected"), [(44_100, -3.0075), (48_000, -3.0103), (96_000, -3.0276)])
def test_bs_1770_calibration_tone(rate_hz: int, expected: float) -> None:
    sound = np.concatenate([tones([(0, 10)], rate_hz, 997.0, 1), silence(10, rate_hz, 1)], axis=1)
    assert _read(sound, rate_hz=rate_hz).integrated_lufs == pytest.approx(expected, abs=0.002)


def test_bs_1770_filters_at_48_khz_are_as_printed() -> None:
    shelf, edge = k_weighting(48_000)
    assert shelf == pytest.approx(
        (1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585), abs=1e-8
    )
    assert edge == pytest.approx((1, -2, 1, -1.99004745483398, 0.99007225036621), abs=1e-8)


def test_bs_1770_5_weights_by_position() -> None:
    """Table 4 of BS.1770-5. [BS1770] An open media library's meter has the same 1.41 behind the listener."""
    assert [position_weight(azimuth, 0) for azimuth in (0, 30, -30, 59, 60, 110, -120, 121, 180)] == [
        1.0, 1.0, 1.0, 1.0, 1.41, 1.41, 1.41, 1.0, 1.0,
    ]  # fmt: skip
    assert position_weight(90, 30) == 1.0
    assert position_weight(270, 0) == 1.41


def _peak_dbtp(sound: Sound) -> float:
    meter = TruePeak(sound.shape[1], RATE_HZ)
    meter.feed(sound)
    return max(meter.result())


def _faded(sound: Sound) -> Sound:
    count = RATE_HZ // 100
    ramp = np.linspace(0, 1, count)[:, None]
    sound[:count] *= ramp
    sound[-count:] *= ramp[::-1]
    return sound


@pytest.mark.parametrize("row", PEAKS, ids=lambda row: f"case {row['case']}")
def test_ebu_3341_cases_15_to_19_true_peaks(row: dict[str, str]) -> None:
    turn = 2 * np.pi * np.arange(RATE_HZ) / float(row["part_of_rate"]) + np.radians(float(row["phase_deg"]))
    sound = _faded(np.repeat(float(row["amplitude"]) * np.sin(turn)[:, None], 2, axis=1))
    assert -0.4 <= _peak_dbtp(sound) - float(row["expected_dbtp"]) <= 0.2


@pytest.mark.parametrize("offset", range(4), ids=lambda offset: f"case {20 + offset}")
def test_ebu_3341_cases_20_to_23_true_peaks(offset: int) -> None:
    """One period of fs/4 at full scale within fs/6 at half, made at 4·fs, band limited, every fourth sample taken."""
    from scipy.signal import fftconvolve, firwin

    rate = 4.0  # of the signal as made, in units of fs
    slow = 0.5 * np.sin(2 * np.pi / 6 / rate * np.arange(24 * 2000))
    burst = np.sin(2 * np.pi / 4 / rate * np.arange(16))
    high = np.concatenate([slow, burst, slow])
    limited: Sound = fftconvolve(high, firwin(401, 0.24, window=("kaiser", 8)), "same")
    sound = np.repeat(limited[offset::4, None], 2, axis=1)
    assert -0.4 <= _peak_dbtp(sound) - 0.0 <= 0.2


def test_a_sample_peak_meter_would_miss_3_db() -> None:
    """Case 16 again: fs/4 at 45°; every sample stands at 0.707 of the peak."""
    turn = np.pi / 2 * np.arange(RATE_HZ) + np.pi / 4
    sound = 0.5 * np.sin(turn)[:, None]
    assert 20 * np.log10(np.abs(sound).max()) == pytest.approx(-9.031, abs=0.001)
    assert _peak_dbtp(_faded(sound)) == pytest.approx(-6.021, abs=0.05)
