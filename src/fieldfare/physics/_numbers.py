"""What every formula needs: floats or arrays alike, and a number that is out of range named with its place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fieldfare.units.faults import OutOfRange
from fieldfare.units.text import MINUS

Floats = NDArray[np.float64]
Number = TypeVar("Number", float, Floats)  # a float gives a float, an array an array of the same shape


@dataclass(frozen=True, slots=True)
class Span:
    """What one quantity may be. Plus infinity and what is not a number never lie within."""

    name: str  # as a technician says it: "load impedance"
    unit: str
    low: float
    high: float
    remedy: str
    above: bool = False  # the low end itself is out
    below: bool = False  # the high end itself is out

    @property
    def text(self) -> str:
        """The span as it stands in a message: "from 0 Ω to 100 Ω", "above 0 m"."""
        if not (self.above or self.below) and -math.inf < self.low and self.high < math.inf:
            return f"from {self.say(self.low)} to {self.say(self.high)}"
        ends = []
        if self.low > -math.inf:
            ends.append(f"{'above' if self.above else 'at least'} {self.say(self.low)}")
        if self.high < math.inf:
            ends.append(f"{'below' if self.below else 'at most'} {self.say(self.high)}")
        return " and ".join(ends) or "a finite number"

    def say(self, value: float) -> str:
        """A value with its unit and a true minus; with all its digits where fewer would seem to lie within."""
        short = f"{value:g}"
        text = repr(value) if self.holds(float(short)) and not self.holds(value) else short
        return f"{text} {self.unit}".strip().replace("-", MINUS)

    def holds(self, value: Number) -> bool | NDArray[np.bool_]:
        """Whether a value lies within, for each element of an array."""
        low = value > self.low if self.above else value >= self.low
        high = value < self.high if self.below else value <= self.high
        return low & high & (value < math.inf)  # what is not a number holds nowhere


def within(value: Number, span: Span) -> Number:
    """Return the value; raise OutOfRange with the first one that lies outside, and its place in an array."""
    if isinstance(value, np.ndarray):
        good = span.holds(value)
        if not np.all(good):
            place = tuple(int(i) for i in np.argwhere(~np.asarray(good))[0])
            _refuse(float(value[place]), span, f" {place}" if place else "")
        return value
    if not span.holds(value):
        _refuse(value, span)
    return float(value)


def all_within(values: ArrayLike, span: Span) -> Floats:
    """Return a list of values as an array of floats, at least one and each within the span."""
    array = np.asarray(values, dtype=np.float64)
    if array.size == 0:
        raise OutOfRange("no value at all", span.name, "give at least one")
    return within(array, span)


def _refuse(value: float, span: Span, place: str = "") -> None:
    raise OutOfRange(f"{span.say(value)} is not {span.text}", f"{span.name}{place}", span.remedy)


def lg(value: Number) -> Number:
    """Return the decadic logarithm; that of 0 is minus infinity."""
    if isinstance(value, np.ndarray):
        with np.errstate(divide="ignore"):
            return np.log10(value)
    return math.log10(value) if value > 0 else -math.inf


def ten_to(value: Number) -> Number:
    """Return 10 to the power of the value."""
    return np.power(10.0, value) if isinstance(value, np.ndarray) else math.pow(10.0, value)


def root(value: Number) -> Number:
    """Return the square root."""
    return np.sqrt(value) if isinstance(value, np.ndarray) else math.sqrt(value)


def cosine(value: Number) -> Number:
    """Return the cosine of an angle in radians."""
    return np.cos(value) if isinstance(value, np.ndarray) else math.cos(value)


def sine(value: Number) -> Number:
    """Return the sine of an angle in radians."""
    return np.sin(value) if isinstance(value, np.ndarray) else math.sin(value)
