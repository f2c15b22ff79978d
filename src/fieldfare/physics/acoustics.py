"""Sound in air and in rooms: speed, delay, loss by distance, critical distance, reverberation, combs.

Conventions: levels are dB SPL of a point source, distances are from its acoustic middle. Very close to something large
the law of distance gives too much. The diffuse field is taken to be the same everywhere in the room. Longer than 400
lines by its docstrings alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fieldfare.physics._numbers import Number, Span, lg, root, ten_to, within

SPEED_20_M_S = 343.2
SABINE_S_M = 24 * math.log(10) / SPEED_20_M_S  # 0.161 s/m

_CELSIUS = Span("temperature", "°C", -50, 60, "give the air's temperature in degrees Celsius")
_DISTANCE = Span("distance", "m", 0, 1e5, "give the distance in metres")
_APART = Span("distance", "m", 0, 1e5, "at the source itself the law has no answer; give a distance", above=True)
_DELAY = Span("delay", "ms", 0, 1e6, "give the delay in milliseconds", above=True)
_VOLUME = Span("room volume", "m³", 0, 1e8, "give length × width × height in metres", above=True)
_SURFACE = Span("surface", "m²", 0, 1e8, "give the area in square metres", above=True)
_REVERBERATION = Span("reverberation time", "s", 0, 60, "give the time for a fall of 60 dB", above=True)
_ABSORPTION = Span("absorption area", "m²", 0, 1e8, "give Σ area × coefficient", above=True)
_MEAN_ABSORPTION = Span(
    "mean absorption", "", 0, 1, "at 0 the room never falls silent, at 1 it never sounds", above=True, below=True
)
_COEFFICIENT = Span("absorption coefficient", "", 0, 1.25, "give a coefficient; measured ones may pass 1 a little")
_DIRECTIVITY = Span("directivity", "", 0, 1000, "give the directivity factor Q; 1 radiates alike all round", above=True)
_LEVEL = Span("level at 1 m", "dB", -math.inf, 194, "give dB re 20 µPa")
_DIFFERENCE = Span("level difference", "dB", 0, 400, "give by how much the later copy is quieter")
_RIPPLE = Span("ripple", "dB", 0, 6, "give how far the response may rise or fall", above=True)
_COUNT = Span("number", "", 1, 1e6, "count from 1")


def speed_of_sound(temperature_c: Number) -> Number:
    """Speed of sound in air of ordinary humidity.

    Holds to 0.4 % for dry to humid air from 0 to 30 °C; see air.speed_in_humid_air where that matters.

    Parameters
    ----------
    temperature_c
        Temperature of the air, float or array of any shape. [°C]

    Returns
    -------
    Speed, of the same shape. [m/s]

    Raises
    ------
    OutOfRange
        Outside −50 to 60 °C, or not a number; names the first one and its place.

    Sources
    -------
    343.2·√(T / 293.15 K): [ISO9613-1].

    Examples
    --------
    >>> round(speed_of_sound(20.0), 1), round(speed_of_sound(30.0), 1)
    (343.2, 349.0)
    """
    return SPEED_20_M_S * root((within(temperature_c, _CELSIUS) + 273.15) / 293.15)


def delay_ms(distance_m: Number, temperature_c: float) -> Number:
    """Time that sound takes over a distance.

    Parameters
    ----------
    distance_m
        Length of the path, float or array of any shape. [m]
    temperature_c
        Temperature of the air. [°C]

    Returns
    -------
    Delay, of the same shape as the distance. [ms]

    Raises
    ------
    OutOfRange
        A negative distance, a temperature outside −50 to 60 °C, or not a number.

    Sources
    -------
    1000 · distance / speed, the speed of [ISO9613-1].

    Examples
    --------
    >>> round(delay_ms(25.0, 20.0), 2)
    72.84
    """
    return 1000 * within(distance_m, _DISTANCE) / speed_of_sound(float(temperature_c))


def distance_loss_db(distance_m: Number, reference_m: float = 1.0) -> Number:
    """What a sound loses from a reference distance to another, with no room around it.

    Holds for a source that is small against the distance.

    Parameters
    ----------
    distance_m
        Distance from the source, float or array of any shape. [m]
    reference_m
        Distance at which the level is known. [m]

    Returns
    -------
    Loss, of the same shape; negative nearer than the reference. [dB]

    Raises
    ------
    OutOfRange
        A distance of 0 or less, or not a number; names the first one and its place.

    Sources
    -------
    20·lg(r / r0): [InverseSquare].

    Examples
    --------
    >>> round(distance_loss_db(2.0), 1), round(distance_loss_db(3.0), 1)
    (6.0, 9.5)
    """
    return 20 * lg(within(distance_m, _APART) / within(float(reference_m), _APART))


def absorption_m2(surfaces: Sequence[tuple[float, float]]) -> float:
    """Absorption area of a room's surfaces.

    Parameters
    ----------
    surfaces
        Area and absorption coefficient of each surface, at least one. [m², 1]

    Returns
    -------
    Equivalent absorption area. [m²]

    Raises
    ------
    OutOfRange
        No surface, an area of 0 or less, a coefficient below 0 or above 1.25, or not a number.

    Sources
    -------
    Σ area · coefficient: [RoomAcoustics] exercise on reverberation.

    Examples
    --------
    >>> absorption_m2([(100.0, 0.2), (50.0, 0.5)])
    45.0
    """
    within(float(len(surfaces)), Span("surfaces", "", 1, math.inf, "give at least one surface"))
    return sum(within(area, _SURFACE) * within(coefficient, _COEFFICIENT) for area, coefficient in surfaces)


def sabine_s(volume_m3: float, absorption_m2: float) -> float:
    """Reverberation time by Sabine: for rooms that absorb little.

    Parameters
    ----------
    volume_m3
        Volume of the room. [m³]
    absorption_m2
        Equivalent absorption area. [m²]

    Returns
    -------
    Time for a fall of 60 dB. [s]

    Raises
    ------
    OutOfRange
        0 or less, or not a number.

    Sources
    -------
    0.161·V/A, 0.161 s/m being 24·ln 10 / c at 20 °C: [RoomAcoustics].

    Examples
    --------
    >>> round(sabine_s(200.0, 79.5), 3)
    0.405
    """
    return SABINE_S_M * within(float(volume_m3), _VOLUME) / within(float(absorption_m2), _ABSORPTION)


def eyring_s(volume_m3: float, surface_m2: float, mean_absorption: float) -> float:
    """Reverberation time by Eyring: for rooms that absorb much, always shorter than Sabine's.

    Parameters
    ----------
    volume_m3
        Volume of the room. [m³]
    surface_m2
        Area of all surfaces. [m²]
    mean_absorption
        Mean absorption coefficient of the surfaces, above 0 and below 1. [1]

    Returns
    -------
    Time for a fall of 60 dB. [s]

    Raises
    ------
    OutOfRange
        0 or less, a mean absorption of 1 or more, or not a number.

    Sources
    -------
    −0.161·V / (S·ln(1 − α)): [RoomAcoustics].

    Examples
    --------
    >>> round(eyring_s(200.0, 220.0, 79.5 / 220), 3)
    0.326
    """
    decay = -math.log1p(-within(float(mean_absorption), _MEAN_ABSORPTION))
    return SABINE_S_M * within(float(volume_m3), _VOLUME) / (within(float(surface_m2), _SURFACE) * decay)


def critical_distance_m(directivity: Number, volume_m3: float, reverberation_s: float) -> Number:
    """Distance at which the direct sound and the room are equally loud.

    Parameters
    ----------
    directivity
        Directivity factor Q of source and microphone together, float or array of any shape. [1]
    volume_m3
        Volume of the room. [m³]
    reverberation_s
        Reverberation time. [s]

    Returns
    -------
    Critical distance, of the same shape as the directivity. [m]

    Raises
    ------
    OutOfRange
        0 or less, or not a number.

    Sources
    -------
    √(Q·A / 16π) with A = 0.161·V/T; printed as 0.057·√(Q·V/T): [CriticalDistance].

    Examples
    --------
    >>> round(critical_distance_m(1.0, 22 * 11 * 6, 1.4), 1)  # a shed with a band in it
    1.8
    """
    area = SABINE_S_M * within(float(volume_m3), _VOLUME) / within(float(reverberation_s), _REVERBERATION)
    return root(within(directivity, _DIRECTIVITY) * (area / (16 * math.pi)))


def diffuse_level_db(
    level_at_1m_db: Number, volume_m3: float, reverberation_s: float, directivity: float = 1.0
) -> Number:
    """Level of the room that one steady source makes, the same everywhere.

    Parameters
    ----------
    level_at_1m_db
        Level at 1 m on the source's axis with no room around it, float or array of any shape. [dB]
    volume_m3
        Volume of the room. [m³]
    reverberation_s
        Reverberation time. [s]
    directivity
        Directivity factor Q of the source. [1]

    Returns
    -------
    Level of the diffuse field as an omni hears it, of the same shape as the level at 1 m. [dB]

    Raises
    ------
    OutOfRange
        A level above 194 dB, anything else of 0 or less, or not a number.

    Sources
    -------
    The direct sound at the critical distance: [CriticalDistance].

    Examples
    --------
    >>> round(diffuse_level_db(100.0, 22 * 11 * 6, 1.4), 1)
    94.8
    """
    at_m = critical_distance_m(float(directivity), volume_m3, reverberation_s)
    return within(level_at_1m_db, _LEVEL) - distance_loss_db(at_m)


def comb_null_hz(delay_ms: float, number: int = 1) -> float:
    """Frequency of a null where a sound meets its own copy of equal level.

    Parameters
    ----------
    delay_ms
        How much later the copy comes. [ms]
    number
        Which null, counted from 1. [count]

    Returns
    -------
    Frequency; the nulls lie twice the first one apart. [Hz]

    Raises
    ------
    OutOfRange
        A delay of 0 or less, a number below 1, or not a number.

    Sources
    -------
    (2n − 1) / 2t: [MasterHandbook] pages 188 and 201.

    Examples
    --------
    >>> [comb_null_hz(1.0, n) for n in (1, 2, 3)]
    [500.0, 1500.0, 2500.0]
    """
    return (2 * within(float(number), _COUNT) - 1) * 500 / within(float(delay_ms), _DELAY)


def comb_peak_hz(delay_ms: float, number: int = 1) -> float:
    """Frequency of a peak where a sound meets its own copy.

    Parameters
    ----------
    delay_ms
        How much later the copy comes. [ms]
    number
        Which peak above 0 Hz, counted from 1. [count]

    Returns
    -------
    Frequency. [Hz]

    Raises
    ------
    OutOfRange
        A delay of 0 or less, a number below 1, or not a number.

    Sources
    -------
    n / t: [MasterHandbook] pages 188 and 201.

    Examples
    --------
    >>> comb_peak_hz(0.5)
    2000.0
    """
    return within(float(number), _COUNT) * 1000 / within(float(delay_ms), _DELAY)


def comb_ripple_db(difference_db: float) -> tuple[float, float]:
    """How far a quieter, later copy lifts and lowers the response.

    Parameters
    ----------
    difference_db
        By how much the copy is quieter. [dB]

    Returns
    -------
    Height of the peaks and depth of the dips, the dip negative, minus infinity for an equal copy. [dB]

    Raises
    ------
    OutOfRange
        A negative difference or not a number.

    Sources
    -------
    20·lg(1 ± 10^(−Δ/20)): [MasterHandbook] page 188. Its page 198 has 9 dB keep the ripple
    within 1 dB: they do not.

    Examples
    --------
    >>> [round(part, 1) for part in comb_ripple_db(9.0)]
    [2.6, -3.8]
    """
    copy = ten_to(-within(float(difference_db), _DIFFERENCE) / 20)
    return 20 * lg(1 + copy), 20 * lg(1 - copy)


def ripple_difference_db(ripple_db: float) -> tuple[float, float]:
    """By how much a copy must be quieter so that peaks, or dips, stay within a ripple.

    Parameters
    ----------
    ripple_db
        How far the response may rise, or fall. [dB]

    Returns
    -------
    Difference for the peaks and for the dips; the dips ask for more. [dB]

    Raises
    ------
    OutOfRange
        A ripple of 0 or less or above 6 dB, or not a number.

    Sources
    -------
    The ripple of [MasterHandbook] page 188, solved for the difference.

    Examples
    --------
    >>> [round(part, 1) for part in ripple_difference_db(1.0)]
    [18.3, 19.3]
    """
    ripple = within(float(ripple_db), _RIPPLE)
    return -20 * lg(ten_to(ripple / 20) - 1), -20 * lg(1 - ten_to(-ripple / 20))
