"""The inner loops of a mix, compiled. `arrays` says the same without the compiler library, slower."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.compiler import compiled
from fieldfare.takes.wave.samples import Samples

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]


@compiled
def _add(heard: F32, begin: float, end: float, left: float, right: float, to_left: F32, to_right: F32) -> None:
    """Add a hop to both sides, its gain on a straight line."""
    start, slope = np.float32(begin), np.float32((end - begin) / len(heard))
    one, other = np.float32(left), np.float32(right)
    for i in range(len(heard)):
        value = heard[i] * (start + slope * np.float32(i))
        to_left[i] += one * value
        to_right[i] += other * value


@compiled
def strip(x: Samples, section: F64, state: F64, course: F64, hop: int, sides: F64, out: F32) -> None:
    """Send one track through its filter and add it to both sides of the mix.

    Parameters
    ----------
    x
        Samples of the track at any scale, whole hops; shape (frames,).
    section
        High-pass: b0, b1, b2, a1, a2.
    state
        Of the filter, its last two samples in and out, changed in place; shape (4,).
    course
        Gain at the start of every hop and at the end of the last; straight lines between.
    hop
        Samples in a hop.
    sides
        Gain to the left and to the right.
    out
        The mix, added to; shape (2, frames).
    """
    b0, b1, b2, a1, a2 = section[0], section[1], section[2], section[3], section[4]
    x1, x2, y1, y2 = state[0], state[1], state[2], state[3]
    heard = np.empty(hop, np.float32)
    for h in range(len(course) - 1):
        part = x[h * hop : h * hop + hop]
        for i in range(hop):
            value = np.float64(part[i])
            y = (b0 * value + b1 * x1 + b2 * x2 - a2 * y2) - a1 * y1  # only the last term waits for the one before
            x2, x1, y2, y1 = x1, value, y1, y
            heard[i] = y
        if abs(y1) + abs(y2) < 1e-25:  # silence: keep clear of numbers that are slow to reckon with
            y1, y2 = 0.0, 0.0
        to_left, to_right = out[0, h * hop : h * hop + hop], out[1, h * hop : h * hop + hop]
        _add(heard, course[h], course[h + 1], sides[0], sides[1], to_left, to_right)
    state[0], state[1], state[2], state[3] = x1, x2, y1, y2


@compiled
def strip_pair(
    x: Samples, z: Samples, sections: F64, states: F64, courses: F64, hop: int, sides: F64, out: F32
) -> None:
    """Do the same for two tracks at once: while one waits for its last sample, the other goes on."""
    b0, b1, b2, a1, a2 = sections[0, 0], sections[0, 1], sections[0, 2], sections[0, 3], sections[0, 4]
    d0, d1, d2, c1, c2 = sections[1, 0], sections[1, 1], sections[1, 2], sections[1, 3], sections[1, 4]
    x1, x2, y1, y2 = states[0, 0], states[0, 1], states[0, 2], states[0, 3]
    z1, z2, w1, w2 = states[1, 0], states[1, 1], states[1, 2], states[1, 3]
    heard, other = np.empty(hop, np.float32), np.empty(hop, np.float32)
    for h in range(courses.shape[1] - 1):
        part, apart = x[h * hop : h * hop + hop], z[h * hop : h * hop + hop]
        for i in range(hop):
            value = np.float64(part[i])
            y = (b0 * value + b1 * x1 + b2 * x2 - a2 * y2) - a1 * y1
            x2, x1, y2, y1 = x1, value, y1, y
            heard[i] = y
            value = np.float64(apart[i])
            y = (d0 * value + d1 * z1 + d2 * z2 - c2 * w2) - c1 * w1
            z2, z1, w2, w1 = z1, value, w1, y
            other[i] = y
        if abs(y1) + abs(y2) < 1e-25:
            y1, y2 = 0.0, 0.0
        if abs(w1) + abs(w2) < 1e-25:
            w1, w2 = 0.0, 0.0
        to_left, to_right = out[0, h * hop : h * hop + hop], out[1, h * hop : h * hop + hop]
        _add(heard, courses[0, h], courses[0, h + 1], sides[0, 0], sides[0, 1], to_left, to_right)
        _add(other, courses[1, h], courses[1, h + 1], sides[1, 0], sides[1, 1], to_left, to_right)
    states[0, 0], states[0, 1], states[0, 2], states[0, 3] = x1, x2, y1, y2
    states[1, 0], states[1, 1], states[1, 2], states[1, 3] = z1, z2, w1, w2


@compiled
def limit(x: F32, first: int, course: F32, hop: int, gain: float, out: F32) -> None:
    """Send samples through the limiter's course and a gain.

    Parameters
    ----------
    x
        Shape (frames, 2).
    first
        Place of the first of them on the course.
    course
        Gain at every point, so many samples apart as `hop` says; straight lines between, the last one held.
    hop
        Samples between two points.
    gain
        On top.
    out
        What comes of it; shape (frames, 2).
    """
    level, last = np.float32(gain), len(course) - 1
    for i in range(len(x)):
        at = (first + i) / hop
        point = min(int(at), last)
        here = np.float64(course[point])
        if point < last:
            here += (np.float64(course[point + 1]) - here) * (at - point)
        now = np.float32(here) * level
        out[i, 0] = x[i, 0] * now
        out[i, 1] = x[i, 1] * now
