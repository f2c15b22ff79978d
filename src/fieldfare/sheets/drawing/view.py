"""From metres on the stage to millimetres on the page: a standard scale that fits, and where all lies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fieldfare.sheets.drawing.marks import Point, Rect, bounds, meets
from fieldfare.show.record import Place

SCALES = (25, 50, 100, 200, 500, 1000)
BORDER_MM = 16.0  # kept free round the stage for names
GAP_MM = 3.0


@dataclass(frozen=True, slots=True)
class View:
    """A scale, and where the stage's origin lies on the page."""

    scale: int
    origin: Point

    @property
    def mm_per_m(self) -> float:
        """How long a metre is on the page. [mm]"""
        return 1000 / self.scale

    def page(self, place: Place) -> Point:
        """Return where a place of the stage lies on the page."""
        return self.origin[0] + place[0] * self.mm_per_m, self.origin[1] - place[1] * self.mm_per_m

    def rect(self, at: Place, size_m: tuple[float, float]) -> Rect:
        """Return a rectangle of the stage, given by its middle and size, on the page."""
        x, y = self.page(at)
        half_x, half_y = size_m[0] / 2 * self.mm_per_m, size_m[1] / 2 * self.mm_per_m
        return x - half_x, y - half_y, x + half_x, y + half_y

    def stage(self, point: Point) -> Place:
        """Return which place of the stage lies at a point of the page."""
        return (point[0] - self.origin[0]) / self.mm_per_m, (self.origin[1] - point[1]) / self.mm_per_m


@dataclass(frozen=True, slots=True)
class Layout:
    """The page: the main view, and the overview where something lies too far off for the main view."""

    main: View
    inset: View | None
    inset_frame: Rect | None


def lay_out(frame: Rect, near: Sequence[Place], far: Sequence[Place], kept_free: Sequence[Rect] = ()) -> Layout:
    """Choose the largest standard scale at which the stage fits with what belongs to it.

    Parameters
    ----------
    frame
        The part of the page that is free. [mm]
    near
        Corners of the stage and of all that must be in the main view. [m]
    far
        Places that an overview must hold as well, where they do not fit in the main view. [m]
    kept_free
        Parts of the page that the stage may not cover. [mm]
    """
    for scale in SCALES:
        views = [view for view in _centred(frame, near, scale) if not _any_meets(_bounds(view, near), kept_free)]
        for main in views:
            if not far or _inside(frame, _bounds(main, [*near, *far])):
                return Layout(main, None, None)
        for inset, inset_frame in _insets(frame, [*near, *far], scale):
            for main in views:
                if not _any_meets(inset_frame, [_bounds(main, near), *kept_free]):
                    return Layout(main, inset, inset_frame)
    return Layout(next(_centred(frame, near, SCALES[-1], must_fit=False)), None, None)


def _any_meets(rect: Rect, others: Sequence[Rect]) -> bool:
    return any(meets(rect, other) for other in others)


def _centred(frame: Rect, near: Sequence[Place], scale: int, *, must_fit: bool = True) -> Iterator[View]:
    """Views with the stage in the middle, then towards the sides, as long as it fits with its border."""
    left, top, right, bottom = _bounds(View(scale, (0, 0)), near)
    room_x = (frame[2] - frame[0]) - (right - left) - 2 * BORDER_MM
    room_y = (frame[3] - frame[1]) - (bottom - top) - 2 * BORDER_MM
    if must_fit and (room_x < 0 or room_y < 0):
        return
    for share_x in (0.5, 0.25, 0.75, 0.0, 1.0):
        for share_y in (0.5, 1.0, 0.0):
            x = frame[0] + BORDER_MM + room_x * share_x - left
            y = frame[1] + BORDER_MM + room_y * share_y - top
            yield View(scale, (round(x, 2), round(y, 2)))


def _insets(frame: Rect, places: Sequence[Place], main_scale: int) -> Iterator[tuple[View, Rect]]:
    """Overviews in the four corners of the page, the largest first."""
    for scale in (one for one in SCALES if one > main_scale):
        left, top, right, bottom = _bounds(View(scale, (0, 0)), places)
        width, height = max(right - left, 34.0) + 8.0, bottom - top + 13.0
        for corner_x, corner_y in ((1, 1), (0, 1), (1, 0), (0, 0)):
            x = frame[2] - width - GAP_MM if corner_x else frame[0] + GAP_MM
            y = frame[3] - height - GAP_MM if corner_y else frame[1] + GAP_MM
            box = (x, y, x + width, y + height)
            origin = (round(x + 4.0 - left, 2), round(y + 9.0 - top, 2))
            if _inside(frame, box):
                yield View(scale, origin), box


def _bounds(view: View, places: Sequence[Place]) -> Rect:
    return bounds([view.page(place) for place in places])


def _inside(frame: Rect, rect: Rect) -> bool:
    return rect[0] >= frame[0] and rect[1] >= frame[1] and rect[2] <= frame[2] and rect[3] <= frame[3]
