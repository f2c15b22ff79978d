"""What crosses what on the page, for many at once. Rectangles are rows left, top, right, bottom."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldfare.sheets.drawing.marks import Point

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


def overlaps(a: Floats, b: Floats) -> Floats:
    """Area that each of (n, 4) shares with each of (m, 4). Shape (n, m)."""
    wide = np.minimum(a[:, None, 2], b[None, :, 2]) - np.maximum(a[:, None, 0], b[None, :, 0])
    high = np.minimum(a[:, None, 3], b[None, :, 3]) - np.maximum(a[:, None, 1], b[None, :, 1])
    return np.asarray(np.clip(wide, 0, None) * np.clip(high, 0, None))


def nearest(anchor: Point, rects: Floats) -> Floats:
    """The point of each of (n, 4) that is nearest to an anchor. Shape (n, 2)."""
    return np.asarray(np.clip(np.array(anchor), rects[:, :2], rects[:, 2:]))


def distances(anchor: Point, points: Floats) -> Floats:
    """How far each of (n, 2) is from an anchor. Shape (n,)."""
    return np.asarray(np.hypot(*(points - np.array(anchor)).T))


def passing(starts: Floats, ends: Floats, rects: Floats) -> Flags:
    """Which of (m, 4) each line passes through; a rectangle that holds the line's start does not count.

    Parameters
    ----------
    starts
        Where the lines begin, shape (n, 2) or (2,) for all of them.
    ends
        Where they end, shape (n, 2).
    rects
        The rectangles, shape (m, 4).

    Returns
    -------
    Shape (n, m).
    """
    origins = np.broadcast_to(starts, ends.shape)
    enter, leave = np.zeros((1, 1)), np.ones((1, 1))
    own: Flags = np.ones((1, 1), dtype=np.bool_)
    for axis in (0, 1):
        origin, way = origins[:, None, axis], (ends - origins)[:, None, axis]
        low, high = rects[None, :, axis], rects[None, :, axis + 2]
        with np.errstate(divide="ignore", invalid="ignore"):
            near, far = (low - origin) / way, (high - origin) / way
        never = (way == 0) & ((origin <= low) | (high <= origin))
        always = (way == 0) & ~never
        enter = np.maximum(enter, np.where(always, -np.inf, np.where(never, np.inf, np.minimum(near, far))))
        leave = np.minimum(leave, np.where(always, np.inf, np.where(never, -np.inf, np.maximum(near, far))))
        own = own & (low <= origin) & (origin <= high)
    return np.asarray((enter < leave) & ~own)


def crossing(start: Floats, ends: Floats, a: Floats, b: Floats) -> Flags:
    """Which lines from one start to (n, 2) cross which lines from a (k, 2) to b (k, 2). Shape (n, k)."""
    way, other = (ends - start)[:, None, :], (b - a)[None, :, :]
    side_a = _turn(way, a[None] - start)
    side_b = _turn(way, b[None] - start)
    side_start = _turn(other, start - a[None])
    side_end = _turn(other, ends[:, None, :] - a[None])
    return np.asarray((side_a * side_b < 0) & (side_start * side_end < 0))


def _turn(u: Floats, v: Floats) -> Floats:
    return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])
