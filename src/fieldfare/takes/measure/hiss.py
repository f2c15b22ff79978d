"""Spits of hiss: noise that begins and ends from one millisecond to the next and keeps its level in between.

So sounds a radio receiver between losing its carrier and closing its squelch. A cymbal, a clap or a consonant is as
bright, but it dies away or swells. Buckets that are loud, bright and soon followed by duller ones are looked at once
more, in blocks of 64 frames.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.measure.grain import BUCKET, F64, I32, I64
from fieldfare.takes.measure.kernels import Kernels
from fieldfare.takes.measure.scene import Scene
from fieldfare.takes.measure.shapes import Hiss

HISS_DBFS = -28.0  # rms of a bucket
HISS_BRIGHT = 1.3  # mean bend over rms: white noise has 1.95
HISS_FALL_DB = 14.0  # that its bends are over those before and after
HISS_LEAST = 4  # blocks
HISS_MOST = 48  # blocks: 64 ms, before and after a short hole together
HISS_EVEN_DB = 6.5  # between the loudest and the softest two blocks of it that follow one another
HISS_SLOPE_DB = 3.5  # between the middles of its halves
BLOCK = 64
_NOTCH = 2  # blocks: where the spits before and after a short hole nearly touch there is one
_NOTCH_DB = 12.0  # that it is deep at least
_SOFTER = 12  # of so many pairs of blocks one may be softer
_REACH = 3328  # frames that are looked at to both sides: the longest hiss and what is beside it
_LATER = 6  # buckets within which it is over
MOST_KEPT = 4096
_ROOM = 1024  # rows of suspects to begin with


def suspects(sums: I64, buckets: int, ahead: int, full_scale: float, kernels: Kernels) -> I64:
    """Return (channel, bucket) of those that may be hiss, in rows.

    `sums` are those of a scene, (4, channels, buckets); the first so many are asked about, `ahead` more are there.
    """
    loud = BUCKET * full_scale**2 * 10 ** (HISS_DBFS / 10) / 2
    wanted = loud, HISS_BRIGHT**2 * BUCKET, _LATER, 10 ** (-HISS_FALL_DB / 20)
    out: I64 = np.empty((_ROOM, 2), np.int64)
    if (found := kernels.hisses(sums, buckets, ahead, *wanted, out)) > len(out):
        out = np.empty((found, 2), np.int64)
        kernels.hisses(sums, buckets, ahead, *wanted, out)
    return out[:found]


def hiss_at(row: I32, begin: int, low: int, high: int, kernels: Kernels) -> tuple[int, int] | None:
    """First column and the one after the last of the hiss in the bucket from a column on; none where it is none."""
    first, last = begin - _REACH, min(begin + BUCKET + _REACH, high)
    if first - 2 < low or last - begin < BUCKET + 4 * BLOCK:
        return None
    sums = np.empty((last - first) // BLOCK, np.int64)
    kernels.bend_sums(row, first, BLOCK, sums)
    blocks: F64 = sums / BLOCK
    at = _REACH // BLOCK
    inside = blocks[at : at + BUCKET // BLOCK]
    level = float(np.sort(inside)[-3])
    over = _closed(blocks >= level / 2)
    peak = at + int(inside.argmax())
    before, after = np.flatnonzero(~over[:peak]), np.flatnonzero(~over[peak:])
    if not len(before) or not len(after):
        return None
    start, end = int(before[-1]) + 1, peak + int(after[0])
    own = blocks[start:end]
    notch = own < level * 10 ** (-_NOTCH_DB / 20)
    if not HISS_LEAST <= end - start <= HISS_MOST or np.count_nonzero(notch) > _NOTCH or not _is_even(own[~notch]):
        return None
    beside = np.concatenate([blocks[max(0, start - 3) : start - 1], blocks[end + 1 : end + 3]])
    if beside.max(initial=0.0) > level * 10 ** (-HISS_FALL_DB / 20):
        return None
    return first + start * BLOCK, first + end * BLOCK


def _closed(over: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Fill notches: a hole so short that the spits before and after it nearly touch."""
    near = np.zeros((2, len(over)), np.bool_)
    for step in range(1, _NOTCH + 1):
        near[0, step:] |= over[:-step]
        near[1, :-step] |= over[step:]
    return np.asarray(over | (near[0] & near[1]))


def _is_even(blocks: F64) -> bool:
    """Whether noise keeps its level: neither dies away nor swells. The first and last block may be cut."""
    level = 20 * np.log10(np.maximum(blocks, 1e-9))
    if len(level) > HISS_LEAST:
        level = level[1:-1]
    half = len(level) // 2
    slope = abs(float(np.median(level[:half]) - np.median(level[-half:])))
    pairs = np.sort(level[1:] + level[:-1]) / 2
    softest = pairs[len(pairs) // _SOFTER]
    return slope <= HISS_SLOPE_DB and float(pairs[-1] - softest) <= HISS_EVEN_DB


class HissKeeper:
    """Gathers the hisses of all channels."""

    def __init__(self, channels: int, full_scale: float) -> None:
        self._full_scale = full_scale
        self._found: list[list[Hiss]] = [[] for _ in range(channels)]

    def look(self, scene: Scene, kernels: Kernels) -> None:
        """Look at the buckets of a scene. See `suspects`."""
        for channel, bucket in suspects(scene.sums, scene.buckets, scene.ahead, self._full_scale, kernels).tolist():
            own, column = self._found[channel], scene.begin + bucket * BUCKET
            if len(own) == MOST_KEPT or (own and column + scene.frame < own[-1].end):
                continue
            hiss = hiss_at(scene.x[channel], column, scene.low, scene.high, kernels)
            if hiss and not (own and hiss[0] + scene.frame < own[-1].end):
                own.append(Hiss(hiss[0] + scene.frame, hiss[1] + scene.frame))

    def hisses(self, channel: int) -> tuple[Hiss, ...]:
        """Return the hisses of a channel."""
        return tuple(self._found[channel])
