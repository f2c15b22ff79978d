"""The inner loop of the levels, compiled; `levels` says the same with a filter library where there is no compiler."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

_Loop = TypeVar("_Loop", bound=Callable[..., object])
F32 = NDArray[np.float32]


def _compiled(loop: _Loop) -> _Loop:
    return cast(_Loop, njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})(loop))


@_compiled
def band_energies(x: NDArray[np.int32], gain: float, poles: F32, state: F32, hop: int, out: F32) -> None:
    """Sum the energy of each band of one channel, hop after hop.

    `x` holds whole hops; `gain` brings it to full scale 1. `poles` are what a filter of one pole takes of the new
    sample, for rumble, lows and highs; `state` is that of the five filters, kept from call to call. Rows of `out`:
    everything above the rumble, lows, highs.
    """
    a, b, c = poles[0], poles[1], poles[2]
    scale = np.float32(gain)
    one = np.float32(1.0)
    ra, rb, rc = one - a, one - b, one - c
    rumble, low_1, low_2, high_1, high_2 = state[0], state[1], state[2], state[3], state[4]
    for h in range(out.shape[1]):
        part = x[h * hop : h * hop + hop]
        whole, low, high = np.float32(0.0), np.float32(0.0), np.float32(0.0)
        for i in range(hop):
            now = np.float32(part[i]) * scale
            rumble = ra * rumble + a * now
            clear = now - rumble
            low_1 = rb * low_1 + b * clear
            low_2 = rb * low_2 + b * low_1
            high_1 = rc * high_1 + c * clear
            first = clear - high_1
            high_2 = rc * high_2 + c * first
            second = first - high_2
            whole += clear * clear
            low += low_2 * low_2
            high += second * second
        out[0, h], out[1, h], out[2, h] = whole, low, high
    state[0], state[1], state[2], state[3], state[4] = rumble, low_1, low_2, high_1, high_2
