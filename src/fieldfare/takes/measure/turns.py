"""Sudden turns in the course of a channel: thumps that die away on one side of zero, and holes with sharp edges.

Both are seen in buckets of 512 frames, by their mean, their power about it and how much they bend. A thump is the
charging of capacitors: the mean jumps out of rest and falls back like an exponential, which no sound does for longer
than half its period. A hole is what a radio leaves that loses its carrier: level falls within two buckets and comes
back as fast; how bright the buckets at its edges are tells hiss from sound. Nothing here judges.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.measure.grain import BUCKET, F32, F64, I64
from fieldfare.takes.measure.kernels import Kernels
from fieldfare.takes.measure.shapes import Hole, Thump

MOST_KEPT = 4096  # of a kind, for each channel
THUMP_DBFS = -40.0  # means below this are no thumps
THUMP_JUMP = 4.0  # times what the mean was in the buckets before
THUMP_BARE = 2.2  # times the rms about it that the mean has to be: more than anything else that sounds there
THUMP_END = 0.2  # of its height, where a thump is over
THUMP_LEAST = 4  # buckets to there: 43 ms, half a period of 12 Hz
THUMP_SHORT = 3  # are enough where it does not come back
_SLOW = 4  # buckets, 43 ms: their mean leaves a fifth of 28 Hz and less of what is higher
THUMP_SLOW_DBFS = -34.0  # slow means below this are no thumps
THUMP_SLOW_BARE = 1.35  # times the rms about it; in a pulse wave whose pulses take an eighth the mean is 1.2 times
THUMP_SLOW_LEAST = 7  # buckets to its end: what is shorter is a slow mean's own length
_NO_RETURN = 10  # buckets
THUMP_RISE = 0.05  # of its height, by which a falling thump rises at most, as a whole
THUMP_SWAY = 0.25  # and with what sounds meanwhile
HOLE_DBFS = -48.0  # what goes on in less than this is no loss
HOLE_FALL_DB = 22.0  # in two buckets
HOLE_BACK_DB = 14.0  # below what went before, it is back
HOLE_RISE_DB = 15.0  # in two buckets, where it comes back
_BEFORE = 8  # buckets of context
_AFTER = 256  # buckets that the longest turn takes: 2.7 s
_SPAN = 2048  # looked at in one go


class TurnKeeper:
    """Gathers the turns of all channels."""

    def __init__(self, channels: int, full_scale: int, kernels: Kernels) -> None:
        self._scale, self._kernels = 1.0 / full_scale, kernels
        self._waiting: F32 = np.zeros((3, channels, _BEFORE + _SPAN + _AFTER), np.float32)  # mean, power, bends
        self._filled = _BEFORE  # buckets of these
        self._start = -_BEFORE  # bucket that the first of those waiting is
        self._thumps: list[list[Thump]] = [[] for _ in range(channels)]
        self._slow_thumps: list[list[Thump]] = [[] for _ in range(channels)]
        self._holes: list[list[Hole]] = [[] for _ in range(channels)]

    def add(self, sums: I64, begin: int, end: int) -> None:
        """Add whole buckets of sums, energies and bends, (3 or more, channels, buckets), from one to another."""
        self._make_room(end - begin)
        self._kernels.turns(sums, begin, end, self._scale, self._waiting, self._filled)
        self._filled += end - begin
        if self._filled >= _SPAN + _BEFORE + _AFTER:
            self._look(last=False)

    def _make_room(self, buckets: int) -> None:
        if self._filled + buckets > self._waiting.shape[2]:
            room: F32 = np.zeros((*self._waiting.shape[:2], self._filled + buckets), np.float32)
            room[:, :, : self._filled] = self._waiting[:, :, : self._filled]
            self._waiting = room

    def finish(self) -> None:
        """Look at what remains."""
        self._make_room(_AFTER)
        self._waiting[:, :, self._filled : self._filled + _AFTER] = 0
        self._filled += _AFTER
        self._look(last=True)

    def _look(self, *, last: bool) -> None:
        mean, power, bends = self._waiting[:, :, : self._filled]
        count = mean.shape[1] - _AFTER
        for c, b in _jumps(mean, power, count):
            self._keep_thump(self._thumps[c], b, mean[c], power[c], THUMP_SHORT)
        slow, swing = _slowly(mean, power)
        for c, b in _slow_jumps(slow, swing, count):
            self._keep_thump(self._slow_thumps[c], b, slow[c], power[c], THUMP_SLOW_LEAST)
        level = 10 * np.log10(np.maximum(2 * power, 1e-20))
        bright = bends / np.sqrt(np.maximum(power, 1e-20))
        for c, b in _falls(level, count):
            if len(self._holes[c]) < MOST_KEPT and (hole := _hole(level[c], bright[c], b, self._start)):
                self._holes[c].append(hole)
        if not last:
            kept = self._filled - count + _BEFORE
            self._waiting[:, :, :kept] = self._waiting[:, :, count - _BEFORE : self._filled]
            self._filled = kept
            self._start += count - _BEFORE

    def _keep_thump(self, kept: list[Thump], b: int, mean: F32, power: F32, least: int) -> None:
        """Keep the thump that begins in a bucket, if it falls like one."""
        if len(kept) < MOST_KEPT and (buckets := _fall(mean[b : b + _AFTER], least)):
            start, height = (self._start + b) * BUCKET, float(mean[b])
            swing = float(power[b : b + buckets].max()) ** 0.5 / abs(height)
            kept.append(Thump(start, start + buckets * BUCKET, height, swing))

    def thumps(self, channel: int) -> tuple[Thump, ...]:
        """Return the thumps of a channel, in order; those of slow means only where no other is near."""
        found = list(self._thumps[channel])
        for slow in self._slow_thumps[channel]:
            if not any(one.start <= slow.start + _BEFORE * BUCKET and slow.start < one.end for one in found):
                found.append(slow)
        return tuple(sorted(found, key=lambda one: one.start))

    def holes(self, channel: int) -> tuple[Hole, ...]:
        """Return the holes of a channel."""
        return tuple(self._holes[channel])


def _places(wanted: NDArray[np.bool_], first: int, last: int) -> Iterator[tuple[int, int]]:
    channel, bucket = np.nonzero(wanted[:, first:last])
    yield from zip(channel.tolist(), (bucket + first).tolist(), strict=True)


def _jumps(mean: F32, power: F32, count: int) -> Iterator[tuple[int, int]]:
    """Buckets at which the mean has jumped out of rest to its height, alone enough to be no part of a sound."""
    height = np.abs(mean)
    tall = height >= 10 ** (THUMP_DBFS / 20)
    if not tall[:, _BEFORE:count].any():
        return
    bare = height**2 >= THUMP_BARE**2 * power
    bare[:, :-1] |= bare[:, 1:]
    tall &= bare
    tall[:, 1:] &= height[:, 1:] > height[:, :-1]
    tall[:, :-1] &= height[:, :-1] >= height[:, 1:]
    channel, bucket = np.nonzero(tall[:, _BEFORE:count])
    bucket += _BEFORE
    rest = height[channel[:, np.newaxis], bucket[:, np.newaxis] - np.arange(2, _BEFORE - 1)]
    jumped = (height[channel, bucket][:, np.newaxis] >= THUMP_JUMP * rest).all(axis=1)
    yield from zip(channel[jumped].tolist(), bucket[jumped].tolist(), strict=True)


def _slowly(mean: F32, power: F32) -> tuple[F32, F32]:
    """Means of some buckets from each on, in which low tones cancel, and the power about them; the last are 0."""
    slow, swing = np.zeros_like(mean), np.zeros_like(power)
    whole = power + mean**2
    last = mean.shape[1] - _SLOW + 1
    for step in range(_SLOW):
        slow[:, :last] += mean[:, step : step + last] / _SLOW
        swing[:, :last] += whole[:, step : step + last] / _SLOW
    return slow, np.maximum(swing - slow**2, 0.0)


def _slow_jumps(slow: F32, swing: F32, count: int) -> Iterator[tuple[int, int]]:
    """Buckets from which on the slow mean stands far from where it rested, though low tones sway each bucket's own."""
    height = np.abs(slow)
    tall = (height >= 10 ** (THUMP_SLOW_DBFS / 20)) & (height**2 >= THUMP_SLOW_BARE**2 * swing)
    tall[:, 1:] &= height[:, 1:] > height[:, :-1]
    tall[:, :-1] &= height[:, :-1] >= height[:, 1:]
    channel, bucket = np.nonzero(tall[:, _BEFORE:count])
    bucket += _BEFORE
    rest = height[channel[:, np.newaxis], bucket[:, np.newaxis] - np.arange(_SLOW + 1, _BEFORE + 1)]
    jumped = (height[channel, bucket][:, np.newaxis] >= THUMP_JUMP * rest).all(axis=1)
    yield from zip(channel[jumped].tolist(), bucket[jumped].tolist(), strict=True)


def _fall(mean: F32, least: int) -> int:
    """How many buckets a thump takes to fall away; 0 where it does not fall like one."""
    course = mean / mean[0]
    low = np.flatnonzero(course < THUMP_END)
    end = int(low[0]) if len(low) else len(course)
    if not least <= end < len(course):
        return 0
    if end < THUMP_LEAST and float(course[end : end + _NO_RETURN].max()) >= THUMP_END:  # a wave comes back
        return 0
    middle = float(course[end // 2])
    smooth = course[:end] + course[1 : end + 1]  # what sounds meanwhile sways it
    falls = float(np.diff(course[:end]).max()) <= THUMP_SWAY and float(np.diff(smooth).max()) <= 2 * THUMP_RISE
    return end if falls and THUMP_END < middle < 0.8 else 0


def _falls(level: F64, count: int) -> Iterator[tuple[int, int]]:
    """Buckets after which level falls away."""
    deep = level[:, :-2] - np.minimum(level[:, 1:-1], level[:, 2:]) >= HOLE_FALL_DB
    wanted = deep & (level[:, :-2] >= HOLE_DBFS) & (level[:, 1:-1] < level[:, :-2] - 3)
    yield from _places(wanted, _BEFORE, count)


def _hole(level: F64, bright: F64, b: int, start: int) -> Hole | None:
    """The hole after a bucket, if sound comes back as suddenly."""
    went_on = float(np.median(level[b - _BEFORE : b - 2]))  # a burst of hiss is louder than what it cut off
    usual = min(level[b], went_on) if went_on >= HOLE_DBFS else level[b]
    back = np.flatnonzero(level[b + 2 : b + _AFTER] >= max(usual, HOLE_DBFS) - HOLE_BACK_DB)
    if not len(back):
        return None
    c = b + 2 + int(back[0])
    if level[c] - level[c - 2 : c].min() < HOLE_RISE_DB:
        return None
    return Hole(
        start=(start + b + 1) * BUCKET,
        end=(start + c) * BUCKET,
        before_db=float(level[b]),
        inside_db=float(np.percentile(level[b + 1 : c], 25)),
        bright_inside=float(np.median(bright[b + 1 : c])),
        after_db=float(level[c]),
        bright_before=float(bright[b - 3 : b + 2][level[b - 3 : b + 2] >= HOLE_DBFS].max(initial=0)),
        bright_after=float(bright[c - 2 : c + 3][level[c - 2 : c + 3] >= HOLE_DBFS].max(initial=0)),
    )
