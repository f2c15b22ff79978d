"""Generators: what their rating means, and what is left of it high up or in heat.

Never indoors nor in a vehicle: see cautions.py. Makers differ, so the manual of the generator at hand comes first.
"""

from __future__ import annotations

from fieldfare.physics._numbers import Span, within

_APPARENT = Span("apparent power", "VA", 0, 1e7, "give what stands on the plate")
_POWER_FACTOR = Span("power factor", "", 0, 1, "give a number from 0 to 1")
_ALTITUDE = Span("altitude", "m", -500, 6000, "give metres above the sea")
_AIR = Span("air temperature", "°C", -50, 60, "give degrees Celsius")


def real_power_w(apparent_va: float, power_factor: float) -> float:
    """Real power of a load or a supply that is rated in volt-amperes.

    Parameters
    ----------
    apparent_va
        Apparent power. [VA]
    power_factor
        Power factor, 0 to 1. [1]

    Returns
    -------
    Real power. [W]

    Raises
    ------
    OutOfRange
        A negative apparent power, a factor outside 0 to 1, or not a number.

    Sources
    -------
    S·cos φ: [definition].

    Examples
    --------
    >>> real_power_w(2000, 0.8)
    1600.0
    """
    return within(float(apparent_va), _APPARENT) * within(float(power_factor), _POWER_FACTOR)


def generator_share(altitude_m: float, air_c: float) -> float:
    """Share of its rating that a generator's alternator still gives high up or in heat.

    Makers differ: the manual of the generator at hand comes first. Its engine loses power as well.

    Parameters
    ----------
    altitude_m
        Altitude above the sea. [m]
    air_c
        Temperature of the air. [°C]

    Returns
    -------
    Share of the rating, 1 up to 1000 m and 40 °C. [1]

    Raises
    ------
    OutOfRange
        Outside −500 to 6000 m or −50 to 60 °C, or not a number.

    Sources
    -------
    3 % for each 500 m above 1000 m, 3 % for each 5 °C above 40 °C: [GeneratorTables].

    Examples
    --------
    >>> round(generator_share(2000, 50), 3)
    0.884
    """
    high = max(0.0, within(float(altitude_m), _ALTITUDE) - 1000) / 500
    hot = max(0.0, within(float(air_c), _AIR) - 40) / 5
    return (1 - 0.03 * high) * (1 - 0.03 * hot)
