"""The inner loops of loudness with arrays alone, for machines without the compiler library."""

from __future__ import annotations

import numpy as np

from fieldfare.takes.measure.grain import F32, F64, I64
from fieldfare.takes.wave.samples import Samples

_STEP = 4096
_ROUNDED = 1 + 1e-5  # float32 rounds


def weigh(x: Samples, filters: F64, state: F64, cuts: I64, out: F64) -> None:
    """Send samples through both filters and sum their squares from cut to cut, as `loops.weigh` does."""
    from scipy.signal import lfilter

    shelf, edge = filters
    first, state[0:2] = lfilter(shelf[:3], [1.0, *shelf[3:]], x.astype(np.float64), axis=0, zi=state[0:2])
    second, state[2:4] = lfilter(edge[:3], [1.0, *edge[3:]], first, axis=0, zi=state[2:4])
    state[np.abs(state) < 1e-25] = 0.0
    if len(cuts) > 1:
        out[:] = np.add.reduceat(second * second, cuts[:-1], axis=0)


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


def highest(x: F32, phases: F32, bend: float, best: float) -> tuple[float, int]:
    """Find the highest value between the samples of one channel, as `loops.highest` does."""
    taps = phases.shape[1]
    half = taps // 2
    at = -1
    for start in range(half, len(x) - half, _STEP):
        end = min(start + _STEP, len(x) - half)
        part = x[start - half : end + half]
        beside = np.abs(part[half : half + end - start + 1]).max()
        if (beside + bend * np.abs(np.diff(part, 2)).max()) * _ROUNDED <= best:
            continue
        windows = np.lib.stride_tricks.sliding_window_view(part[1:], taps)[: end - start]
        values = np.abs(np.concatenate([part[half : half + end - start, None], windows @ phases.T], axis=1)).max(axis=1)
        if values.max() > best:
            best, at = float(values.max()), start - half + int(values.argmax())
    return best, at
