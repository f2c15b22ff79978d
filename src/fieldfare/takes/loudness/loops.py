"""The inner loops of loudness, compiled. `arrays` says the same without the compiler library, slower."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.compiler import compiled
from fieldfare.takes.measure.grain import F32, F64, I64
from fieldfare.takes.wave.samples import Samples

_STEP = 64
_LONG = 256
_MANY = 8  # channels that are worth laying beside one another
_MAGNITUDE = 0x7FFFFFFF  # all bits of a float32 but its sign
_ROUNDED = 1 + 1e-5  # float32 rounds


@compiled
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
    if x.shape[1] < _MANY:
        for c in range(x.shape[1]):
            _weigh_one(x[:, c], filters, state[:, c], cuts, out[:, c])
    else:
        _weigh_many(x, filters, state, cuts, out)


@compiled
def _weigh_many(x: Samples, filters: F64, state: F64, cuts: I64, out: F64) -> None:
    """Do so for channels side by side, so that none waits for its own last result."""
    b0, b1, b2, a1, a2 = filters[0]
    c1, c2 = filters[1, 3], filters[1, 4]
    s0, s1, s2, s3 = state[0], state[1], state[2], state[3]
    tile = np.empty((_STEP, x.shape[1]), np.float64)
    for stretch in range(len(cuts) - 1):
        total = out[stretch]
        total[:] = 0.0
        for first in range(cuts[stretch], cuts[stretch + 1], _STEP):
            count = min(_STEP, cuts[stretch + 1] - first)
            for c in range(x.shape[1]):  # channels beside one another, however they come
                for i in range(count):
                    tile[i, c] = x[first + i, c]
            for i in range(count):
                row = tile[i]
                for c in range(len(row)):
                    value = row[c]
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


@compiled
def _weigh_one(x: NDArray[Any], filters: F64, state: F64, cuts: I64, out: F64) -> None:
    """Do the same for one channel, with all that is remembered kept in registers."""
    b0, b1, b2, a1, a2 = filters[0]
    c1, c2 = filters[1, 3], filters[1, 4]
    s0, s1, s2, s3 = state[0], state[1], state[2], state[3]
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
        out[stretch] = total
        if abs(s0) + abs(s2) < 1e-25:
            s0 = s1 = s2 = s3 = 0.0
    state[0], state[1], state[2], state[3] = s0, s1, s2, s3


@compiled
def _between(x: F32, taps: F32, out: F32) -> None:
    """Send samples through a filter, eight taps at a time; `x` has as many more of them as the filter has taps."""
    count = len(out)
    out[:] = 0.0
    for k in range(0, len(taps), 8):
        g0, g1, g2, g3 = taps[k], taps[k + 1], taps[k + 2], taps[k + 3]
        g4, g5, g6, g7 = taps[k + 4], taps[k + 5], taps[k + 6], taps[k + 7]
        p0, p1, p2, p3 = x[k : k + count], x[k + 1 :], x[k + 2 :], x[k + 3 :]
        p4, p5, p6, p7 = x[k + 4 :], x[k + 5 :], x[k + 6 :], x[k + 7 :]
        for i in range(count):  # samples inside, taps outside: a loop that the wide registers take
            one = (g0 * p0[i] + g1 * p1[i]) + (g2 * p2[i] + g3 * p3[i])
            out[i] += one + ((g4 * p4[i] + g5 * p5[i]) + (g6 * p6[i] + g7 * p7[i]))


@compiled
def _top(bits: NDArray[np.int32]) -> np.int32:
    """Return the highest magnitude among numbers given by their bits, as bits: they sort as whole numbers do."""
    top = np.int32(0)
    for i in range(len(bits)):
        top = max(top, bits[i] & _MAGNITUDE)
    return top


@compiled
def hop_peaks(x: F32, phases: F32, hop: int, out: F32) -> None:
    """Find the highest value between samples in every hop of one channel.

    Parameters
    ----------
    x
        Samples of whole hops, with half a filter more at both ends.
    phases
        The interpolating filters; shape (phases, taps), taps in eights.
    hop
        Samples in a hop.
    out
        Raised where the channel is higher; one for each hop.
    """
    half = phases.shape[1] // 2
    step = max(1, _LONG // hop)
    values = np.empty(step * hop, np.float32)
    bits, given, found = values.view(np.int32), x.view(np.int32), out.view(np.int32)
    for h in range(0, len(out), step):
        hops = min(step, len(out) - h)
        first, count = half + h * hop, hops * hop
        for k in range(hops):
            found[h + k] = max(found[h + k], _top(given[first + k * hop : first + k * hop + hop]))
        for phase in range(len(phases)):
            _between(x[first - half + 1 : first + count + half], phases[phase], values[:count])
            for k in range(hops):
                found[h + k] = max(found[h + k], _top(bits[k * hop : k * hop + hop]))


@compiled
def highest(x: F32, phases: F32, bend: float, best: float) -> tuple[float, int]:
    """Find the highest value between the samples of one channel, where it passes what was found before.

    Parameters
    ----------
    x
        Samples, with half a filter of them more at both ends.
    phases
        The interpolating filters; shape (phases, taps), taps in eights.
    bend
        Most that a filter can rise above the samples beside it, for second differences of 1.
    best
        What was found before.

    Returns
    -------
    The highest value, and the place of the sample at or before it; -1 where nothing passed what was found before.
    """
    half = phases.shape[1] // 2
    at = -1
    values = np.empty(_LONG + 2 * half, np.float32)
    bits, given = values.view(np.int32), x.view(np.int32)
    tops = np.zeros(2, np.int32)
    top = tops.view(np.float32)
    for start in range(half, len(x) - half, _LONG):
        count = min(_LONG, len(x) - half - start)
        for i in range(count + 2 * half - 2):
            values[i] = (x[start - half + i] + x[start - half + i + 2]) - 2 * x[start - half + i + 1]
        tops[0] = _top(given[start : start + count + 1])
        tops[1] = _top(bits[: count + 2 * half - 2])
        if (top[0] + bend * top[1]) * _ROUNDED <= best:
            continue
        for phase in range(len(phases) + 1):
            if phase:
                _between(x[start - half + 1 : start + count + half], phases[phase - 1], values[:count])
            else:
                values[:count] = x[start : start + count]
            tops[0] = _top(bits[:count])
            if top[0] > best:
                for i in range(count):
                    if abs(values[i]) > best:
                        best, at = float(abs(values[i])), start + i - half
    return best, at
