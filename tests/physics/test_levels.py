"""Levels against print, and by a second road."""

from __future__ import annotations

import math
import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import half_a_digit, printed

from fieldfare.physics.levels import (
    A_OF_WHITE_DB,
    DBU_V,
    DBV_IN_DBU,
    PASCAL_DB,
    gain_db,
    mic_output_dbu,
    preamp_noise_dbfs,
    recorded_dbfs,
    self_noise_dbu,
    sensitivity_dbv_pa,
    sum_incoherent,
)
from fieldfare.units.faults import OutOfRange

LEVELS = st.floats(-150, 150)


def test_0_775_v_in_600_ohm_is_one_milliwatt() -> None:
    """[VoltCalculator] shows 1.28 mW, is 1.00: it takes 0.876 V or another load."""
    milliwatts = [1000 * volts**2 / 600 for volts in (DBU_V, 0.775)]
    assert milliwatts == pytest.approx([1.00, 1.00], abs=0.005)


# [SSE] section 2.13 for 90 + 96, [LevelSums] for the others.
@pytest.mark.parametrize(("levels", "total"), [([90, 96], "97.0"), ([80, 85], "86.2"), ([80, 80], "83.0")])
def test_sums_are_as_printed(levels: list[float], total: str) -> None:
    assert sum_incoherent(levels) == pytest.approx(float(total), abs=half_a_digit(total))


@pytest.mark.parametrize(("count", "total"), [(2, 3.01), (3, 4.77), (4, 6.02), (10, 10)])
def test_n_equal_sources(count: int, total: float) -> None:
    """10·lg n. Arithmetic."""
    assert sum_incoherent([0] * count) == pytest.approx(total, abs=0.005)


def test_a_stage_adds_up_as_a_magazine_has_it() -> None:
    """[StageLevels] four sources of 90 dB(A), 6 dB for reflections, 3 dB for monitors: 96, 102, 105."""
    stage = sum_incoherent([90] * 4)
    assert [round(stage), round(stage + 6), round(stage + 6 + 3)] == [96, 102, 105]


@given(st.lists(LEVELS, min_size=1, max_size=8))
def test_energy_is_kept_in_a_sum(levels: list[float]) -> None:
    """A second road: pressures of sines of many frequencies drawn out in time."""
    pressures = [10 ** (level / 20) for level in levels]
    time = np.arange(4800) / 4800
    apart = sum(p * np.sin(2 * np.pi * 20 * (n + 1) * time) for n, p in enumerate(pressures))
    unit = np.mean(np.sin(2 * np.pi * 20 * time) ** 2)
    assert sum_incoherent(levels) == pytest.approx(10 * np.log10(np.mean(apart**2) / unit), abs=1e-6)


def test_a_silent_source_adds_nothing() -> None:
    assert sum_incoherent([-math.inf, 80]) == 80
    assert sum_incoherent([-math.inf]) == -math.inf


def test_nothing_to_sum_is_refused() -> None:
    with pytest.raises(OutOfRange, match=r"level: no value at all; give at least one"):
        sum_incoherent([])


def test_the_place_of_a_bad_level_is_named() -> None:
    with pytest.raises(OutOfRange, match=r"level \(1, 0\): nan dB is not at most 400 dB") as caught:
        sum_incoherent([[80.0, 81.0], [math.nan, 82.0]])
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_dbv_and_dbu_are_2_218_db_apart() -> None:
    """[dBu] 0 dBV is 2.218 dBu; 0.775 V, a rounding of 0.7746, would make it 2.214."""
    assert pytest.approx(2.218, abs=0.0005) == DBV_IN_DBU
    assert -20 * math.log10(0.775) == pytest.approx(2.214, abs=0.0005)


def test_94_db_is_the_nominal_level_of_one_pascal() -> None:
    """[TransferFactor] has 94; exactly it is 93.979, and the difference is within the digits that are printed."""
    exact = 20 * math.log10(1 / 20e-6)
    assert exact == pytest.approx(93.979, abs=0.0005)
    assert exact == pytest.approx(PASCAL_DB, abs=0.5)


# [TransferFactor] −26 and −40; [IEC60268-4] prints −38.1 for 12.5 mV/Pa; the rest by its formula.
SENSITIVITIES = [
    (50, "-26"), (12.5, "-38.1"), (10, "-40"), (15, "-36.48"), (20, "-33.98"), (2, "-53.98"), (50, "-26.02"),
]  # fmt: skip


@pytest.mark.parametrize(("mv_pa", "db"), SENSITIVITIES)
def test_sensitivity_in_decibels_is_as_printed(mv_pa: float, db: str) -> None:
    assert sensitivity_dbv_pa(mv_pa) == pytest.approx(float(db), abs=half_a_digit(db))


def test_a_sensitivity_in_decibels_is_not_taken_for_millivolts() -> None:
    with pytest.raises(OutOfRange, match=r"sensitivity: −54 mV/Pa is not above 0 mV/Pa .*from dB re 1 V/Pa"):
        mic_output_dbu(-54, 100)


# By the formula of [TransferFactor], S + L − 94 + 2.218.
@pytest.mark.parametrize(
    ("mv_pa", "spl", "dbu"), [(20, 130, "4.24"), (2, 130, "-15.76"), (2, 120, "-25.76"), (20, 140, "14.24")]
)
def test_microphone_output(mv_pa: float, spl: float, dbu: str) -> None:
    assert mic_output_dbu(mv_pa, spl) == pytest.approx(float(dbu), abs=half_a_digit(dbu))


def test_microphone_output_against_a_published_specification() -> None:
    """[MicWorkedCheck] 28 mV/Pa at 117 dB: 0.396 V worked, 0.390 V in the specification."""
    volts = DBU_V * 10 ** (mic_output_dbu(28, 117) / 20)
    assert volts == pytest.approx(0.396, abs=0.0005)
    assert volts == pytest.approx(0.390, abs=0.01)


@given(st.floats(0.1, 100), st.floats(20, 150))
def test_microphone_output_is_its_voltage_at_the_pressure(mv_pa: float, spl: float) -> None:
    """A second road: pascals first. It differs by the 0.02 dB that 94 is rounded by."""
    volts = mv_pa / 1000 * 20e-6 * 10 ** (spl / 20)
    assert mic_output_dbu(mv_pa, spl) == pytest.approx(20 * math.log10(volts / DBU_V), abs=0.022)


# Arithmetic of the definition: 2 mV/Pa at 120 dB gives −25.76 dBu, 20 mV/Pa at 130 dB +4.24.
@pytest.mark.parametrize(
    ("mv_pa", "spl", "full_scale", "gain"), [(2, 120, 18, "31.76"), (2, 120, 24, "37.76"), (20, 130, 18, "1.76")]
)
def test_gain_to_12_below_full_scale(mv_pa: float, spl: float, full_scale: float, gain: str) -> None:
    got = gain_db(mic_output_dbu(mv_pa, spl), full_scale, -12)
    assert got == pytest.approx(float(gain), abs=half_a_digit(gain))


def test_self_noise_at_the_output() -> None:
    """[PreampMatching] table 3: 14 dB(A) at 20 mV/Pa are −112 dBu(A)."""
    assert self_noise_dbu(20, 14) == pytest.approx(-112, abs=half_a_digit("-112"))


def test_a_noise_10_db_lower_adds_more_than_the_0_4_db_in_print() -> None:
    """[PreampMatching] prints "less than 0.4 dB", is 0.414."""
    assert sum_incoherent([0, -10]) == pytest.approx(0.414, abs=0.0005)


def test_a_condenser_at_unity_gain() -> None:
    """20 mV/Pa at 130 dB into a full scale of 18 dBu reads −13.76 dBFS. Arithmetic."""
    assert recorded_dbfs(mic_output_dbu(20, 130), 0, 18) == pytest.approx(-13.76, abs=0.005)


def test_the_gain_for_a_target_reads_the_target() -> None:
    output = mic_output_dbu(2, 120)
    assert recorded_dbfs(output, gain_db(output, 18, -12), 18) == pytest.approx(-12)


def test_peaks_at_minus_12_leave_12_db() -> None:
    """Nominal −18, peaks −12 dBFS: 18 dB above the nominal level, 12 above the peaks. Arithmetic."""
    assert [-recorded_dbfs(level, 0, 18) for level in (0, 6)] == [18, 12]


def test_noise_of_a_preamplifier() -> None:
    """[ProAudioList] −128 dBu at a gain of 60 dB stands at −68 dBu; at 40 dB into +18 dBu it reads −106 dBFS."""
    assert preamp_noise_dbfs(-128, 60, 0) == -68
    assert preamp_noise_dbfs(-128, 40, 18) == -106


def test_white_noise_drops_by_2_db_under_a_weighting_not_by_5() -> None:
    """[IEC61672] table 3 over a flat spectrum from 20 Hz to 20 kHz; [PreampMatching2] takes 5 dB, "arbitrary"."""
    rows = printed("iec_61672_1_table_3")
    bands, weights = zip(*((int(row["band"]) / 10, float(row["a_db"])) for row in rows), strict=True)
    hertz = np.linspace(20, 20_000, 20_000)
    energy = np.mean(10 ** (np.interp(np.log10(hertz), bands, weights) / 10))
    assert 10 * math.log10(energy) == pytest.approx(A_OF_WHITE_DB, abs=0.05)
