"""What every formula needs: floats or arrays alike, and a number that is out of range named with its place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fieldfare.units.faults import OutOfRange

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

    @property
    def text(self) -> str:
        """The span as it stands in a message."""
        unit = f" {self.unit}" if self.unit else ""
        if self.above:
            upper = "" if self.high == math.inf else f" and at most {self.high:g}{unit}"
            return f"above {self.low:g}{unit}{upper}"
        if self.high == math.inf:
            return "a finite number" if self.low == -math.inf else f"a finite number of at least {self.low:g}{unit}"
        return f"at most {self.high:g}{unit}" if self.low == -math.inf else f"from {self.low:g} to {self.high:g}{unit}"


def within(value: Number, span: Span) -> Number:
    """Return the value; raise OutOfRange with the first one that lies outside, and its place in an array."""
    if isinstance(value, np.ndarray):
        low = value > span.low if span.above else value >= span.low
        bad = ~(low & (value <= span.high) & (value < math.inf))  # so that NaN is bad too
        if bad.any():
            place = tuple(int(i) for i in np.argwhere(bad)[0])
            _refuse(float(value[place]), span, f" {place}" if place else "")
        return value
    low_enough = value > span.low if span.above else value >= span.low
    if not (low_enough and value <= span.high and value < math.inf):
        _refuse(value, span)
    return float(value)


def listed(values: ArrayLike, span: Span) -> Floats:
    """Return a list of values as an array of floats, at least one and each within the span."""
    array = np.asarray(values, dtype=np.float64)
    if array.size == 0:
        raise OutOfRange("no value at all", span.name, "give at least one")
    return within(array, span)


def _refuse(value: float, span: Span, place: str = "") -> None:
    unit = f" {span.unit}" if span.unit else ""
    raise OutOfRange(f"{value:g}{unit} is not {span.text}", f"{span.name}{place}", span.remedy)


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
