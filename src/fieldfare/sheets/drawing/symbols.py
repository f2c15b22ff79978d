"""The signs of the drawing: stage, risers, keep-clear ground, microphones with their polar curves, boxes, sockets."""

from __future__ import annotations

from collections.abc import Iterator
from math import acos, atan2, cos, hypot, pi, radians, sin

from fieldfare.physics.microphones import OMNI_SHARE, response
from fieldfare.sheets.drawing.marks import FAINT, INK, PALE, SOFT, WHITE, Disc, Line, Mark, Point, Rect, corners
from fieldfare.sheets.drawing.view import View
from fieldfare.show.kit import Pattern
from fieldfare.show.record import Place3

MIC_MM = 1.3  # radius of the microphone's circle
POLAR_MM = 6.5  # length of the polar curve on its axis
POLAR_STEPS = 120
HATCH_MM = 2.4
STEEP = 0.17  # an axis within 10° of straight up or down has no side on the plan


def outline(rect: Rect, weight: float, ink: str = INK, dash: str = "", fill: str = "") -> Line:
    """Draw a rectangle."""
    return Line(corners(rect), weight, ink, dash, closed=True, fill=fill)


def hatch(rect: Rect, ink: str = SOFT) -> Iterator[Line]:
    """Fill a rectangle with lines that rise at 45°, clipped to it."""
    left, top, right, bottom = rect
    width, height = right - left, bottom - top
    steps = int((width + height) / HATCH_MM)
    for step in range(1, steps + 1):
        along = step * HATCH_MM  # from the upper left corner along top and right, or left and bottom
        if along >= width + height:
            break
        start = (left + along, top) if along <= width else (right, top + along - width)
        end = (left, top + along) if along <= height else (left + along - height, bottom)
        yield Line((start, end), 0.15, ink)


def grid(view: View, frame: Rect, step_m: float) -> Iterator[Line]:
    """Draw the metre grid over a frame, in step with the stage's origin."""
    left, top, right, bottom = frame
    low_x, high_y = view.stage((left, top))
    high_x, low_y = view.stage((right, bottom))
    for x in _steps(low_x, high_x, step_m):
        at = view.page((x, 0))[0]
        yield Line(((at, top), (at, bottom)), 0.12, FAINT)
    for y in _steps(low_y, high_y, step_m):
        at = view.page((0, y))[1]
        yield Line(((left, at), (right, at)), 0.12, FAINT)


def _steps(low: float, high: float, step: float) -> list[float]:
    first = int(low / step) - 1
    return [n * step for n in range(first, int(high / step) + 2) if low <= n * step <= high]


def polar_curve(pattern: Pattern, aim: Place3, middle: Point) -> tuple[Point, ...]:
    """Return the pattern's polar curve round a point of the page: its cut with the level plane through the microphone.

    The length of the ray at each angle is the response there, so that a microphone that looks at the floor shows what
    it hears from around it.

    Parameters
    ----------
    pattern
        The pattern.
    aim
        Unit vector along the axis; on the page x is to the right and y up.
    middle
        Where the microphone is. [mm]
    """
    share = OMNI_SHARE[pattern]
    points = []
    for step in range(POLAR_STEPS):
        turn = 2 * pi * step / POLAR_STEPS
        along = max(-1.0, min(1.0, aim[0] * cos(turn) + aim[1] * sin(turn)))
        ray = abs(float(response(share, acos(along)))) * POLAR_MM
        points.append((middle[0] + ray * cos(turn), middle[1] - ray * sin(turn)))
    return tuple(points)


def microphone(pattern: Pattern | None, aim: Place3, middle: Point) -> Iterator[Mark]:
    """Draw the general symbol of IEC 60617, a circle with a bar at its front, over the polar curve."""
    if pattern is not None:
        yield Line(polar_curve(pattern, aim, middle), 0.2, SOFT, closed=True, fill=PALE)
    yield Disc(middle, MIC_MM, 0.35, fill=WHITE)
    if hypot(aim[0], aim[1]) < STEEP:
        yield Disc(middle, 0.35, 0.0, fill=INK)  # the axis seen from its end
        return
    turn = atan2(aim[1], aim[0])
    front = (middle[0] + MIC_MM * cos(turn), middle[1] - MIC_MM * sin(turn))
    side = (sin(turn) * 1.7, cos(turn) * 1.7)
    yield Line(((front[0] - side[0], front[1] - side[1]), (front[0] + side[0], front[1] + side[1])), 0.55)


def direct_box(middle: Point) -> Iterator[Mark]:
    """Draw a DI or line output: a square with a diagonal, one side parted from the other."""
    x, y = middle
    yield outline((x - 1.3, y - 1.3, x + 1.3, y + 1.3), 0.35, fill=WHITE)
    yield Line(((x - 1.3, y + 1.3), (x + 1.3, y - 1.3)), 0.25)


def stage_box(middle: Point) -> Line:
    """Draw a box that lines end on."""
    x, y = middle
    return outline((x - 2.6, y - 1.7, x + 2.6, y + 1.7), 0.3, fill=INK)


def house_box(middle: Point) -> Line:
    """Draw a box of the house."""
    x, y = middle
    return outline((x - 2.6, y - 1.7, x + 2.6, y + 1.7), 0.5, fill=WHITE)


def socket(middle: Point) -> Iterator[Mark]:
    """Draw a mains socket."""
    x, y = middle
    yield Disc(middle, 1.6, 0.35, fill=WHITE)
    yield Line(((x - 1.0, y), (x + 1.0, y)), 0.35)


def wedge(view: View, middle: Point, facing_deg: float) -> Line:
    """Draw a monitor loudspeaker, 0.6 m wide at its front."""
    ahead, across = 0.19 * view.mm_per_m, 0.3 * view.mm_per_m
    turn = radians(facing_deg)
    frame = ((ahead, across * 0.72), (ahead, -across * 0.72), (-ahead, -across), (-ahead, across))
    points = tuple(
        (middle[0] + a * cos(turn) - b * sin(turn), middle[1] - a * sin(turn) - b * cos(turn)) for a, b in frame
    )
    return Line(points, 0.3, fill=WHITE, closed=True)


def camera(middle: Point) -> Line:
    """Draw a camera: a triangle."""
    x, y = middle
    return Line(((x - 1.5, y + 1.3), (x + 1.5, y + 1.3), (x, y - 1.5)), 0.35, fill=WHITE, closed=True)


def scale_bar(left: float, baseline: float, unit_mm: float, count: int) -> Iterator[Mark]:
    """Draw a bar of so many units, every second one filled."""
    for step in range(count):
        box = (left + step * unit_mm, baseline - 1.4, left + (step + 1) * unit_mm, baseline)
        yield outline(box, 0.25, fill=INK if step % 2 == 0 else WHITE)
