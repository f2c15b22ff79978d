"""Lifting: what NIOSH recommends for a two-handed lift, and the British filter for a first look.

These are guides for healthy adults on a dry, level floor, not limits that make a lift safe; local rules, the handler's
own state and a competent person come first. cautions.py holds the sentences that go with them.

Conventions: heights are of the hands above the floor.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, NamedTuple

from fieldfare.physics._numbers import Span, within
from fieldfare.physics._tables import rows
from fieldfare.units.faults import OutOfRange

Grip = Literal["good", "fair", "poor"]

LOAD_CONSTANT_KG = 23.0
WAIST_CM = 75.0
HSE_FILTER_KG: Mapping[str, float] = MappingProxyType({"men": 25.0, "women": 16.0})  # at its best: close, at the waist

_WEIGHT = Span("weight", "kg", 0, 1000, "give the weight in kilograms")
_HORIZONTAL = Span("horizontal distance", "cm", 0, 300, "give from between the ankles to the hands", above=True)
_HEIGHT = Span("height of the hands", "cm", 0, 300, "give it above the floor, at the start of the lift")
_TRAVEL = Span("travel", "cm", 0, 300, "give how far up or down the hands go")
_TWIST = Span("twist", "°", 0, 180, "give the angle between the load and straight ahead")
_PER_MINUTE = Span("frequency", "a minute", 0, 60, "give lifts a minute")
_HOURS = Span("duration", "h", 0, 8, "give the hours of lifting, at most a working day", above=True)


@dataclass(frozen=True, slots=True)
class Lift:
    """One kind of lift, as NIOSH measures it. The defaults are the best that a lift can be."""

    horizontal_cm: float = 25.0  # from between the ankles to the hands
    height_cm: float = WAIST_CM  # of the hands, where the lift starts
    travel_cm: float = 25.0  # how far up or down
    twist_deg: float = 0.0
    per_minute: float = 0.2
    hours: float = 1.0
    grip: Grip = "good"


class Multipliers(NamedTuple):
    """What each side of a lift leaves of the load constant, 0 to 1."""

    horizontal: float
    height: float
    travel: float
    twist: float
    frequency: float
    grip: float


def multipliers(lift: Lift) -> Multipliers:
    """Multipliers of a lift: the smallest is the one to better first.

    Parameters
    ----------
    lift
        The lift: distances in cm, twist in degrees, lifts a minute, hours, grip. [cm, °, 1/min, h]

    Returns
    -------
    Six multipliers; one of 0 says that the lift should not be done by hand at all. [1]

    Raises
    ------
    OutOfRange
        A measure that no lift can have, or not a number.

    Sources
    -------
    [NIOSH94-110]: 25/H, 1 − 0.003·|V − 75|, 0.82 + 4.5/D, 1 − 0.0032·A, tables 5 and 7. Between two rows of table 5
    the next higher frequency is taken.

    Examples
    --------
    >>> multipliers(Lift(horizontal_cm=50)).horizontal
    0.5
    """
    horizontal, height = within(float(lift.horizontal_cm), _HORIZONTAL), within(float(lift.height_cm), _HEIGHT)
    travel, twist = within(float(lift.travel_cm), _TRAVEL), within(float(lift.twist_deg), _TWIST)
    return Multipliers(
        horizontal=0.0 if horizontal > 63 else min(1.0, 25 / horizontal),
        height=0.0 if height > 175 else 1 - 0.003 * abs(height - WAIST_CM),
        travel=0.0 if travel > 175 else 1.0 if travel < 25 else 0.82 + 4.5 / travel,
        twist=0.0 if twist > 135 else 1 - 0.0032 * twist,
        frequency=_frequency_multiplier(lift.per_minute, lift.hours, height),
        grip=_grip_multiplier(lift.grip, height),
    )


def _frequency_multiplier(per_minute: float, hours: float, height_cm: float) -> float:
    lifts, lasting = within(float(per_minute), _PER_MINUTE), within(float(hours), _HOURS)
    column = f"{1 if lasting <= 1 else 2 if lasting <= 2 else 8}h_{'low' if height_cm < WAIST_CM else 'high'}"
    for row in rows("niosh_94_110_table_5.csv"):
        if lifts <= float(row["per_minute"]):
            return float(row[column])
    return 0.0


def _grip_multiplier(grip: str, height_cm: float) -> float:
    table = {
        row["grip"]: float(row["low" if height_cm < WAIST_CM else "high"]) for row in rows("niosh_94_110_table_7.csv")
    }
    if grip not in table:
        raise OutOfRange(f"{grip!r} is not a grip", "grip", f"give one of {', '.join(table)}")
    return table[grip]


def recommended_kg(lift: Lift) -> float:
    """Weight that nearly all healthy workers can lift so for a working day.

    Parameters
    ----------
    lift
        The lift: distances in cm, twist in degrees, lifts a minute, hours, grip. [cm, °, 1/min, h]

    Returns
    -------
    Recommended weight limit. [kg]

    Raises
    ------
    OutOfRange
        A measure that no lift can have, or not a number.

    Sources
    -------
    23 kg times all multipliers: [NIOSH94-110].

    Examples
    --------
    >>> recommended_kg(Lift())
    23.0
    """
    return LOAD_CONSTANT_KG * math.prod(multipliers(lift))


def lifting_index(weight_kg: float, lift: Lift) -> float:
    """How many times the recommended weight a load is.

    Parameters
    ----------
    weight_kg
        Weight of the load. [kg]
    lift
        The lift: distances in cm, twist in degrees, lifts a minute, hours, grip. [cm, °, 1/min, h]

    Returns
    -------
    Lifting index; above 1 some are at risk, infinite where the lift should not be done by hand. [1]

    Raises
    ------
    OutOfRange
        A negative weight, a measure that no lift can have, or not a number.

    Sources
    -------
    Load / recommended weight limit: [NIOSH94-110].

    Examples
    --------
    >>> lifting_index(23, Lift())
    1.0
    """
    weight, recommended = within(float(weight_kg), _WEIGHT), recommended_kg(lift)
    return weight / recommended if recommended else math.inf
