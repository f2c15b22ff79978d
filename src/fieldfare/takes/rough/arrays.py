"""The inner loops of a mix with arrays alone, for machines without the compiler library."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.wave.samples import Samples

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]


def strip(x: Samples, section: F64, state: F64, course: F64, hop: int, sides: F64, out: F32) -> None:
    """Send one track through its filter and add it to both sides of the mix, as `loops.strip` does."""
    from scipy.signal import lfilter, lfiltic

    top, bottom, now = section[:3], [1.0, *section[3:]], x.astype(np.float64)
    heard, _ = lfilter(top, bottom, now, zi=lfiltic(top, bottom, state[2:], state[:2]))
    state[:] = now[-1], now[-2], heard[-1], heard[-2]
    if np.abs(state[2:]).sum() < 1e-25:
        state[2:] = 0.0
    points = np.arange(len(course)) * hop
    played = heard.astype(np.float32) * np.interp(np.arange(len(x)), points, course).astype(np.float32)
    out += sides.astype(np.float32)[:, None] * played


def strip_pair(
    x: Samples, z: Samples, sections: F64, states: F64, courses: F64, hop: int, sides: F64, out: F32
) -> None:
    """Do the same for two tracks, as `loops.strip_pair` does."""
    for place, track in enumerate((x, z)):
        strip(track, sections[place], states[place], courses[place], hop, sides[place], out)


def limit(x: F32, first: int, course: F32, hop: int, gain: float, out: F32) -> None:
    """Send samples through the limiter's course and a gain, as `loops.limit` does."""
    at = np.arange(first, first + len(x), dtype=np.float64) / hop
    now = np.interp(at, np.arange(len(course)), course).astype(np.float32) * np.float32(gain)
    np.multiply(x, now[:, None], out=out)
