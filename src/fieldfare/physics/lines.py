"""Lines: what a load, a length of cable and a split do to a signal and to phantom power.

Conventions: impedances are taken as resistances. Phantom feeds are ideal pairs of 6.81 kΩ; real inputs differ, above
all when they are switched off. A passive pickup is an inductance too, so the corner alone says too little of it.
"""

from __future__ import annotations

import math

from fieldfare.physics._numbers import Number, Span, lg, within

PHANTOM_V = 48.0  # IEC 61938, P48
FEED_OHM = 6810.0

_SOURCE = Span("source impedance", "Ω", 0, 1e9, "give the output impedance in ohm")
_LOAD = Span("load impedance", "Ω", 0, 1e12, "give the input impedance in ohm", above=True)
_RESISTANCE = Span("resistance", "Ω", 0, 1e12, "give the resistance in ohm", above=True)
_CAPACITANCE = Span("capacitance", "pF", 0, 1e12, "give length × capacitance per metre", above=True)
_FREQUENCY = Span("frequency", "Hz", 0, 1e9, "give the frequency in hertz")
_CORNER = Span("corner frequency", "Hz", 0, math.inf, "give the corner in hertz", above=True)
_CURRENT = Span("current", "mA", 0, 1000, "give what the microphone draws in milliamperes")
_TIE = Span("tie to 0 V", "Ω", 0, 1e11, "give the resistance in ohm")


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


def phantom_y_voltage_v(current_ma: float, off_ohm: float) -> float:
    """Phantom voltage at a microphone on a plain Y of which one side is on and the other is off.

    Holds for ideal feeds of 6.81 kΩ; what an input shows when it is off differs from maker to maker.

    Parameters
    ----------
    current_ma
        What the microphone draws. [mA]
    off_ohm
        What ties the feed resistors of the side that is off to 0 V: nothing is 0, a bleeder its resistance. [Ω]

    Returns
    -------
    Voltage at the microphone; 0 where nothing is left. [V]

    Raises
    ------
    OutOfRange
        A negative current or resistance, or not a number.

    Sources
    -------
    The two sides as one source, by Thévenin's theorem; supply and resistors of [IEC61938].

    Examples
    --------
    >>> round(phantom_y_voltage_v(4, off_ohm=0), 2)
    17.19
    """
    on = FEED_OHM / 2
    off = on + within(float(off_ohm), _TIE)
    open_v = PHANTOM_V * off / (on + off)
    return max(0.0, open_v - within(float(current_ma), _CURRENT) / 1000 * parallel_ohm(on, off))
