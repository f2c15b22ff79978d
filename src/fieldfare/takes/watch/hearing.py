"""What stands in a stretch of samples, cheap enough for a small laptop that records at the same time."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.watch import thresholds as limit
from fieldfare.takes.watch.facts import Heard
from fieldfare.takes.wave import Form, Samples

BLOCK_S = 0.4
PIECE_S = 0.025
FLOOR_DB = -200.0
_FLOAT_RAIL = 1 - 2.0**-15
_SINE = math.sqrt(2)


def hear(samples: Samples, form: Form) -> tuple[Heard, ...]:
    """Measure a stretch of a growing recording.

    Parameters
    ----------
    samples
        Shape (frames, channels), at the scale of `form.full_scale`.
    form
        How the file lays them out.

    Returns
    -------
    What each channel held; empty where there are no samples.

    Sources
    -------
    A full-scale sine reads 0 dBFS rms: [AES17]. Runs at full scale: [ClipRuns].
    """
    frames = len(samples)
    if not frames:
        return ()
    piece = max(1, min(frames, round(PIECE_S * form.rate_hz)))
    starts = np.arange(0, frames, piece)
    high = np.maximum.reduceat(samples, starts, axis=0)
    low = np.minimum.reduceat(samples, starts, axis=0)
    scale = form.full_scale
    peaks = np.maximum(high.max(axis=0) / scale, -(low.min(axis=0) / scale))
    loud = _loudest(samples, form)
    return tuple(
        Heard(
            peak_dbfs=_db(float(peaks[place])),
            loud_dbfs=_db(float(loud[place]) * _SINE),
            held_s=_longest_held(high[:, place], low[:, place]) * piece / form.rate_hz,
            held_all=bool(high[:, place].max() == low[:, place].min()),
            zero=bool(peaks[place] == 0),
            clips=_clips(samples[:, place], form) if peaks[place] >= _rail(form) / scale else 0,
        )
        for place in range(samples.shape[1])
    )


def _db(value: float) -> float:
    return 20 * math.log10(value) if value > 10 ** (FLOOR_DB / 20) else FLOOR_DB


def _loudest(samples: Samples, form: Form) -> NDArray[np.float64]:
    """Root mean square of the loudest block of each channel, 1 being full scale."""
    block = max(1, min(len(samples), round(BLOCK_S * form.rate_hz)))
    loudest = np.zeros(samples.shape[1])
    for start in range(0, len(samples) - block + 1, block):
        part = samples[start : start + block].astype(np.float64) / form.full_scale
        loudest = np.maximum(loudest, np.sqrt(np.mean(part * part, axis=0)))
    return loudest


def _longest_held(high: NDArray[np.generic], low: NDArray[np.generic]) -> int:
    """How many pieces in a row hold one and the same value that is not zero."""
    longest = run = 0
    before = None
    for top, bottom in zip(high.tolist(), low.tolist(), strict=True):
        if top != bottom or top == 0:
            run, before = 0, None
            continue
        run = run + 1 if top == before else 1
        before = top
        longest = max(longest, run)
    return longest


def _rail(form: Form) -> float:
    """The smallest value that the converter reaches only at full scale, at the scale of the samples."""
    return _FLOAT_RAIL if form.is_float else form.full_scale - float(1 << (8 * form.sample_bytes - form.bits))


def _clips(track: Samples, form: Form) -> int:
    """Count runs at full scale on one side, long enough to be clipping."""
    rail, least = _rail(form), int(limit.CLIP_RUN.value)
    count = 0
    for there in (track >= rail, track <= -rail):
        edges = np.flatnonzero(np.diff(np.concatenate(([0], there.view(np.int8), [0]))))
        count += int(np.count_nonzero(edges[1::2] - edges[::2] >= least))
    return count
