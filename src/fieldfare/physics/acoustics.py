"""Sound in air and in rooms: speed, delay, loss by distance, critical distance, diffuse field.

Conventions: levels are dB SPL of a point source, distances are from its acoustic middle. Very close to something large
the law of distance gives too much. The diffuse field is taken to be the same everywhere in the room.
"""

from __future__ import annotations

import math

from fieldfare.physics._numbers import Number, Span, lg, root, within

SPEED_20_M_S = 343.2
USUAL_C = 20.0  # of air, where nobody has said; 10 °C more shift a delay by 1.7 %
NEAREST_M = 0.05  # closer than this a source is no point, and the law of distance gives too much
SABINE_S_M = 24 * math.log(10) / SPEED_20_M_S  # 0.161 s/m

_CELSIUS = Span("temperature", "°C", -50, 60, "give the air's temperature in degrees Celsius")
_DISTANCE = Span("distance", "m", 0, 1e5, "give the distance in metres")
_APART = Span("distance", "m", 0, 1e5, "at the source itself the law has no answer; give a distance", above=True)
_VOLUME = Span("room volume", "m³", 0, 1e8, "give length × width × height in metres", above=True)
_REVERBERATION = Span("reverberation time", "s", 0, 60, "give the time for a fall of 60 dB", above=True)
_DIRECTIVITY = Span("directivity", "", 0, 1000, "give the directivity factor Q; 1 radiates alike all round", above=True)
_LEVEL = Span("level at 1 m", "dB", -math.inf, 194, "give dB re 20 µPa")


def speed_of_sound(temperature_c: Number) -> Number:
    """Speed of sound in air of ordinary humidity.

    Holds to 0.4 % for dry to humid air from 0 to 30 °C.

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


def distance_loss_db(distance_m: Number) -> Number:
    """What a sound loses from 1 m to another distance, with no room around it.

    Holds for a source that is small against the distance.

    Parameters
    ----------
    distance_m
        Distance from the source, float or array of any shape. [m]

    Returns
    -------
    Loss, of the same shape; negative nearer than 1 m. [dB]

    Raises
    ------
    OutOfRange
        A distance of 0 or less, or not a number; names the first one and its place.

    Sources
    -------
    20·lg(r / 1 m): [InverseSquare].

    Examples
    --------
    >>> round(distance_loss_db(2.0), 1), round(distance_loss_db(3.0), 1)
    (6.0, 9.5)
    """
    return 20 * lg(within(distance_m, _APART))


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
