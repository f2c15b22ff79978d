"""Stereo pairs: the differences in level and time that they give, and the angle that they take in.

Conventions: the angle between a pair is the whole one; a source is to the right of the middle by its angle, far away.
A recording angle is the whole one too, and hangs on what counts as heard fully to one side: 15 and 18 dB are both in
print, and one pair stands in print with angles that differ by 16°.
"""

from __future__ import annotations

import math

import numpy as np

from fieldfare.physics._numbers import Number, Span, sine, within
from fieldfare.physics.acoustics import speed_of_sound
from fieldfare.physics.microphones import response_db

SIDE_DB = 15.0  # alone, heard fully to one side
SIDE_MS = 1.12

_BETWEEN = Span("angle between the pair", "°", 0, 180, "give the whole angle between the two axes")
_SOURCE = Span("angle of the source", "°", -180, 180, "give it from the middle, positive to the right")
_SPACING = Span("spacing", "m", 0, 20, "give the distance between the two capsules")
_STEP_DEG = 0.01


def level_difference_db(omni_share: float, between_deg: float, source_deg: Number) -> Number:
    """By how much the right microphone of a pair hears a source louder than the left.

    Parameters
    ----------
    omni_share
        Omni share A of both, 0 to 1. [1]
    between_deg
        Angle between the two axes. [°]
    source_deg
        Angle of the source from the middle, float or array of any shape. [°]

    Returns
    -------
    Level difference, of the same shape as the source's angle; infinite in a null of the left one. [dB]

    Raises
    ------
    OutOfRange
        A share outside 0 to 1, an angle outside ±180°, or not a number.

    Sources
    -------
    20·lg of the ratio of both responses: [StereoQuestions].

    Examples
    --------
    >>> round(level_difference_db(0.5, 110, 48.0), 1)
    8.2
    """
    half, source = within(float(between_deg), _BETWEEN) / 2, within(source_deg, _SOURCE)
    if half == 0:
        return 0 * source  # parallel axes, also where both are in their null
    degree = math.pi / 180
    return response_db(omni_share, (source - half) * degree) - response_db(omni_share, (source + half) * degree)


def time_difference_ms(spacing_m: float, source_deg: Number, temperature_c: float = 20.0) -> Number:
    """By how much the right microphone of a pair hears a far source earlier than the left.

    Parameters
    ----------
    spacing_m
        Distance between the two capsules. [m]
    source_deg
        Angle of the source from the middle, float or array of any shape. [°]
    temperature_c
        Temperature of the air. [°C]

    Returns
    -------
    Time difference, of the same shape as the source's angle. [ms]

    Raises
    ------
    OutOfRange
        A spacing outside 0 to 20 m, an angle outside ±180°, or not a number.

    Sources
    -------
    Spacing · sin θ / c, the speed of [ISO9613-1].

    Examples
    --------
    >>> round(time_difference_ms(0.17, 48), 3)
    0.368
    """
    path_m = within(float(spacing_m), _SPACING) * sine(within(source_deg, _SOURCE) * (math.pi / 180))
    return 1000 * path_m / speed_of_sound(float(temperature_c))


def recording_angle_deg(
    omni_share: float, between_deg: float, spacing_m: float, temperature_c: float = 20.0
) -> float | None:
    """The whole angle that a pair takes in: what lies beyond is heard from one loudspeaker alone.

    A source is heard fully to one side where its shares of 15 dB and of 1.12 ms add up to 1. That they add is a
    simplification: it gives the pairs that are in print with these criteria to 5°. Later print has pairs of both
    differences an eighth narrower.

    Parameters
    ----------
    omni_share
        Omni share A of both, 0 to 1. [1]
    between_deg
        Angle between the two axes. [°]
    spacing_m
        Distance between the two capsules. [m]
    temperature_c
        Temperature of the air. [°C]

    Returns
    -------
    Whole recording angle, to 0.02; none where no source in front is heard fully to one side. [°]

    Raises
    ------
    OutOfRange
        A share outside 0 to 1, an angle outside 0 to 180°, a spacing outside 0 to 20 m, or not a number.

    Sources
    -------
    [StereoPreprint]: the criteria, and pairs of both differences; [StereoQuestions]: level alone.

    Examples
    --------
    >>> round(recording_angle_deg(0.5, 110, 0.17))
    109
    """
    sources = np.arange(0, 180, _STEP_DEG)
    level = level_difference_db(omni_share, between_deg, sources) / SIDE_DB
    side = level + time_difference_ms(spacing_m, sources, temperature_c) / SIDE_MS
    reached = np.flatnonzero(side >= 1)
    return float(2 * sources[reached[0]]) if reached.size else None
