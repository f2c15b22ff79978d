"""What a drawing is made of. All places and sizes in millimetres on the page, y down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fieldfare.sheets.strips import Strip

Point = tuple[float, float]
Rect = tuple[float, float, float, float]  # left, top, right, bottom

INK = "#000000"
SOFT = "#4D4D4D"
FAINT = "#C8C8C8"
PALE = "#00000012"
WHITE = "#FFFFFF"
TROUBLE = "#A9241B"


@dataclass(frozen=True, slots=True)
class Line:
    """A line or, closed, an outline."""

    points: tuple[Point, ...]
    weight: float = 0.25
    ink: str = INK
    dash: str = ""  # "dashed" or "dotted"
    closed: bool = False
    fill: str = ""
    kind: Literal["line"] = "line"


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle."""

    at: Point
    radius: float
    weight: float = 0.25
    ink: str = INK
    dash: str = ""
    fill: str = ""
    kind: Literal["disc"] = "disc"


@dataclass(frozen=True, slots=True)
class Words:
    """A piece of text by its upper left corner."""

    at: Point
    text: str
    style: Literal["name", "small", "loud", "axis"] = "small"
    width: float = 0.0  # longest line before it wraps; 0: never
    ink: str = INK
    kind: Literal["words"] = "words"


@dataclass(frozen=True, slots=True)
class Tape:
    """A tape strip by its upper left corner."""

    at: Point
    strip: Strip
    size: tuple[float, float] = (0.0, 0.0)  # as it will be set, once it has its place
    kind: Literal["tape"] = "tape"


Mark = Line | Disc | Words | Tape


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of the page: nothing in it is drawn outside its frame."""

    frame: Rect
    marks: tuple[Mark, ...]


def corners(rect: Rect) -> tuple[Point, Point, Point, Point]:
    """Return the corners of a rectangle, clockwise from the upper left."""
    left, top, right, bottom = rect
    return (left, top), (right, top), (right, bottom), (left, bottom)


def grown(rect: Rect, by: float) -> Rect:
    """Return a rectangle grown on all sides."""
    left, top, right, bottom = rect
    return left - by, top - by, right + by, bottom + by


def meets(a: Rect, b: Rect) -> bool:
    """Tell whether two rectangles share more than an edge."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def bounds(points: list[Point]) -> Rect:
    """Return the rectangle round some points."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)
