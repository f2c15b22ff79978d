"""The inner loops of a mix, compiled. `arrays` says the same without the compiler library, slower."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

from fieldfare.takes.wave.samples import Samples

_Loop = TypeVar("_Loop", bound=Callable[..., object])
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]


def _compiled(loop: _Loop) -> _Loop:
    return cast(_Loop, njit(cache=True, nogil=True, error_model="numpy")(loop))


@_compiled
def strip(x: Samples, section: F64, state: F64, course: F64, hop: int, left: float, right: float, out: F32) -> None:
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
    left, right
        Gain to each side.
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
        start, slope = np.float32(course[h]), np.float32((course[h + 1] - course[h]) / hop)
        one, other = np.float32(left), np.float32(right)
        for i in range(hop):
            value32 = heard[i] * (start + slope * np.float32(i))
            to_left[i] += one * value32
            to_right[i] += other * value32
    state[0], state[1], state[2], state[3] = x1, x2, y1, y2


@_compiled
def hop_peaks(x: F32, phases: F32, hop: int, out: F32) -> None:
    """Find the highest value between samples in every hop of one channel.

    Parameters
    ----------
    x
        Samples of whole hops, with half a filter more at both ends.
    phases
        The interpolating filters; shape (phases, taps).
    hop
        Samples in a hop.
    out
        Raised where the channel is higher; one for each hop.
    """
    taps = phases.shape[1]
    half = taps // 2
    values = np.empty(hop, np.float32)
    for h in range(len(out)):
        first = half + h * hop
        top = out[h]
        part = x[first : first + hop]
        for i in range(hop):
            top = max(top, abs(part[i]))
        for phase in range(len(phases)):
            values[:] = 0.0
            for tap in range(taps):  # samples inside, taps outside: a loop that the wide registers take
                gain = phases[phase, tap]
                part = x[first - half + 1 + tap : first - half + 1 + tap + hop]
                for i in range(hop):
                    values[i] += gain * part[i]
            for i in range(hop):
                top = max(top, abs(values[i]))
        out[h] = top
