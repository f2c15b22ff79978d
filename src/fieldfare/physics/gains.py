"""Gain structure: from the microphone's level to the file, and what is left above and below.

Conventions: dBFS so that a full-scale sine reads 0 dBFS rms (AES17); in plain rms the same sine reads −3.01. The full
scale is the level in dBu at a converter's input that reads 0 dBFS.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from fieldfare.physics._numbers import Span, within
from fieldfare.physics._tables import rows
from fieldfare.physics.levels import AUDIO_BANDWIDTH_HZ, PASCAL_DB, dbu_to_volts, thermal_noise_dbu

NOISE_FIGURE_K = 290.0
CREST_DB = 20 * math.log10(math.sqrt(2))  # peak of a sine over its rms
R68_PEAK_ALLOWANCE_DB = 15.0  # true peaks over the alignment level, EBU R68-2000

_LEVEL = Span("level", "dBu", -math.inf, 400, "give the level in dBu")
_INPUT = Span("largest input", "dBu", -100, 100, "give the level that the input takes at its lowest gain")
_GAIN = Span("gain", "dB", -120, 120, "give the gain in dB, a pad as a negative one")
_FULL_SCALE = Span("full scale", "dBu", -60, 60, "give the level that reads 0 dBFS")
_EIN = Span("equivalent input noise", "dBu", -150, 0, "give dBu: about −128 for a good preamplifier")
_SOURCE = Span("source resistance", "Ω", 0, 1e9, "give the resistance at which the noise is stated", above=True)
_BITS = Span("bits", "", 1, 64, "give bits a sample: 16, 24 or 32")
_SELF_NOISE = Span("self-noise", "dB(A)", -20, 80, "give the A-weighted equivalent level")
_MAX_SPL = Span("maximum SPL", "dB", 60, 194, "give dB re 20 µPa from the data sheet")


def pad_db(level_dbu: float, max_input_dbu: float) -> float:
    """Pad that keeps a level within what an input takes.

    Parameters
    ----------
    level_dbu
        Level of the loudest moment. [dBu]
    max_input_dbu
        Highest level that the input takes at its lowest gain. [dBu]

    Returns
    -------
    Least attenuation needed, 0 where none is. [dB]

    Raises
    ------
    OutOfRange
        An input outside −100 to 100 dBu, or not a number.

    Sources
    -------
    Level − largest input: [definition].

    Examples
    --------
    >>> round(pad_db(14.24, max_input_dbu=10), 2)
    4.24
    """
    return max(0.0, within(float(level_dbu), _LEVEL) - within(float(max_input_dbu), _INPUT))


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


def noise_figure_db(ein_dbu: float, source_ohm: float = 150.0) -> float:
    """How much noisier a preamplifier is than the resistance it listens to.

    Parameters
    ----------
    ein_dbu
        Equivalent input noise over 20 kHz, unweighted. [dBu]
    source_ohm
        Resistance at which it is stated. [Ω]

    Returns
    -------
    Noise figure; a negative one means that the figure is weighted, or wrong. [dB]

    Raises
    ------
    OutOfRange
        A noise outside −150 to 0 dBu, a resistance of 0 or less, or not a number.

    Sources
    -------
    EIN − thermal noise at 290 K: [ThermalNoise].

    Examples
    --------
    >>> round(noise_figure_db(-128), 2)
    2.96
    """
    thermal = thermal_noise_dbu(within(float(source_ohm), _SOURCE), AUDIO_BANDWIDTH_HZ, NOISE_FIGURE_K)
    return within(float(ein_dbu), _EIN) - thermal


def signal_to_noise_dba(self_noise_dba: float) -> float:
    """Signal-to-noise ratio of a microphone as data sheets have it.

    Parameters
    ----------
    self_noise_dba
        Equivalent noise level, A-weighted. [dB(A)]

    Returns
    -------
    Ratio at 94 dB SPL. [dB(A)]

    Raises
    ------
    OutOfRange
        A self-noise outside −20 to 80 dB(A), or not a number.

    Sources
    -------
    94 − self-noise: [MicNoise], [IEC60268-4].

    Examples
    --------
    >>> signal_to_noise_dba(14)
    80.0
    """
    return PASCAL_DB - within(float(self_noise_dba), _SELF_NOISE)


def mic_dynamic_range_db(max_spl_db: float, self_noise_dba: float) -> float:
    """Dynamic range of a microphone.

    Parameters
    ----------
    max_spl_db
        Highest sound pressure level. [dB]
    self_noise_dba
        Equivalent noise level, A-weighted. [dB(A)]

    Returns
    -------
    Difference of the two. [dB]

    Raises
    ------
    OutOfRange
        A maximum outside 60 to 194 dB, a self-noise outside −20 to 80 dB(A), or not a number.

    Sources
    -------
    Maximum − self-noise: [definition].

    Examples
    --------
    >>> mic_dynamic_range_db(130, 14)
    116.0
    """
    return within(float(max_spl_db), _MAX_SPL) - within(float(self_noise_dba), _SELF_NOISE)


def half_percent_spl_db(one_percent_spl_db: float) -> float:
    """Maximum SPL at 0.5 % distortion of a microphone that is rated at 1 %.

    Parameters
    ----------
    one_percent_spl_db
        Highest sound pressure level at 1 % total harmonic distortion. [dB]

    Returns
    -------
    What to compare with microphones rated at 0.5 %. [dB]

    Raises
    ------
    OutOfRange
        A maximum outside 60 to 194 dB, or not a number.

    Sources
    -------
    6 dB lower, distortion being taken to grow with the level: [MaxSPL].

    Examples
    --------
    >>> half_percent_spl_db(140)
    134.0
    """
    return within(float(one_percent_spl_db), _MAX_SPL) - 6


def pcm_dynamic_range_db(bits: float) -> float:
    """Full-scale sine over the quantising noise of linear PCM.

    Parameters
    ----------
    bits
        Bits a sample. [bit]

    Returns
    -------
    Ratio; not the plain ratio of the largest to the smallest step, which is pcm_steps_db. [dB]

    Raises
    ------
    OutOfRange
        Bits outside 1 to 64, or not a number.

    Sources
    -------
    20·lg(2^N·√1.5), about 6.02·N + 1.76: [BitDepth].

    Examples
    --------
    >>> round(pcm_dynamic_range_db(16), 1)
    98.1
    """
    return pcm_steps_db(bits) + 10 * math.log10(1.5)


def pcm_steps_db(bits: float) -> float:
    """Plain ratio of the number of steps of linear PCM.

    Parameters
    ----------
    bits
        Bits a sample. [bit]

    Returns
    -------
    Ratio; a sine over the quantising noise is 1.76 dB more, see pcm_dynamic_range_db. [dB]

    Raises
    ------
    OutOfRange
        Bits outside 1 to 64, or not a number.

    Sources
    -------
    20·lg 2^N: [definition].

    Examples
    --------
    >>> round(pcm_steps_db(24), 2)
    144.49
    """
    return 20 * within(float(bits), _BITS) * math.log10(2)


def sine_peak_v(level_dbu: float) -> float:
    """Peak voltage of a sine of a level.

    Parameters
    ----------
    level_dbu
        Level, rms. [dBu]

    Returns
    -------
    Peak voltage; twice that from peak to peak. [V]

    Raises
    ------
    OutOfRange
        Not a number, or above 400 dB.

    Sources
    -------
    √2 · rms: [definition].

    Examples
    --------
    >>> round(sine_peak_v(24), 2)
    17.36
    """
    return math.sqrt(2) * dbu_to_volts(float(level_dbu))


@cache
def full_scales_dbu() -> Mapping[str, float]:
    """Return the levels that read 0 dBFS by the alignments in use.

    Returns
    -------
    Full scale by the name of the alignment. [dBu]

    Raises
    ------
    Nothing: the table is part of the program.

    Sources
    -------
    Alignment level less its reading: [EBUR68], [SMPTERP155].

    Examples
    --------
    >>> dict(full_scales_dbu())
    {'EBU R68': 18.0, 'SMPTE RP 155': 24.0}
    """
    return MappingProxyType(
        {
            row["name"]: float(row["alignment_dbu"]) - float(row["alignment_dbfs"])
            for row in rows("alignment_levels.csv")
        }
    )
