"""Levels against print, and by a second road."""

from __future__ import annotations

import math
import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from printed_tables import half_a_digit, printed
from scipy import constants
from scipy.integrate import quad

from fieldfare.physics.levels import (
    BOLTZMANN_J_K,
    DBU_V,
    PASCAL_DB,
    PRESSURE_REFERENCE_PA,
    a_weighting_db,
    dbu_to_dbv,
    dbu_to_volts,
    dbv_to_dbu,
    gain_db,
    mic_output_dbu,
    self_noise_dbu,
    sensitivity_dbv_pa,
    sensitivity_mv_pa,
    subtract_level,
    sum_coherent,
    sum_incoherent,
    thermal_noise_dbu,
    volts_to_dbu,
)
from fieldfare.units.faults import OutOfRange

LEVELS = st.floats(-150, 150)

# [dBu] an online converter and two articles: +4 dBu is 1.228 V and 1.8 dBV, −10 dBV is 0.316 V. The rest is arithmetic.
VOLTS = [(0, "0.7746"), (4, "1.228"), (18, "6.153"), (20, "7.746"), (22, "9.752"), (24, "12.277")]


@pytest.mark.parametrize(("level_dbu", "volts"), VOLTS)
def test_dbu_is_re_the_voltage_of_a_milliwatt_in_600_ohm(level_dbu: float, volts: str) -> None:
    assert dbu_to_volts(level_dbu) == pytest.approx(float(volts), abs=half_a_digit(volts))
    assert volts_to_dbu(float(volts)) == pytest.approx(level_dbu, abs=8.686 * half_a_digit(volts) / float(volts))


def test_0_775_v_is_only_a_rounding_and_moves_a_level_by_0_004_db() -> None:
    """Between +4 dBu and −10 dBV lie 11.78 dB: not 14, and not 11.786, which 0.775 V would give."""
    apart = 4 - dbv_to_dbu(-10)
    assert apart == pytest.approx(11.782, abs=0.0005)
    assert 4 - 20 * math.log10(math.sqrt(0.1) / 0.775) == pytest.approx(11.786, abs=0.0005)


def test_0_775_v_in_600_ohm_is_one_milliwatt() -> None:
    """[VoltCalculator] shows 1.28 mW, is 1.00: it takes 0.876 V or another load."""
    milliwatts = [1000 * volts**2 / 600 for volts in (DBU_V, 0.775)]
    assert milliwatts == pytest.approx([1.00, 1.00], abs=0.005)


# [dBu] +4 dBu is 1.78 dBV, 0 dBV is 2.218 dBu, −10 dBV is −7.78 dBu.
@pytest.mark.parametrize(("level_dbu", "level_dbv"), [("4", "1.78"), ("2.218", "0"), ("-7.78", "-10.00")])
def test_dbv_and_dbu_are_2_218_db_apart(level_dbu: str, level_dbv: str) -> None:
    assert dbu_to_dbv(float(level_dbu)) == pytest.approx(float(level_dbv), abs=0.005)
    assert dbv_to_dbu(float(level_dbv)) == pytest.approx(float(level_dbu), abs=0.005)


@given(LEVELS)
def test_volts_and_levels_go_both_ways(level_dbu: float) -> None:
    assert volts_to_dbu(dbu_to_volts(level_dbu)) == pytest.approx(level_dbu, abs=1e-9)
    assert dbv_to_dbu(dbu_to_dbv(level_dbu)) == pytest.approx(level_dbu, abs=1e-9)


def test_no_voltage_is_a_level_of_minus_infinity() -> None:
    assert volts_to_dbu(0) == -math.inf
    assert dbu_to_volts(-math.inf) == 0
    assert volts_to_dbu(np.array([0.0, 1.0]))[0] == -math.inf


# [SSE] section 2.13 for 90 + 96, [LevelSums] for the others; n equal sources are arithmetic.
@pytest.mark.parametrize(
    ("levels", "incoherent", "coherent"),
    [([90, 96], "97.0", None), ([80, 85], "86.2", "88.9"), ([80, 80], "83.0", "86.0")],
)
def test_sums_are_as_printed(levels: list[float], incoherent: str, coherent: str | None) -> None:
    assert sum_incoherent(levels) == pytest.approx(float(incoherent), abs=half_a_digit(incoherent))
    if coherent:
        assert sum_coherent(levels) == pytest.approx(float(coherent), abs=half_a_digit(coherent))


@pytest.mark.parametrize(
    ("count", "incoherent", "coherent"), [(2, 3.01, 6.02), (3, 4.77, 9.54), (4, 6.02, 12.04), (10, 10, 20)]
)
def test_n_equal_sources(count: int, incoherent: float, coherent: float) -> None:
    assert sum_incoherent([0] * count) == pytest.approx(incoherent, abs=0.005)
    assert sum_coherent([0] * count) == pytest.approx(coherent, abs=0.005)


def test_a_stage_adds_up_as_a_magazine_has_it() -> None:
    """[StageLevels] four sources of 90 dB(A), 6 dB for reflections, 3 dB for monitors: 96, 102, 105."""
    stage = sum_incoherent([90] * 4)
    assert [round(stage), round(stage + 6), round(stage + 6 + 3)] == [96, 102, 105]


@given(st.lists(LEVELS, min_size=1, max_size=8))
def test_energy_is_kept_in_a_sum_and_pressure_in_a_coherent_one(levels: list[float]) -> None:
    """A second road: pressures of sines drawn out in time, at one frequency and at many."""
    pressures = [10 ** (level / 20) for level in levels]
    time = np.arange(4800) / 4800
    apart = sum(p * np.sin(2 * np.pi * 20 * (n + 1) * time) for n, p in enumerate(pressures))
    alike = sum(p * np.sin(2 * np.pi * 20 * time) for p in pressures)
    unit = np.mean(np.sin(2 * np.pi * 20 * time) ** 2)
    assert sum_incoherent(levels) == pytest.approx(10 * np.log10(np.mean(apart**2) / unit), abs=1e-6)
    assert sum_coherent(levels) == pytest.approx(10 * np.log10(np.mean(alike**2) / unit), abs=1e-6)


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


def test_what_is_left_when_one_part_falls_silent() -> None:
    """85 dB less 80 dB: the sum of [SSE] section 2.13, solved."""
    assert subtract_level(85, 80) == pytest.approx(83.35, abs=0.005)
    assert subtract_level(80, 80) == -math.inf


@given(LEVELS, LEVELS)
def test_a_part_taken_away_and_given_back(first: float, second: float) -> None:
    total = sum_incoherent([first, second])
    part = max(first, second)
    rest = subtract_level(total, part) if total > part else -math.inf
    assert sum_incoherent([rest, part]) == pytest.approx(total, abs=1e-6)


def test_a_part_louder_than_the_whole_is_refused() -> None:
    with pytest.raises(OutOfRange, match="part: 81 dB is not at most 80 dB; no part is louder than the whole"):
        subtract_level(80, 81)


def test_94_db_is_the_nominal_level_of_one_pascal() -> None:
    """[TransferFactor] has 94; exactly it is 93.979, and the difference is within the digits that are printed."""
    exact = 20 * math.log10(1 / PRESSURE_REFERENCE_PA)
    assert exact == pytest.approx(93.979, abs=0.0005)
    assert exact == pytest.approx(PASCAL_DB, abs=0.5)


# [TransferFactor] −26 and −40; [IEC60268-4] prints −38.1 for 12.5 mV/Pa; the rest by its formula.
SENSITIVITIES = [
    (50, "-26"), (12.5, "-38.1"), (10, "-40"), (15, "-36.48"), (20, "-33.98"), (2, "-53.98"), (50, "-26.02"),
]  # fmt: skip


@pytest.mark.parametrize(("mv_pa", "db"), SENSITIVITIES)
def test_sensitivity_in_decibels_is_as_printed(mv_pa: float, db: str) -> None:
    assert sensitivity_dbv_pa(mv_pa) == pytest.approx(float(db), abs=half_a_digit(db))


@given(st.floats(0.01, 500))
def test_sensitivity_goes_both_ways(mv_pa: float) -> None:
    assert sensitivity_mv_pa(sensitivity_dbv_pa(mv_pa)) == pytest.approx(mv_pa, rel=1e-9)


def test_an_old_figure_per_microbar_is_20_db_lower() -> None:
    """[TransferFactor] −40 dB re 1 V/Pa is −60 dB re 1 V/µbar: 1 Pa is 10 µbar."""
    assert sensitivity_mv_pa(-60 + 20) == pytest.approx(10)
    assert constants.bar * 1e-6 == pytest.approx(0.1)


def test_a_sensitivity_in_decibels_is_not_taken_for_millivolts() -> None:
    with pytest.raises(OutOfRange, match=r"sensitivity: −54 mV/Pa is not above 0 mV/Pa .*from dB re 1 V/Pa"):
        mic_output_dbu(-54, 100)


# By the formula of [TransferFactor], S + L − 94 + 2.218.
@pytest.mark.parametrize(
    ("mv_pa", "spl", "dbu", "volts"),
    [(20, 130, "4.24", "1.262"), (2, 130, "-15.76", "0.126"), (2, 120, "-25.76", "0.040"), (20, 140, "14.24", "3.991")],
)
def test_microphone_output(mv_pa: float, spl: float, dbu: str, volts: str) -> None:
    output = mic_output_dbu(mv_pa, spl)
    assert output == pytest.approx(float(dbu), abs=half_a_digit(dbu))
    assert dbu_to_volts(output) == pytest.approx(float(volts), abs=half_a_digit(volts))


def test_microphone_output_against_a_published_specification() -> None:
    """[MicWorkedCheck] 28 mV/Pa at 117 dB: 0.396 V worked, 0.390 V in the specification."""
    volts = dbu_to_volts(mic_output_dbu(28, 117))
    assert volts == pytest.approx(0.396, abs=0.0005)
    assert volts == pytest.approx(0.390, abs=0.01)


@given(st.floats(0.1, 100), st.floats(20, 150))
def test_microphone_output_is_its_voltage_at_the_pressure(mv_pa: float, spl: float) -> None:
    """A second road: pascals first. It differs by the 0.02 dB that 94 is rounded by."""
    pressure_pa = PRESSURE_REFERENCE_PA * 10 ** (spl / 20)
    assert mic_output_dbu(mv_pa, spl) == pytest.approx(volts_to_dbu(mv_pa / 1000 * pressure_pa), abs=0.022)


# Arithmetic of the definition: 2 mV/Pa at 120 dB gives −25.76 dBu, 20 mV/Pa at 130 dB +4.24.
@pytest.mark.parametrize(
    ("mv_pa", "spl", "full_scale", "gain"), [(2, 120, 18, "31.76"), (2, 120, 24, "37.76"), (20, 130, 18, "1.76")]
)
def test_gain_to_12_below_full_scale(mv_pa: float, spl: float, full_scale: float, gain: str) -> None:
    got = gain_db(mic_output_dbu(mv_pa, spl), full_scale, -12)
    assert got == pytest.approx(float(gain), abs=half_a_digit(gain))


def test_boltzmann_constant_is_the_one_of_2019() -> None:
    assert constants.k == BOLTZMANN_J_K


# Level over 20 kHz. [ProAudioList] −130.9 dBu for 150 Ω and −122.8 for 1 kΩ, [PreampMatching2] −131 for 150 Ω.
@pytest.mark.parametrize(
    ("ohm", "kelvin", "dbu"),
    [
        (150, 290, "-130.96"), (150, 293.15, "-130.92"), (150, 300, "-130.82"), (150, 293.15, "-130.9"),
        (150, 293.15, "-131"), (200, 290, "-129.72"), (200, 293.15, "-129.67"), (200, 300, "-129.57"),
    ],
)  # fmt: skip
def test_thermal_noise_is_as_printed(ohm: float, kelvin: float, dbu: str) -> None:
    assert thermal_noise_dbu(ohm, 20_000, kelvin) == pytest.approx(float(dbu), abs=half_a_digit(dbu))


def test_thermal_noise_of_1_kilohm_lies_between_two_figures_in_print() -> None:
    """[ProAudioList] −122.8 dBu; at 293 K it is −122.7."""
    assert -122.85 <= thermal_noise_dbu(1000, 20_000, 293) <= -122.65


def test_density_of_thermal_noise() -> None:
    """[ProAudioList] 1.568 nV/√Hz for 150 Ω, which holds for a warm room."""
    densities = [1e9 * dbu_to_volts(thermal_noise_dbu(150, 1, kelvin)) for kelvin in (293, 297)]
    assert densities == pytest.approx([1.558, 1.568], abs=0.001)


def test_thermal_noise_of_200_ohm_is_not_that_of_150() -> None:
    """A draft prints −131.9 dBu for 150 Ω, is −130.9: −131.9 is the level of 200 Ω in dBV."""
    assert dbu_to_dbv(thermal_noise_dbu(200)) == pytest.approx(-131.9, abs=0.05)
    assert thermal_noise_dbu(150) == pytest.approx(-130.9, abs=0.05)
    assert thermal_noise_dbu(200) == pytest.approx(-129.7, abs=0.05)


def test_self_noise_at_the_output() -> None:
    """[PreampMatching] table 3: 14 dB(A) at 20 mV/Pa are −112 dBu(A)."""
    assert self_noise_dbu(20, 14) == pytest.approx(-112, abs=half_a_digit("-112"))


def test_a_noise_10_db_lower_adds_more_than_the_0_4_db_in_print() -> None:
    """[PreampMatching] prints "less than 0.4 dB", is 0.414."""
    assert sum_incoherent([0, -10]) == pytest.approx(0.414, abs=0.0005)


@pytest.mark.parametrize("row", printed("iec_61672_1_table_3"), ids=lambda row: str(row["nominal_hz"]))
def test_a_weighting_is_as_printed(row: dict[str, str]) -> None:
    exact_hz = 10 ** (int(row["band"]) / 10)
    assert a_weighting_db(exact_hz) == pytest.approx(float(row["a_db"]), abs=half_a_digit(row["a_db"]))


def test_white_noise_drops_by_2_db_under_a_weighting_not_by_5() -> None:
    """[PreampMatching2] takes 5 dB off and calls that arbitrary; from 20 Hz to 20 kHz it is 2.05 dB."""
    power, _ = quad(lambda hz: 10 ** (a_weighting_db(hz) / 10), 20, 20_000, limit=200)
    assert 10 * math.log10(power / (20_000 - 20)) == pytest.approx(-2.05, abs=0.05)
