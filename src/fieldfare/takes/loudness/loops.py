"""The inner loops of loudness, compiled. `arrays` says the same without the compiler library, slower."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

from fieldfare.takes.measure.grain import F32, F64, I64
from fieldfare.takes.wave.samples import Samples

_Loop = TypeVar("_Loop", bound=Callable[..., object])
_STEP = 64


def _compiled(loop: _Loop) -> _Loop:
    return cast(_Loop, njit(cache=True, nogil=True, error_model="numpy")(loop))


@_compiled
def weigh(x: Samples, filters: F64, state: F64, cuts: I64, out: F64) -> None:
    """Send samples through both filters and sum their squares from cut to cut.

    Parameters
    ----------
    x
        Shape (frames, channels).
    filters
        Shelf and high-pass: b0, b1, b2, a1, a2 of each; shape (2, 5).
    state
        Of both filters, four values a channel, changed in place; shape (4, channels).
    cuts
        First frame of every stretch, and the frame after the last.
    out
        Sums of squares; shape (stretches, channels).
    """
    if x.shape[1] == 1:
        _weigh_one(x[:, 0], filters, state, cuts, out)
        return
    b0, b1, b2, a1, a2 = filters[0]
    c1, c2 = filters[1, 3], filters[1, 4]
    s0, s1, s2, s3 = state[0], state[1], state[2], state[3]
    for stretch in range(len(cuts) - 1):
        total = out[stretch]
        total[:] = 0.0
        for i in range(cuts[stretch], cuts[stretch + 1]):
            row = x[i]
            for c in range(len(row)):  # side by side, so that no channel waits for its own last result
                value = np.float64(row[c])
                y = b0 * value + s0[c]
                s0[c] = b1 * value - a1 * y + s1[c]
                s1[c] = b2 * value - a2 * y
                z = y + s2[c]
                s2[c] = -2.0 * y - c1 * z + s3[c]
                s3[c] = y - c2 * z
                total[c] += z * z
        for c in range(len(s0)):
            if abs(s0[c]) + abs(s2[c]) < 1e-25:  # silence: keep clear of numbers that are slow to reckon with
                s0[c] = s1[c] = s2[c] = s3[c] = 0.0


@_compiled
def _weigh_one(x: NDArray[Any], filters: F64, state: F64, cuts: I64, out: F64) -> None:
    """Do the same for one channel, with all that is remembered kept in registers."""
    b0, b1, b2, a1, a2 = filters[0]
    c1, c2 = filters[1, 3], filters[1, 4]
    s0, s1, s2, s3 = state[0, 0], state[1, 0], state[2, 0], state[3, 0]
    for stretch in range(len(cuts) - 1):
        total = 0.0
        for i in range(cuts[stretch], cuts[stretch + 1]):
            value = np.float64(x[i])
            y = b0 * value + s0
            s0 = b1 * value - a1 * y + s1
            s1 = b2 * value - a2 * y
            z = y + s2
            s2 = -2.0 * y - c1 * z + s3
            s3 = y - c2 * z
            total += z * z
        out[stretch, 0] = total
        if abs(s0) + abs(s2) < 1e-25:
            s0 = s1 = s2 = s3 = 0.0
    state[0, 0], state[1, 0], state[2, 0], state[3, 0] = s0, s1, s2, s3


@_compiled
def highest(x: F32, phases: F32, bound: float, best: float) -> tuple[float, int]:
    """Find the highest value between the samples of one channel, where it passes what was found before.

    Parameters
    ----------
    x
        Samples, with half a filter of them more at both ends.
    phases
        The interpolating filters; shape (phases, taps).
    bound
        Most that a filter can raise the highest sample by.
    best
        What was found before.

    Returns
    -------
    The highest value, and the place of the sample at or before it; -1 where nothing passed what was found before.
    """
    taps = phases.shape[1]
    half = taps // 2
    at = -1
    values = np.empty(_STEP, np.float32)
    for start in range(half, len(x) - half, _STEP):
        end = min(start + _STEP, len(x) - half)
        near = np.float32(0.0)
        for value in x[start - half : end + half]:
            near = max(near, abs(value))
        if near * bound <= best:
            continue
        for phase in range(len(phases) + 1):
            count = end - start
            if phase:
                values[:] = 0.0
                for tap in range(taps):  # samples inside, taps outside: a loop that the wide registers take
                    gain = phases[phase - 1, tap]
                    part = x[start - half + 1 + tap : start - half + 1 + tap + count]
                    for i in range(count):
                        values[i] += gain * part[i]
            else:
                values[:count] = x[start:end]
            for i in range(count):
                if abs(values[i]) > best:
                    best, at = float(abs(values[i])), start + i - half
    return best, at
