"""Mains: what a lead loses, what a circuit carries, how long a battery lasts.

Nothing here replaces the rules of the country or a licensed electrician: the cautions of cautions.py go with every use.

Conventions: resistance is of one conductor, a lead has two (there and back). Standards give the largest resistance a
conductor may have. Tables differ in temperature: IEC 60228 is at 20 °C, NEC chapter 9 table 8 at 75 °C.
"""

from __future__ import annotations

from functools import cache
from typing import Literal

from fieldfare.physics._numbers import Span, within
from fieldfare.physics._tables import rows
from fieldfare.units.faults import OutOfRange

Conductor = Literal["class 5 plain", "class 5 tinned", "class 1 or 2 plain"]

CONTINUOUS_SHARE = 0.8  # of a breaker, for three hours or more
DROP_LIMIT_PERCENT = {"lighting": 3.0, "other": 5.0}  # BS 7671 appendix 4; NEC 210.19: 3 in a branch, 5 in all
FOOT_M = 0.3048
COPPER_OHM_M = 1e-6 / 58  # annealed copper at 20 °C by the international standard, 1.7241e-8

_COLUMNS: dict[Conductor, str] = {
    "class 5 plain": "class_5_plain",
    "class 5 tinned": "class_5_tinned",
    "class 1 or 2 plain": "class_1_2_plain",
}
_COPPER_ZERO_C = -230.0  # where copper's resistance would vanish, by IEC 60228's correction

_CURRENT = Span("current", "A", 0, 1000, "give the current in ampere")
_LENGTH = Span("lead", "m", 0, 10_000, "give the length of the lead, one way, in metres")
_OHM_PER_KM = Span("conductor", "Ω/km", 0, 1e6, "give the resistance of one conductor")
_TEMPERATURE = Span("conductor temperature", "°C", -50, 250, "give degrees Celsius")
_GAUGE = Span("wire gauge", "AWG", -3, 40, "give the number of the gauge; 4/0 is −3")
_ENERGY = Span("battery", "Wh", 0, 1e7, "give what it stores in watt-hours: volts × ampere-hours")
_LOAD = Span("load", "W", 0, 1e6, "give what the rig takes in watts", above=True)
_EFFICIENCY = Span("efficiency", "", 0, 1, "give a share of 1, such as 0.9", above=True)
_DEPTH = Span("depth of discharge", "", 0, 1, "give the share of 1 that may be taken out", above=True)
_BREAKER = Span("breaker", "A", 0, 1000, "give the breaker's rating in ampere", above=True)
_VOLTAGE = Span("voltage", "V", 0, 1000, "give the mains voltage", above=True)


def conductor_ohm_per_km(conductor_mm2: float, conductor: Conductor = "class 5 plain") -> float:
    """Largest resistance that a copper conductor may have at 20 °C.

    Parameters
    ----------
    conductor_mm2
        Nominal cross-section, one that the table has. [mm²]
    conductor
        Class 5 is flexible, as in leads; class 1 and 2 are solid and stranded, as in walls. [name]

    Returns
    -------
    Resistance of one conductor. [Ω/km]

    Raises
    ------
    OutOfRange
        A cross-section that the table does not have; names those it has.

    Sources
    -------
    [IEC60228] tables 1 to 3; the values are maxima, though one page heads them "minimum".

    Examples
    --------
    >>> conductor_ohm_per_km(1.5)
    13.3
    """
    table = _iec_60228(conductor)
    if conductor_mm2 not in table:
        known = ", ".join(f"{size:g}" for size in table)
        raise OutOfRange(
            f"{conductor_mm2:g} mm² is not in the table of {conductor}", "conductor", f"give one of {known}"
        )
    return table[conductor_mm2]


@cache
def _iec_60228(conductor: Conductor) -> dict[float, float]:
    column = _COLUMNS[conductor]
    return {float(row["mm2"]): float(row[column]) for row in rows("iec_60228_2004.csv") if row[column]}


def nec_ohm_per_kft(gauge_awg: int) -> float:
    """Resistance of a copper conductor at 75 °C by the American code.

    Parameters
    ----------
    gauge_awg
        Wire gauge, one that the table has. [AWG]

    Returns
    -------
    Resistance of one conductor; at 20 °C it is lower by a fifth. [Ω/1000 ft]

    Raises
    ------
    OutOfRange
        A gauge that the table does not have; names those it has.

    Sources
    -------
    [NEC9] table 8, uncoated copper. 2.525 Ω for 14 AWG, at times quoted as this table's, is at 20 °C.

    Examples
    --------
    >>> nec_ohm_per_kft(14)
    3.07
    """
    table = {int(row["awg"]): float(row["ohm_per_kft"]) for row in rows("nec_chapter_9_table_8.csv")}
    if gauge_awg not in table:
        known = ", ".join(str(gauge) for gauge in table)
        raise OutOfRange(f"{gauge_awg} AWG is not in the table", "conductor", f"give one of {known}")
    return table[gauge_awg]


def at_temperature_ohm(resistance_ohm: float, temperature_c: float, from_c: float = 20.0) -> float:
    """Resistance of copper at another temperature.

    Parameters
    ----------
    resistance_ohm
        Resistance at the first temperature; Ω/km and Ω/1000 ft go as well. [Ω]
    temperature_c
        Temperature that is asked for. [°C]
    from_c
        Temperature at which the resistance is known. [°C]

    Returns
    -------
    Resistance at the temperature asked for. [Ω]

    Raises
    ------
    OutOfRange
        A temperature outside −50 to 250 °C, a negative resistance, or not a number.

    Sources
    -------
    (230 + t) / (230 + t0), the correction of [IEC60228] annex B: 250 / (230 + t) towards 20 °C.

    Examples
    --------
    >>> round(at_temperature_ohm(13.3, 70.0), 2)  # a flexible lead of 1.5 mm², warm
    15.96
    """
    warm, cold = within(float(temperature_c), _TEMPERATURE), within(float(from_c), _TEMPERATURE)
    return within(float(resistance_ohm), _OHM_PER_KM) * (warm - _COPPER_ZERO_C) / (cold - _COPPER_ZERO_C)


def awg_diameter_mm(gauge_awg: int) -> float:
    """Diameter of a solid wire by its American gauge.

    Parameters
    ----------
    gauge_awg
        Wire gauge; 1/0 is 0, 4/0 is −3. [AWG]

    Returns
    -------
    Diameter. [mm]

    Raises
    ------
    OutOfRange
        Outside −3 to 40, or not a number.

    Sources
    -------
    0.127 · 92^((36 − n)/39): [AWG].

    Examples
    --------
    >>> round(awg_diameter_mm(14), 3)
    1.628
    """
    return float(0.127 * 92 ** ((36 - within(float(gauge_awg), _GAUGE)) / 39))


def wire_ohm(length_m: float, conductor_mm2: float, resistivity_ohm_m: float = COPPER_OHM_M) -> float:
    """Resistance of a wire by its material and size.

    Parameters
    ----------
    length_m
        Length of the wire itself: there and back for a lead. [m]
    conductor_mm2
        Cross-section. [mm²]
    resistivity_ohm_m
        Resistivity; that of annealed copper at 20 °C where none is given. [Ω·m]

    Returns
    -------
    Resistance. [Ω]

    Raises
    ------
    OutOfRange
        A negative length, a cross-section or resistivity of 0 or less, or not a number.

    Sources
    -------
    ρ·l/A; the resistivity of copper: [AWG].

    Examples
    --------
    >>> round(wire_ohm(10.0, 1.25), 3)
    0.138
    """
    area = within(float(conductor_mm2), Span("conductor", "mm²", 0, 10_000, "give the cross-section", above=True))
    resistivity = within(float(resistivity_ohm_m), Span("resistivity", "Ω·m", 0, 1, "give ohm-metres", above=True))
    return resistivity * within(float(length_m), _LENGTH) / (area * 1e-6)


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


def table_drop_v(current_a: float, length_m: float, conductor_mm2: float) -> float:
    """Voltage that a warm two-core cable loses by the British tables.

    Parameters
    ----------
    current_a
        Current that flows. [A]
    length_m
        Length of the cable, one way. [m]
    conductor_mm2
        Cross-section, one that the table has. [mm²]

    Returns
    -------
    Voltage lost there and back. [V]

    Raises
    ------
    OutOfRange
        A negative value, a cross-section that the table does not have, or not a number.

    Sources
    -------
    [BS7671] table 4D2B, mV per A and m at 70 °C.

    Examples
    --------
    >>> round(table_drop_v(16, 30, 2.5), 2)
    8.64
    """
    table = {float(row["mm2"]): float(row["mv_per_a_m"]) for row in rows("bs_7671_table_4d2b.csv")}
    if conductor_mm2 not in table:
        known = ", ".join(f"{size:g}" for size in table)
        raise OutOfRange(f"{conductor_mm2:g} mm² is not in the table", "conductor", f"give one of {known}")
    return within(float(current_a), _CURRENT) * within(float(length_m), _LENGTH) * table[conductor_mm2] / 1000


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


def circuit_power_w(current_a: float, voltage_v: float) -> float:
    """Power that a current carries at a voltage, for a load that is a resistance.

    Parameters
    ----------
    current_a
        Current. [A]
    voltage_v
        Mains voltage. [V]

    Returns
    -------
    Power. [W]

    Raises
    ------
    OutOfRange
        A negative current, a voltage of 0 or less, or not a number.

    Sources
    -------
    U·I: [definition].

    Examples
    --------
    >>> circuit_power_w(13, 230)
    2990.0
    """
    return within(float(current_a), _CURRENT) * within(float(voltage_v), _VOLTAGE)


def battery_minutes(energy_wh: float, load_w: float, efficiency: float = 0.9, depth: float = 1.0) -> float:
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
    depth
        Share of what it stores that may be taken out. [1]

    Returns
    -------
    Time. [min]

    Raises
    ------
    OutOfRange
        A negative energy, a load of 0 or less, a share outside 0 to 1, or not a number.

    Sources
    -------
    60 · energy · depth · efficiency / load: [BatteryRunTime].

    Examples
    --------
    >>> battery_minutes(1000, 150)
    360.0
    """
    share = within(float(efficiency), _EFFICIENCY) * within(float(depth), _DEPTH)
    return 60 * within(float(energy_wh), _ENERGY) * share / within(float(load_w), _LOAD)
