"""Phantom power: its kinds, what a short draws, and what becomes of it on a passive split.

Conventions: currents are of both legs together. Feeds are ideal pairs of resistors; real inputs differ, above all when
they are switched off. Behind a transformer no phantom passes: only the direct output can power the microphone.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from fieldfare.physics._numbers import Span, within
from fieldfare.physics._tables import rows
from fieldfare.physics.lines import FEED_OHM, PHANTOM_V, parallel_ohm

_CURRENT = Span("current", "mA", 0, 1000, "give what the microphone draws in milliamperes")
_SUPPLY = Span("phantom supply", "V", 0, 100, "give the voltage before the feed resistors")
_FEED = Span("feed resistor", "Ω", 0, 1e9, "give the resistor of one leg in ohm", above=True)
_FEEDS = Span("number of feeds", "", 1, 16, "count the inputs that power the line")
_TIE = Span("tie to 0 V", "Ω", 0, 1e12, "give the resistance in ohm")


class PhantomKind(NamedTuple):
    """One kind of phantom power as the standard has it; none where no source that was seen agrees."""

    name: str
    supply_v: float
    tolerance_v: float | None
    feed_ohm: float
    most_ma: float | None


@cache
def phantom_kinds() -> Mapping[str, PhantomKind]:
    """Return the kinds of phantom power by name.

    Returns
    -------
    P48, P24, P12, P12L and SP48 with their supply, tolerance, feed resistor of one leg, and largest current.

    Raises
    ------
    Nothing: the table is part of the program.

    Sources
    -------
    [IEC61938]. The tolerances of P12 differ between texts and are left blank.

    Examples
    --------
    >>> phantom_kinds()["P48"]
    PhantomKind(name='P48', supply_v=48.0, tolerance_v=4.0, feed_ohm=6800.0, most_ma=10.0)
    """
    return MappingProxyType(
        {
            row["name"]: PhantomKind(
                row["name"],
                float(row["supply_v"]),
                float(row["tolerance_v"]) if row["tolerance_v"] else None,
                float(row["feed_ohm"]),
                float(row["most_ma"]) if row["most_ma"] else None,
            )
            for row in rows("iec_61938_2018.csv")
        }
    )


def phantom_short_ma(supply_v: float = PHANTOM_V, feed_ohm: float = FEED_OHM, feeds: int = 1) -> float:
    """Current that flows where both legs are shorted to the screen.

    Parameters
    ----------
    supply_v
        Voltage before the feed resistors. [V]
    feed_ohm
        Feed resistor of one leg. [Ω]
    feeds
        Inputs that power the line at once. [count]

    Returns
    -------
    Current of both legs together. [mA]

    Raises
    ------
    OutOfRange
        A negative supply, a feed of 0 or less, no feed, or not a number.

    Sources
    -------
    U / (R/2): [PhantomShort], "under 15 mA".

    Examples
    --------
    >>> round(phantom_short_ma(), 1)
    14.1
    """
    both_legs = within(float(feed_ohm), _FEED) / 2 / within(float(feeds), _FEEDS)
    return within(float(supply_v), _SUPPLY) / both_legs * 1000


def phantom_power_mw(supply_v: float = PHANTOM_V, feed_ohm: float = FEED_OHM) -> float:
    """Most power that a microphone can ever take from its feed.

    Parameters
    ----------
    supply_v
        Voltage before the feed resistors. [V]
    feed_ohm
        Feed resistor of one leg. [Ω]

    Returns
    -------
    Power at half the supply's voltage. [mW]

    Raises
    ------
    OutOfRange
        A negative supply, a feed of 0 or less, or not a number.

    Sources
    -------
    U² / (4·R/2): [PhantomKinds]. 240 mW, at times given for 48 V, belong to 24 V with 1.2 kΩ.

    Examples
    --------
    >>> round(phantom_power_mw())
    169
    """
    return within(float(supply_v), _SUPPLY) ** 2 / (2 * within(float(feed_ohm), _FEED)) * 1000


def phantom_y_voltage_v(current_ma: float, off_ohm: float, supply_v: float = PHANTOM_V) -> float:
    """Phantom voltage at a microphone on a plain Y of which one side is on and the other is off.

    Holds for ideal feeds of 6.81 kΩ; what an input shows when it is off differs from maker to maker.

    Parameters
    ----------
    current_ma
        What the microphone draws. [mA]
    off_ohm
        What ties the feed resistors of the side that is off to 0 V: nothing is 0, a bleeder its resistance. [Ω]
    supply_v
        Voltage of the side that is on, before its feed resistors. [V]

    Returns
    -------
    Voltage at the microphone; 0 where nothing is left. [V]

    Raises
    ------
    OutOfRange
        A negative current, resistance or supply, or not a number.

    Sources
    -------
    The two sides as one source, by Thévenin's theorem: [definition].

    Examples
    --------
    >>> round(phantom_y_voltage_v(4, off_ohm=0), 2)
    17.19
    """
    on = FEED_OHM / 2
    off = on + within(float(off_ohm), _TIE)
    open_v = within(float(supply_v), _SUPPLY) * off / (on + off)
    return max(0.0, open_v - within(float(current_ma), _CURRENT) / 1000 * parallel_ohm(on, off))


def phantom_circulating_ma(first_v: float, second_v: float) -> float:
    """Current that two phantom supplies of unequal voltage drive through one another on a plain Y.

    Parameters
    ----------
    first_v
        One supply. [V]
    second_v
        The other supply. [V]

    Returns
    -------
    Current, whichever way it flows. [mA]

    Raises
    ------
    OutOfRange
        A negative supply or not a number.

    Sources
    -------
    ΔU / (2 · R/2) with feeds of 6.81 kΩ: [definition].

    Examples
    --------
    >>> round(phantom_circulating_ma(48, 44), 3)
    0.587
    """
    return abs(within(float(first_v), _SUPPLY) - within(float(second_v), _SUPPLY)) / FEED_OHM * 1000
