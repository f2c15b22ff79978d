"""Gain structure against print."""

from __future__ import annotations

import math

import numpy as np
import pytest
from printed_tables import half_a_digit

from fieldfare.physics import gains
from fieldfare.physics.gains import (
    full_scales_dbu,
    half_percent_spl_db,
    mic_dynamic_range_db,
    noise_figure_db,
    pad_db,
    pcm_dynamic_range_db,
    pcm_steps_db,
    preamp_noise_dbfs,
    recorded_dbfs,
    signal_to_noise_dba,
    sine_peak_v,
)
from fieldfare.physics.levels import gain_db, mic_output_dbu


def test_pad_for_a_condenser_in_a_loud_place() -> None:
    """20 mV/Pa at 140 dB gives 14.24 dBu; an input that takes 10 dBu needs 4.24 dB less. Arithmetic."""
    assert pad_db(mic_output_dbu(20, 140), 10) == pytest.approx(4.24, abs=0.005)
    assert pad_db(4, 10) == 0


def test_a_condenser_at_unity_gain() -> None:
    """20 mV/Pa at 130 dB into a full scale of 18 dBu reads −13.76 dBFS. Arithmetic."""
    assert recorded_dbfs(mic_output_dbu(20, 130), 0, 18) == pytest.approx(-13.76, abs=0.005)


def test_the_gain_for_a_target_reads_the_target() -> None:
    output = mic_output_dbu(2, 120)
    assert recorded_dbfs(output, gain_db(output, 18, -12), 18) == pytest.approx(-12)


def test_peaks_at_minus_12_leave_12_db() -> None:
    """Nominal −18, peaks −12 dBFS: 18 dB above the nominal level, 12 above the peaks. Arithmetic."""
    assert [-recorded_dbfs(level, 0, 18) for level in (0, 6)] == [18, 12]


def test_alignments_put_full_scale_at_18_and_24_dbu() -> None:
    """[EBUR68] 0 dBu reads −18 dBFS; [SMPTERP155] +4 dBu reads −20."""
    assert full_scales_dbu() == {"EBU R68": 18, "SMPTE RP 155": 24}
    assert gains.R68_PEAK_ALLOWANCE_DB == 15


def test_noise_of_a_preamplifier() -> None:
    """[ProAudioList] −128 dBu at a gain of 60 dB stands at −68 dBu; at 40 dB into +18 dBu it reads −106 dBFS."""
    assert preamp_noise_dbfs(-128, 60, 0) == -68
    assert preamp_noise_dbfs(-128, 40, 18) == -106


def test_noise_figure() -> None:
    assert noise_figure_db(-128, 150) == pytest.approx(2.96, abs=0.005)


def test_microphone_figures_of_a_data_sheet() -> None:
    """[MicNoise] 94 less the self-noise; [IEC60268-4] 14 dB(A) are 80; [MaxSPL] 6 dB from 1 % to 0.5 %."""
    assert signal_to_noise_dba(14) == 80
    assert mic_dynamic_range_db(130, 14) == 116
    assert half_percent_spl_db(136) == 130
    assert 20 * math.log10(2) == pytest.approx(6, abs=0.5)


@pytest.mark.parametrize(("bits", "range_db"), [(16, "98.1"), (24, "146.3")])
def test_dynamic_range_of_pcm(bits: int, range_db: str) -> None:
    """[BitDepth] a full-scale sine over the quantising noise."""
    assert pcm_dynamic_range_db(bits) == pytest.approx(float(range_db), abs=half_a_digit(range_db))


@pytest.mark.parametrize(("bits", "steps_db"), [(16, "96.33"), (20, "120.41"), (24, "144.49")])
def test_steps_of_pcm(bits: int, steps_db: str) -> None:
    assert pcm_steps_db(bits) == pytest.approx(float(steps_db), abs=half_a_digit(steps_db))


def test_146_and_144_db_are_two_quantities() -> None:
    """[BitDepthPage] prints 146.25 and 144.49 for one formula at 24 bits: one is of a sine, one of the steps."""
    assert pcm_dynamic_range_db(24) == pytest.approx(6.02 * 24 + 1.76, abs=0.02)
    assert pcm_dynamic_range_db(24) - pcm_steps_db(24) == pytest.approx(1.76, abs=0.005)


def test_dynamic_range_of_pcm_by_rounding_a_sine() -> None:
    """A second road: round a sine to 12 bits and measure what it lost."""
    step = 2 / 2**12
    sine = np.sin(2 * np.pi * 997 * np.arange(480_000) / 48_000 + 0.1)
    noise = np.round(sine / step) * step - sine
    assert 10 * np.log10(np.mean(sine**2) / np.mean(noise**2)) == pytest.approx(pcm_dynamic_range_db(12), abs=0.1)


def test_peak_of_a_sine() -> None:
    """+24 dBu is 17.36 V peak, 34.72 V from peak to peak; a sine's peak is 3.01 dB over its rms. Arithmetic."""
    assert [sine_peak_v(24), 2 * sine_peak_v(24)] == pytest.approx([17.36, 34.72], abs=0.005)
    assert pytest.approx(3.0103, abs=0.00005) == gains.CREST_DB


def test_a_full_scale_sine_reads_0_dbfs_not_minus_3() -> None:
    """[AES17]: the rms of a full-scale sine, in plain rms −3.01 dB, is 0 dBFS."""
    plain = 20 * math.log10(math.sqrt(np.mean(np.sin(np.linspace(0, 2 * np.pi, 48_000, endpoint=False)) ** 2)))
    assert plain == pytest.approx(-3.01, abs=0.005)
    assert plain + gains.CREST_DB == pytest.approx(0, abs=1e-9)
