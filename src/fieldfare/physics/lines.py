"""Lines: what a load, a length of cable and a split do to a signal, and what is left of phantom power.

Conventions: impedances are taken as resistances. Phantom feeds are ideal pairs of 6.81 kΩ; real inputs differ, above
all when they are switched off. A passive pickup is an inductance too, so the corner alone says too little of it.
"""

from __future__ import annotations

import math

from fieldfare.physics._numbers import Number, Span, lg, within

PHANTOM_V = 48.0
FEED_OHM = 6810.0

_SOURCE = Span("source impedance", "Ω", 0, 1e9, "give the output impedance in ohm")
_LOAD = Span("load impedance", "Ω", 0, 1e12, "give the input impedance in ohm", above=True)
_RESISTANCE = Span("resistance", "Ω", 0, 1e12, "give the resistance in ohm", above=True)
_CAPACITANCE = Span("capacitance", "pF", 0, 1e12, "give length × capacitance per metre", above=True)
_INDUCTANCE = Span("inductance", "H", 0, 1e6, "give the inductance in henry", above=True)
_FREQUENCY = Span("frequency", "Hz", 0, 1e9, "give the frequency in hertz")
_CORNER = Span("corner frequency", "Hz", 0, math.inf, "give the corner in hertz", above=True)
_RATIO = Span("turns ratio", "", 0, 1000, "give primary turns over secondary turns", above=True)
_CURRENT = Span("current", "mA", 0, 1000, "give what the microphone draws in milliamperes")
_SUPPLY = Span("phantom supply", "V", 0, 100, "give the voltage before the feed resistors")
_FEED = Span("feed resistor", "Ω", 0, 1e9, "give the resistor of one leg in ohm", above=True)
_FEEDS = Span("number of feeds", "", 1, 16, "count the inputs that power the line")


def loading_loss_db(source_ohm: Number, load_ohm: Number) -> Number:
    """What a source loses into a load, against no load at all.

    Parameters
    ----------
    source_ohm
        Output impedance, float or array of any shape. [Ω]
    load_ohm
        Input impedance, or several in parallel, of the same shape. [Ω]

    Returns
    -------
    Loss, 0 or more, of the same shape. [dB]

    Raises
    ------
    OutOfRange
        A negative source, a load of 0 or less, or not a number; names the first one and its place.

    Sources
    -------
    −20·lg(Zl / (Zs + Zl)): [Bridging].

    Examples
    --------
    >>> round(loading_loss_db(150.0, 1500.0), 3)
    0.828
    """
    return 20 * lg(1 + within(source_ohm, _SOURCE) / within(load_ohm, _LOAD))


def parallel_ohm(*ohms: float) -> float:
    """Impedance of several loads in parallel: what a source sees through a passive split.

    Parameters
    ----------
    ohms
        Impedances, at least one. [Ω]

    Returns
    -------
    Impedance of all together. [Ω]

    Raises
    ------
    OutOfRange
        None at all, one of 0 or less, or not a number.

    Sources
    -------
    1 / Σ 1/Z: [definition].

    Examples
    --------
    >>> parallel_ohm(1500, 3000)
    1000.0
    """
    within(float(len(ohms)), Span("loads", "", 1, math.inf, "give at least one impedance"))
    return 1 / sum(1 / within(float(ohm), _LOAD) for ohm in ohms)


def split_loss_db(source_ohm: float, own_ohm: float, *others_ohm: float) -> float:
    """What a passive or transformer split costs, beyond the loss into the first input alone.

    Parameters
    ----------
    source_ohm
        Output impedance of the microphone. [Ω]
    own_ohm
        Input impedance of the first input. [Ω]
    others_ohm
        Input impedances of the other inputs that hang on the same microphone, at least one. [Ω]

    Returns
    -------
    Further loss. [dB]

    Raises
    ------
    OutOfRange
        No other input, a negative source, a load of 0 or less, or not a number.

    Sources
    -------
    Through a passive or a transformer split a microphone sees all inputs in parallel: [Splitters].

    Examples
    --------
    >>> round(split_loss_db(200, 2000, 2000), 3)
    0.756
    """
    within(float(len(others_ohm)), Span("other inputs", "", 1, math.inf, "give the input that the split goes to"))
    both = loading_loss_db(float(source_ohm), parallel_ohm(own_ohm, *others_ohm))
    return both - loading_loss_db(float(source_ohm), float(own_ohm))


def corner_hz(resistance_ohm: Number, capacitance_pf: Number) -> Number:
    """Frequency at which a cable's capacitance has taken 3 dB from a source.

    Holds for a source that is a resistance; a passive pickup is not.

    Parameters
    ----------
    resistance_ohm
        Source impedance, float or array of any shape. [Ω]
    capacitance_pf
        Capacitance of the whole length, of the same shape. [pF]

    Returns
    -------
    Corner frequency, of the same shape. [Hz]

    Raises
    ------
    OutOfRange
        0 or less, or not a number; names the first one and its place.

    Sources
    -------
    1 / (2π·R·C): [CableDamping].

    Examples
    --------
    >>> round(corner_hz(150.0, 100.0 * 100))  # 100 m at 100 pF/m
    106103
    """
    return 1e12 / (2 * math.pi * within(resistance_ohm, _RESISTANCE) * within(capacitance_pf, _CAPACITANCE))


def lowpass_loss_db(frequency_hz: Number, corner_hz: float) -> Number:
    """What a low-pass of first order takes at a frequency.

    Parameters
    ----------
    frequency_hz
        Frequency, float or array of any shape. [Hz]
    corner_hz
        Frequency at which it takes 3 dB. [Hz]

    Returns
    -------
    Loss, of the same shape as the frequency. [dB]

    Raises
    ------
    OutOfRange
        A negative frequency, a corner of 0 or less, or not a number.

    Sources
    -------
    10·lg(1 + (f/fc)²): [CableDamping].

    Examples
    --------
    >>> round(lowpass_loss_db(10_000.0, 20_000.0), 2)  # about 1 dB an octave below the corner
    0.97
    """
    return 10 * lg(1 + (within(frequency_hz, _FREQUENCY) / within(float(corner_hz), _CORNER)) ** 2)


def resonance_hz(inductance_h: float, capacitance_pf: float) -> float:
    """Resonance of a passive pickup with its cable.

    Parameters
    ----------
    inductance_h
        Inductance of the pickup. [H]
    capacitance_pf
        Capacitance of the cable and the pickup. [pF]

    Returns
    -------
    Frequency of the resonance. [Hz]

    Raises
    ------
    OutOfRange
        0 or less, or not a number.

    Sources
    -------
    1 / (2π·√(L·C)): [definition].

    Examples
    --------
    >>> round(resonance_hz(2.4, 300) / 1000, 2)
    5.93
    """
    product = within(float(inductance_h), _INDUCTANCE) * within(float(capacitance_pf), _CAPACITANCE) * 1e-12
    return 1 / (2 * math.pi * math.sqrt(product))


def reflected_ohm(load_ohm: float, turns_ratio: float) -> float:
    """Impedance that a transformer DI shows its source.

    Parameters
    ----------
    load_ohm
        What its output feeds. [Ω]
    turns_ratio
        Primary turns over secondary turns. [1]

    Returns
    -------
    Impedance at the primary. [Ω]

    Raises
    ------
    OutOfRange
        0 or less, or not a number.

    Sources
    -------
    n²·Z, an ideal transformer: [definition].

    Examples
    --------
    >>> reflected_ohm(1500, 12)
    216000.0
    """
    return within(float(load_ohm), _LOAD) * within(float(turns_ratio), _RATIO) ** 2


def transformer_loss_db(turns_ratio: float) -> float:
    """What an ideal transformer takes from a voltage.

    Parameters
    ----------
    turns_ratio
        Primary turns over secondary turns. [1]

    Returns
    -------
    Loss. [dB]

    Raises
    ------
    OutOfRange
        0 or less, or not a number.

    Sources
    -------
    20·lg n: [definition].

    Examples
    --------
    >>> round(transformer_loss_db(12), 2)
    21.58
    """
    return 20 * lg(within(float(turns_ratio), _RATIO))


def phantom_voltage_v(
    current_ma: float, supply_v: float = PHANTOM_V, feed_ohm: float = FEED_OHM, feeds: int = 1
) -> float:
    """Phantom voltage that is left at a microphone.

    Parameters
    ----------
    current_ma
        What the microphone draws, both legs together. [mA]
    supply_v
        Voltage before the feed resistors. [V]
    feed_ohm
        Feed resistor of one leg. [Ω]
    feeds
        Inputs that power the line at once, as through a passive Y with both sides on. [count]

    Returns
    -------
    Voltage at the microphone; 0 where the supply cannot give the current. [V]

    Raises
    ------
    OutOfRange
        A negative current or supply, a feed of 0 or less, no feed, or not a number.

    Sources
    -------
    U − I·R/2 with both legs in parallel; supply and resistors of [IEC61938].

    Examples
    --------
    >>> round(phantom_voltage_v(4), 2)
    34.38
    """
    both_legs = within(float(feed_ohm), _FEED) / 2 / within(float(feeds), _FEEDS)
    return max(0.0, within(float(supply_v), _SUPPLY) - within(float(current_ma), _CURRENT) / 1000 * both_legs)
