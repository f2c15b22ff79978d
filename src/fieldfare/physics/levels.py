"""Levels: sums, what a microphone puts out, the gain that fits, and what sound and noise read in the file.

Conventions: dBu re 0.7746 V, dBV re 1 V, dB SPL re 20 µPa, all rms. dBFS so that a full-scale sine reads 0 (AES17);
in plain rms the same sine reads −3.01. Full scale is the level in dBu at a converter's input that reads 0 dBFS. A
silent source has a level of minus infinity.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from fieldfare.physics._numbers import Number, Span, all_within, lg, ten_to, within

DBU_V = math.sqrt(0.001 * 600)  # 1 mW in 600 Ω; 0.775 V is only its rounding
DBV_IN_DBU = -20 * math.log10(DBU_V)
PASCAL_DB = 94.0  # 1 Pa as the trade counts it; exactly 93.979 dB
A_OF_WHITE_DB = -2.05  # white noise from 20 Hz to 20 kHz, A-weighted against flat: IEC 61672-1

_LEVEL = Span("level", "dB", -math.inf, 400, "give a level in dB; a silent source is minus infinity")
_SPL = Span("sound pressure level", "dB", -math.inf, 194, "no undistorted sound in air is louder; give dB re 20 µPa")
_SENSITIVITY = Span(
    "sensitivity", "mV/Pa", 0, 10_000, "give mV/Pa; from dB re 1 V/Pa they are 1000 · 10^(dB/20)", above=True
)
_FULL_SCALE = Span("full scale", "dBu", -60, 60, "give the level that reads 0 dBFS")
_TARGET = Span("target", "dBFS", -120, 0, "give a level below full scale, such as −12")
_GAIN = Span("gain", "dB", -120, 120, "give the gain in dB, a pad as a negative one")
_EIN = Span("equivalent input noise", "dBu", -150, 0, "give dBu: about −128 for a good preamplifier")
_SELF_NOISE = Span("self-noise", "dB(A)", -20, 80, "give the A-weighted equivalent level")


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


def recorded_dbfs(level_dbu: float, gain_db: float, full_scale_dbu: float) -> float:
    """Level in the file of a level at the preamplifier's input. Its negative is the headroom.

    Parameters
    ----------
    level_dbu
        Level at the input. [dBu]
    gain_db
        Gain, negative for a pad. [dB]
    full_scale_dbu
        Level that reads 0 dBFS. [dBu]

    Returns
    -------
    Level; above 0 it clips. [dBFS]

    Raises
    ------
    OutOfRange
        A gain outside ±120 dB, a full scale outside ±60 dBu, or not a number.

    Sources
    -------
    Level + gain − full scale: [definition].

    Examples
    --------
    >>> round(recorded_dbfs(4.24, gain_db=0, full_scale_dbu=18), 2)
    -13.76
    """
    gain, full_scale = within(float(gain_db), _GAIN), within(float(full_scale_dbu), _FULL_SCALE)
    return within(float(level_dbu), _LEVEL) + gain - full_scale


def preamp_noise_dbfs(ein_dbu: float, gain_db: float, full_scale_dbu: float) -> float:
    """Noise of a preamplifier as it stands in the file.

    Parameters
    ----------
    ein_dbu
        Equivalent input noise. [dBu]
    gain_db
        Gain. [dB]
    full_scale_dbu
        Level that reads 0 dBFS. [dBu]

    Returns
    -------
    Noise level, weighted as the equivalent input noise is. [dBFS]

    Raises
    ------
    OutOfRange
        A noise outside −150 to 0 dBu, what recorded_dbfs refuses, or not a number.

    Sources
    -------
    EIN + gain − full scale: [ProAudioList].

    Examples
    --------
    >>> preamp_noise_dbfs(-128, gain_db=40, full_scale_dbu=18)
    -106.0
    """
    return recorded_dbfs(within(float(ein_dbu), _EIN), gain_db, full_scale_dbu)
