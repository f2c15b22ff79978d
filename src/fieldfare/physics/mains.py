"""Mains: what a lead loses, what a circuit or a generator carries, how long a battery lasts.

Nothing here replaces the rules of the country or a licensed electrician: the cautions of cautions.py go with every use.

Conventions: resistance is of one conductor at 20 °C, a lead has two (there and back). The standard gives the largest
resistance a conductor may have. Makers of generators differ, so the manual of the one at hand comes first.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from fieldfare.physics._numbers import Span, within
from fieldfare.physics._tables import rows

CONTINUOUS_SHARE = 0.8  # of a breaker, for three hours or more
COPPER_OHM_MM2_KM = 1000 / 58  # annealed copper at 20 °C by the international standard: 1.7241e-8 Ω·m
FLEXIBLE_OHM_PER_KM: Mapping[float, float] = MappingProxyType(
    {float(row["mm2"]): float(row["ohm_per_km"]) for row in rows("iec_60228_2004.csv")}
)

_CURRENT = Span("current", "A", 0, 1000, "give the current in ampere")
_AREA = Span("conductor", "mm²", 0, 10_000, "give the cross-section of one conductor", above=True)
_LENGTH = Span("lead", "m", 0, 10_000, "give the length of the lead, one way, in metres")
_OHM_PER_KM = Span("conductor", "Ω/km", 0, 1e6, "give the resistance of one conductor")
_ENERGY = Span("battery", "Wh", 0, 1e7, "give what it stores in watt-hours: volts × ampere-hours")
_LOAD = Span("load", "W", 0, 1e6, "give what the rig takes in watts", above=True)
_EFFICIENCY = Span("efficiency", "", 0, 1, "give a share of 1, such as 0.9", above=True)
_APPARENT = Span("apparent power", "VA", 0, 1e7, "give what stands on the plate")
_POWER_FACTOR = Span("power factor", "", 0, 1, "give a number from 0 to 1")
_ALTITUDE = Span("altitude", "m", -500, 6000, "give metres above the sea")
_AIR = Span("air temperature", "°C", -50, 60, "give degrees Celsius")
_BREAKER = Span("breaker", "A", 0, 1000, "give the breaker's rating in ampere", above=True)


def conductor_ohm_per_km(conductor_mm2: float) -> float:
    """Largest resistance that a conductor of a flexible lead may have at 20 °C.

    Parameters
    ----------
    conductor_mm2
        Cross-section; one that the metric table does not have, such as that of a wire gauge, is reckoned. [mm²]

    Returns
    -------
    Resistance of one conductor. [Ω/km]

    Raises
    ------
    OutOfRange
        A cross-section of 0 or less, or not a number.

    Sources
    -------
    [IEC60228] table 3, whose values are maxima, though one page heads them "minimum"; outside it 1000·ρ/A with the
    resistivity of copper, 1/58 Ω·mm²/m: [AWG].

    Examples
    --------
    >>> conductor_ohm_per_km(1.5), round(conductor_ohm_per_km(2.08), 2)  # the second is 14 AWG
    (13.3, 8.29)
    """
    area = within(float(conductor_mm2), _AREA)
    return FLEXIBLE_OHM_PER_KM.get(area) or COPPER_OHM_MM2_KM / area


def voltage_drop_v(current_a: float, length_m: float, ohm_per_km: float) -> float:
    """Voltage that a lead of two conductors loses.

    Parameters
    ----------
    current_a
        Current that flows. [A]
    length_m
        Length of the lead, one way. [m]
    ohm_per_km
        Resistance of one conductor. [Ω/km]

    Returns
    -------
    Voltage lost there and back. [V]

    Raises
    ------
    OutOfRange
        A negative value or not a number.

    Sources
    -------
    2·I·l·r: [definition].

    Examples
    --------
    >>> round(voltage_drop_v(10, 50, conductor_ohm_per_km(1.5)), 2)
    13.3
    """
    resistance = 2 * within(float(length_m), _LENGTH) / 1000 * within(float(ohm_per_km), _OHM_PER_KM)
    return within(float(current_a), _CURRENT) * resistance


def continuous_limit_a(breaker_a: float) -> float:
    """Current that a circuit may carry for three hours or more.

    Parameters
    ----------
    breaker_a
        Rating of the breaker. [A]

    Returns
    -------
    Four fifths of the rating. [A]

    Raises
    ------
    OutOfRange
        0 or less, or not a number.

    Sources
    -------
    [NEC210] sections 19 and 20: 125 % of a continuous load. Elsewhere a rule of prudence.

    Examples
    --------
    >>> continuous_limit_a(20)
    16.0
    """
    return within(float(breaker_a), _BREAKER) * CONTINUOUS_SHARE


def battery_minutes(energy_wh: float, load_w: float, efficiency: float) -> float:
    """Time that a battery carries a load.

    Holds for a fresh battery at room temperature and a load that takes many minutes to empty it; a lead battery gives
    less the faster it is emptied.

    Parameters
    ----------
    energy_wh
        What it stores. [Wh]
    load_w
        What the rig takes. [W]
    efficiency
        Share that passes the inverter. [1]

    Returns
    -------
    Time. [min]

    Raises
    ------
    OutOfRange
        A negative energy, a load of 0 or less, a share outside 0 to 1, or not a number.

    Sources
    -------
    60 · energy · efficiency / load: [BatteryRunTime].

    Examples
    --------
    >>> battery_minutes(1000, 150, efficiency=0.9)
    360.0
    """
    return (
        60 * within(float(energy_wh), _ENERGY) * within(float(efficiency), _EFFICIENCY) / within(float(load_w), _LOAD)
    )


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
