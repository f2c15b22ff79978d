"""Microphones as first-order patterns A + (1 − A)·cos θ: what they hear from where.

Conventions: the omni share A is 1 for an omni and 0 for a figure of eight. Angles are from the axis. A negative
response is heard with reversed polarity. Print uses "supercardioid" for 0.366, 0.37, 0.375 and even 0.414; here it is
0.366, the one with the greatest ratio of front to back.
"""

from __future__ import annotations

import math

from fieldfare.physics._numbers import Number, Span, cosine, lg, within

OMNI_SHARE: dict[str, float] = {
    "omni": 1.0,
    "subcardioid": 0.7,
    "cardioid": 0.5,
    "supercardioid": 0.366,
    "hypercardioid": 0.25,
    "figure of eight": 0.0,
}

_SHARE = Span("omni share", "", 0, 1, "give A of A + (1 − A)·cos θ")
_ANGLE = Span("angle", "rad", -1e6, 1e6, "give the angle from the axis in radians")


def response(omni_share: float, angle_rad: Number) -> Number:
    """Response at an angle, against that on the axis.

    Holds for first-order patterns, at frequencies where the microphone keeps its pattern.

    Parameters
    ----------
    omni_share
        Omni share A of the pattern, 0 to 1. [1]
    angle_rad
        Angle from the axis, float or array of any shape. [rad]

    Returns
    -------
    Amplitude ratio, −1 to 1; negative is reversed polarity. Same shape as the angle. [1]

    Raises
    ------
    OutOfRange
        A share below 0 or above 1, or not a number.

    Sources
    -------
    A + (1 − A)·cos θ: [MicBook] chapter 6.

    Examples
    --------
    >>> response(OMNI_SHARE["cardioid"], math.pi)
    0.0
    """
    share = within(float(omni_share), _SHARE)
    return share + (1 - share) * cosine(within(angle_rad, _ANGLE))


def response_db(omni_share: float, angle_rad: Number) -> Number:
    """Response at an angle in decibels, whatever its polarity.

    Parameters
    ----------
    omni_share
        Omni share A of the pattern, 0 to 1. [1]
    angle_rad
        Angle from the axis, float or array of any shape. [rad]

    Returns
    -------
    Level against that on the axis, minus infinity in a null. Same shape as the angle. [dB]

    Raises
    ------
    OutOfRange
        A share below 0 or above 1, or not a number.

    Sources
    -------
    20·lg |A + (1 − A)·cos θ|: [HyperPhysics] microphone patterns.

    Examples
    --------
    >>> round(response_db(OMNI_SHARE["cardioid"], math.pi / 2), 1)
    -6.0
    """
    return 20 * lg(abs(response(omni_share, angle_rad)))


def random_efficiency(omni_share: Number) -> Number:
    """Energy taken from a diffuse field, against an omni of the same on-axis sensitivity.

    Holds for first-order patterns, at frequencies where the microphone keeps its pattern.

    Parameters
    ----------
    omni_share
        Omni share A of the pattern, 0 to 1, float or array of any shape. [1]

    Returns
    -------
    Energy ratio, 0.25 to 1, of the same shape. [1]

    Raises
    ------
    OutOfRange
        A share below 0, above 1 or not a number; names the first one and its place.

    Sources
    -------
    Mean of the squared pattern over the sphere: A² + (1 − A)²/3. Values: [MicBook] table 6-1.

    Examples
    --------
    >>> random_efficiency(0.25)  # hypercardioid: the least a first-order pattern can take
    0.25
    """
    share = within(omni_share, _SHARE)
    return share**2 + (1 - share) ** 2 / 3


def null_deg(omni_share: float) -> float | None:
    """Angle at which nothing is heard: where a wedge or a neighbour belongs.

    Parameters
    ----------
    omni_share
        Omni share A of the pattern, 0 to 1. [1]

    Returns
    -------
    Angle from the axis, 90 to 180; none for a pattern that has no null. [°]

    Raises
    ------
    OutOfRange
        A share below 0, above 1 or not a number.

    Sources
    -------
    acos(−A / (1 − A)): [HyperPhysics] microphone patterns.

    Examples
    --------
    >>> round(null_deg(OMNI_SHARE["hypercardioid"])), null_deg(OMNI_SHARE["omni"])
    (109, None)
    """
    share = within(float(omni_share), _SHARE)
    return math.degrees(math.acos(-share / (1 - share))) if share <= 0.5 else None
