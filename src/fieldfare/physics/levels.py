"""Levels: volts and decibels, sums, what a microphone puts out, noise, and the gain that fits.

Conventions: dBu re 0.7746 V, dBV re 1 V, dB SPL re 20 µPa, all rms. dBFS so that a full-scale sine reads 0 (AES17).
A silent source has a level of minus infinity. Longer than 400 lines by its docstrings alone.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from fieldfare.physics._numbers import Number, Span, all_within, lg, root, ten_to, within

DBU_V = math.sqrt(0.001 * 600)  # 1 mW in 600 Ω; 0.775 V is only its rounding
DBV_IN_DBU = -20 * math.log10(DBU_V)
PRESSURE_REFERENCE_PA = 20e-6
PASCAL_DB = 94.0  # 1 Pa as the trade counts it; exactly 93.979 dB
BOLTZMANN_J_K = 1.380649e-23
AUDIO_BANDWIDTH_HZ = 20_000.0
ROOM_K = 293.15

_A_POLES_HZ = (20.598997, 107.65265, 737.86223, 12194.217)

_LEVEL = Span("level", "dB", -math.inf, 400, "give a level in dB; a silent source is minus infinity")
_VOLTAGE = Span("voltage", "V", 0, math.inf, "give the rms voltage")
_SPL = Span("sound pressure level", "dB", -math.inf, 194, "no undistorted sound in air is louder; give dB re 20 µPa")
_SENSITIVITY = Span(
    "sensitivity", "mV/Pa", 0, 10_000, "give mV/Pa; from dB re 1 V/Pa they are 1000 · 10^(dB/20)", above=True
)
_SENSITIVITY_DB = Span("sensitivity", "dB re 1 V/Pa", -120, 20, "give dB re 1 V/Pa; per µbar reads 20 dB lower")
_FULL_SCALE = Span("full scale", "dBu", -60, 60, "give the level that reads 0 dBFS")
_TARGET = Span("target", "dBFS", -120, 0, "give a level below full scale, such as −12")
_RESISTANCE = Span("source resistance", "Ω", 0, 1e12, "give the resistance in ohm")
_BANDWIDTH = Span("bandwidth", "Hz", 0, 1e9, "give the bandwidth in hertz", above=True)
_TEMPERATURE = Span("temperature", "K", 0, 2000, "give kelvin: 20 °C are 293.15 K")
_SELF_NOISE = Span("self-noise", "dB(A)", -20, 80, "give the A-weighted equivalent level")
_FREQUENCY = Span("frequency", "Hz", 0, 1e6, "give the frequency in hertz", above=True)


def dbu_to_volts(level_dbu: Number) -> Number:
    """Voltage of a level in dBu.

    Parameters
    ----------
    level_dbu
        Level, float or array of any shape. [dBu]

    Returns
    -------
    Rms voltage, of the same shape. [V]

    Raises
    ------
    OutOfRange
        Not a number, or above 400 dB.

    Sources
    -------
    √(1 mW · 600 Ω) · 10^(L/20): [dBu].

    Examples
    --------
    >>> round(dbu_to_volts(4), 3)  # line level
    1.228
    """
    return DBU_V * ten_to(within(level_dbu, _LEVEL) / 20)


def volts_to_dbu(voltage_v: Number) -> Number:
    """Level in dBu of a voltage; none at all is minus infinity.

    Parameters
    ----------
    voltage_v
        Rms voltage, float or array of any shape. [V]

    Returns
    -------
    Level, of the same shape. [dBu]

    Raises
    ------
    OutOfRange
        A negative voltage or not a number.

    Sources
    -------
    20·lg(U / 0.7746 V): [dBu].

    Examples
    --------
    >>> round(volts_to_dbu(1.0), 3)
    2.218
    """
    return 20 * lg(within(voltage_v, _VOLTAGE) / DBU_V)


def dbv_to_dbu(level_dbv: Number) -> Number:
    """Level in dBu of a level in dBV.

    Parameters
    ----------
    level_dbv
        Level re 1 V, float or array of any shape. [dBV]

    Returns
    -------
    Level, of the same shape. [dBu]

    Raises
    ------
    OutOfRange
        Not a number, or above 400 dB.

    Sources
    -------
    L + 2.218: [dBu].

    Examples
    --------
    >>> round(dbv_to_dbu(-10), 2)
    -7.78
    """
    return within(level_dbv, _LEVEL) + DBV_IN_DBU


def dbu_to_dbv(level_dbu: Number) -> Number:
    """Level in dBV of a level in dBu.

    Parameters
    ----------
    level_dbu
        Level, float or array of any shape. [dBu]

    Returns
    -------
    Level re 1 V, of the same shape. [dBV]

    Raises
    ------
    OutOfRange
        Not a number, or above 400 dB.

    Sources
    -------
    L − 2.218: [dBu].

    Examples
    --------
    >>> round(dbu_to_dbv(4), 2)
    1.78
    """
    return within(level_dbu, _LEVEL) - DBV_IN_DBU


def sum_incoherent(levels_db: ArrayLike) -> float:
    """Level of several sounds that have nothing to do with one another: their energies add.

    Parameters
    ----------
    levels_db
        Levels, any shape, at least one. [dB]

    Returns
    -------
    Level of them all together. [dB]

    Raises
    ------
    OutOfRange
        No level at all, or one that is not a number; names its place.

    Sources
    -------
    10·lg Σ 10^(L/10): [SSE] section 2.13.

    Examples
    --------
    >>> round(sum_incoherent([90, 96]), 1)
    97.0
    """
    return 10 * lg(float(np.sum(ten_to(all_within(levels_db, _LEVEL) / 10))))


def sum_coherent(levels_db: ArrayLike) -> float:
    """Level of several copies of one sound that arrive in step: their pressures add.

    Parameters
    ----------
    levels_db
        Levels, any shape, at least one. [dB]

    Returns
    -------
    Level of them all together. [dB]

    Raises
    ------
    OutOfRange
        No level at all, or one that is not a number; names its place.

    Sources
    -------
    20·lg Σ 10^(L/20): [LevelSums].

    Examples
    --------
    >>> round(sum_coherent([80, 80]), 1)
    86.0
    """
    return 20 * lg(float(np.sum(ten_to(all_within(levels_db, _LEVEL) / 20))))


def subtract_level(total_db: float, part_db: float) -> float:
    """What is left of a level when one part of it falls silent.

    Parameters
    ----------
    total_db
        Level of all together. [dB]
    part_db
        Level of the part that is taken away, not above the total. [dB]

    Returns
    -------
    Level of the rest; minus infinity where nothing is left. [dB]

    Raises
    ------
    OutOfRange
        Not a number, or a part louder than the whole.

    Sources
    -------
    10·lg(10^(L/10) − 10^(Lp/10)): the sum of [SSE] section 2.13, solved for one part.

    Examples
    --------
    >>> round(subtract_level(85, 80), 2)
    83.35
    """
    total = within(total_db, _LEVEL)
    most = Span("part", "dB", -math.inf, total, "no part is louder than the whole: are the two swapped?")
    return 10 * lg(ten_to(total / 10) - ten_to(within(part_db, most) / 10))


def sensitivity_dbv_pa(sensitivity_mv_pa: Number) -> Number:
    """Sensitivity of a microphone in decibels.

    Parameters
    ----------
    sensitivity_mv_pa
        Unloaded sensitivity, float or array of any shape. [mV/Pa]

    Returns
    -------
    Sensitivity, of the same shape. [dB re 1 V/Pa]

    Raises
    ------
    OutOfRange
        A sensitivity of 0 or less (a figure in dB, put in as mV/Pa), above 10 V/Pa, or not a number.

    Sources
    -------
    20·lg(M / 1000): [TransferFactor].

    Examples
    --------
    >>> round(sensitivity_dbv_pa(50), 2)
    -26.02
    """
    return 20 * lg(within(sensitivity_mv_pa, _SENSITIVITY) / 1000)


def sensitivity_mv_pa(sensitivity_dbv_pa: Number) -> Number:
    """Sensitivity of a microphone in millivolts per pascal.

    Parameters
    ----------
    sensitivity_dbv_pa
        Sensitivity, float or array of any shape; a figure per µbar is 20 dB lower and must be raised first.
        [dB re 1 V/Pa]

    Returns
    -------
    Sensitivity, of the same shape. [mV/Pa]

    Raises
    ------
    OutOfRange
        Outside −120 to 20 dB, or not a number.

    Sources
    -------
    1000 · 10^(S/20): [TransferFactor].

    Examples
    --------
    >>> round(sensitivity_mv_pa(-40), 2)
    10.0
    """
    return 1000 * ten_to(within(sensitivity_dbv_pa, _SENSITIVITY_DB) / 20)


def mic_output_dbu(sensitivity_mv_pa: float, spl_db: Number) -> Number:
    """Level at the output of an unloaded microphone.

    Holds while the microphone is not overloaded.

    Parameters
    ----------
    sensitivity_mv_pa
        Unloaded sensitivity. [mV/Pa]
    spl_db
        Sound pressure level at the microphone, float or array of any shape. [dB]

    Returns
    -------
    Output level, of the same shape as the sound pressure level. [dBu]

    Raises
    ------
    OutOfRange
        A sensitivity of 0 or less, a sound pressure level above 194 dB, or not a number.

    Sources
    -------
    S + L − 94 + 2.218, with the nominal 94 dB of 1 Pa: [TransferFactor].

    Examples
    --------
    >>> round(mic_output_dbu(20, 130), 2)
    4.24
    """
    at_94_dbu = sensitivity_dbv_pa(float(sensitivity_mv_pa)) + DBV_IN_DBU
    return within(spl_db, _SPL) - PASCAL_DB + at_94_dbu


def gain_db(output_dbu: float, full_scale_dbu: float, target_dbfs: float) -> float:
    """Gain between a source and a converter, so that the source reads the target.

    Parameters
    ----------
    output_dbu
        Level of the source's loudest moment. [dBu]
    full_scale_dbu
        Level at the converter's input that reads 0 dBFS. [dBu]
    target_dbfs
        Level that the loudest moment shall read. [dBFS]

    Returns
    -------
    Gain; a negative one is a pad. [dB]

    Raises
    ------
    OutOfRange
        A target above 0 dBFS or below −120, a full scale outside −60 to 60 dBu, a silent source, or not a number.

    Sources
    -------
    Full scale + target − output: [definition].

    Examples
    --------
    >>> round(gain_db(-25.76, full_scale_dbu=18, target_dbfs=-12), 2)
    31.76
    """
    output = within(output_dbu, Span("source level", "dBu", -400, 400, "no gain lifts silence; give the level in dBu"))
    return within(full_scale_dbu, _FULL_SCALE) + within(target_dbfs, _TARGET) - output


def thermal_noise_dbu(
    resistance_ohm: Number, bandwidth_hz: float = AUDIO_BANDWIDTH_HZ, temperature_k: float = ROOM_K
) -> Number:
    """Noise of a resistance by its warmth alone: no preamplifier can be quieter than its source.

    Parameters
    ----------
    resistance_ohm
        Resistive part of the source impedance, float or array of any shape. [Ω]
    bandwidth_hz
        Bandwidth, flat. [Hz]
    temperature_k
        Absolute temperature. [K]

    Returns
    -------
    Unweighted noise level, of the same shape as the resistance. [dBu]

    Raises
    ------
    OutOfRange
        A negative resistance or temperature, a bandwidth of 0 or less, or not a number.

    Sources
    -------
    √(4·k·T·R·B), k = 1.380649e-23 J/K: [ThermalNoise].

    Examples
    --------
    >>> round(thermal_noise_dbu(150), 1)
    -130.9
    """
    resistance = within(resistance_ohm, _RESISTANCE)
    bandwidth, temperature = within(bandwidth_hz, _BANDWIDTH), within(temperature_k, _TEMPERATURE)
    return volts_to_dbu(root(resistance * (4 * BOLTZMANN_J_K * temperature * bandwidth)))


def self_noise_dbu(sensitivity_mv_pa: float, self_noise_dba: float) -> float:
    """Noise of a microphone as it stands at its output.

    Parameters
    ----------
    sensitivity_mv_pa
        Unloaded sensitivity. [mV/Pa]
    self_noise_dba
        Equivalent noise level, A-weighted. [dB(A)]

    Returns
    -------
    A-weighted noise level; unweighted thermal noise must be weighted before the two are compared. [dBu(A)]

    Raises
    ------
    OutOfRange
        A sensitivity of 0 or less, a self-noise outside −20 to 80 dB(A), or not a number.

    Sources
    -------
    S + N − 94 + 2.218: [PreampMatching] table 3.

    Examples
    --------
    >>> round(self_noise_dbu(20, 14))
    -112
    """
    return mic_output_dbu(sensitivity_mv_pa, within(self_noise_dba, _SELF_NOISE))


def a_weighting_db(frequency_hz: Number) -> Number:
    """A-weighting at a frequency.

    Parameters
    ----------
    frequency_hz
        Frequency, float or array of any shape; nominal 31.5 Hz is exactly 10^1.5 Hz. [Hz]

    Returns
    -------
    Weighting, of the same shape. [dB]

    Raises
    ------
    OutOfRange
        A frequency of 0 or less, or not a number.

    Sources
    -------
    Poles at 20.6 and 12194 Hz, twice each, and at 107.7 and 737.9 Hz; 0 dB at 1 kHz: [IEC61672] annex E.

    Examples
    --------
    >>> [round(a_weighting_db(frequency), 1) for frequency in (100, 1000, 10_000)]
    [-19.1, 0.0, -2.5]
    """
    return 20 * lg(_a_response(within(frequency_hz, _FREQUENCY)) / _a_response(1000.0))


def _a_response(frequency_hz: Number) -> Number:
    square = frequency_hz**2
    outer = (square + _A_POLES_HZ[0] ** 2) * (square + _A_POLES_HZ[3] ** 2)
    inner = (square + _A_POLES_HZ[1] ** 2) * (square + _A_POLES_HZ[2] ** 2)
    return square**2 / (outer * root(inner))
