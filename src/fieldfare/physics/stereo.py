"""Stereo pairs: the differences in level and time they give, and the angle they cover.

Conventions: the angle between a pair is the whole one; a source is to the right of the middle by its angle, far away.
A recording angle is the whole one too. Without its criterion it means nothing: 15 and 18 dB are both in use, and one
array stands in print with angles that differ by 16°.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from fieldfare.physics._numbers import Number, Span, within
from fieldfare.physics._tables import rows
from fieldfare.physics.acoustics import speed_of_sound
from fieldfare.physics.microphones import response_db

_BETWEEN = Span("angle between the pair", "°", 0, 180, "give the whole angle between the two axes")
_SOURCE = Span("angle of the source", "°", -180, 180, "give it from the middle, positive to the right")
_SPACING = Span("spacing", "m", 0, 20, "give the distance between the two capsules")
_APART = Span("spacing", "m", 0, 20, "two capsules in one place give no difference in time", above=True)
_CRITERION = Span("criterion", "dB", 0, 60, "give the level difference that is heard as fully to one side", above=True)
_TIME = Span("time difference", "ms", 0, 1000, "give the time that is heard as fully to one side", above=True)
_STEP_DEG = 0.01


class StereoArray(NamedTuple):
    """A stereo pair as printed, with its recording angle and the source of that."""

    name: str
    omni_share: float
    spacing_m: float
    angle_deg: float
    recording_angle_deg: float
    source: str


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


def time_difference_ms(spacing_m: float, source_deg: float, temperature_c: float = 20.0) -> float:
    """By how much the right microphone of a pair hears a far source earlier than the left.

    Parameters
    ----------
    spacing_m
        Distance between the two capsules. [m]
    source_deg
        Angle of the source from the middle. [°]
    temperature_c
        Temperature of the air. [°C]

    Returns
    -------
    Time difference. [ms]

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
    path_m = within(float(spacing_m), _SPACING) * math.sin(math.radians(within(float(source_deg), _SOURCE)))
    return 1000 * path_m / speed_of_sound(float(temperature_c))


def coincident_angle_deg(omni_share: float, between_deg: float, criterion_db: float) -> float | None:
    """Recording angle of a coincident pair.

    Parameters
    ----------
    omni_share
        Omni share A of both, 0 to 1. [1]
    between_deg
        Angle between the two axes. [°]
    criterion_db
        Level difference that is heard as fully to one side, 15 or 18 as a rule. [dB]

    Returns
    -------
    Whole recording angle, to 0.02; none where the pair never gives that difference. [°]

    Raises
    ------
    OutOfRange
        A share outside 0 to 1, an angle outside 0 to 180°, a criterion of 0 or less, or not a number.

    Sources
    -------
    Twice the first angle at which the level difference reaches the criterion: [StereoQuestions].

    Examples
    --------
    >>> round(coincident_angle_deg(0.5, 90, criterion_db=18))
    196
    """
    criterion = within(float(criterion_db), _CRITERION)
    sources = np.arange(0, 180, _STEP_DEG)
    reached = np.flatnonzero(level_difference_db(omni_share, between_deg, sources) >= criterion)
    return float(2 * sources[reached[0]]) if reached.size else None


def spaced_angle_deg(spacing_m: float, time_ms: float, temperature_c: float = 20.0) -> float | None:
    """Recording angle of two spaced omnis.

    Parameters
    ----------
    spacing_m
        Distance between the two capsules. [m]
    time_ms
        Time difference that is heard as fully to one side. [ms]
    temperature_c
        Temperature of the air. [°C]

    Returns
    -------
    Whole recording angle; none where the pair never gives that difference. [°]

    Raises
    ------
    OutOfRange
        A spacing or a time of 0 or less, or not a number.

    Sources
    -------
    2·asin(c·Δt / spacing): [definition].

    Examples
    --------
    >>> round(spaced_angle_deg(0.5, 1.12), 1)
    100.5
    """
    sine = speed_of_sound(float(temperature_c)) * within(float(time_ms), _TIME) / 1000
    sine /= within(float(spacing_m), _APART)
    return 2 * math.degrees(math.asin(sine)) if sine <= 1 else None


@cache
def stereo_arrays() -> Mapping[str, StereoArray]:
    """Return the stereo pairs with a name, with their recording angles as printed.

    Returns
    -------
    Pattern, spacing, angle and recording angle by name. [1, m, °, °]

    Raises
    ------
    Nothing: the table is part of the program.

    Sources
    -------
    [StereoQuestions], [StereoTabulation]. [StereoPreprint] prints other angles for the same arrays.

    Examples
    --------
    >>> stereo_arrays()["ORTF"].recording_angle_deg
    96.0
    """
    return MappingProxyType(
        {
            row["name"]: StereoArray(
                row["name"],
                float(row["omni_share"]),
                float(row["spacing_m"]),
                float(row["angle_deg"]),
                float(row["recording_angle_deg"]),
                row["source"],
            )
            for row in rows("stereo_arrays.csv")
        }
    )
