"""The inner loops of a mix with arrays alone, for machines without the compiler library."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.wave.samples import Samples

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]


def strip(x: Samples, section: F64, state: F64, course: F64, hop: int, left: float, right: float, out: F32) -> None:
    """Send one track through its filter and add it to both sides of the mix, as `loops.strip` does."""
    from scipy.signal import lfilter, lfiltic

    top, bottom, now = section[:3], [1.0, *section[3:]], x.astype(np.float64)
    heard, _ = lfilter(top, bottom, now, zi=lfiltic(top, bottom, state[2:], state[:2]))
    state[:] = now[-1], now[-2], heard[-1], heard[-2]
    if np.abs(state[2:]).sum() < 1e-25:
        state[2:] = 0.0
    points = np.arange(len(course)) * hop
    played = heard.astype(np.float32) * np.interp(np.arange(len(x)), points, course).astype(np.float32)
    out[0] += np.float32(left) * played
    out[1] += np.float32(right) * played


def hop_peaks(x: F32, phases: F32, hop: int, out: F32) -> None:
    """Find the highest value between samples in every hop of one channel, as `loops.hop_peaks` does."""
    taps = phases.shape[1]
    half = taps // 2
    hops = len(out)
    inside = x[half : half + hops * hop]
    top = np.abs(inside).reshape(hops, hop).max(axis=1)
    windows = np.lib.stride_tricks.sliding_window_view(x[1:], taps)[: hops * hop]
    for phase in phases:
        top = np.maximum(top, np.abs(windows @ phase).reshape(hops, hop).max(axis=1))
    np.maximum(out, top, out=out)
