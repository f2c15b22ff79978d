"""Keeping the course of every channel in bounded memory: the strip, and the short-term levels."""

from __future__ import annotations

import numpy as np

from fieldfare.takes.measure.grain import BUCKET, F32, F64, I32, I64, LEVEL_S
from fieldfare.takes.measure.shapes import Strip

MOST_STRETCHES = 1 << 16  # of a strip; its stretches double rather than become more
_Rows = tuple[I32, I32, I64, F32]


class StripKeeper:
    """Gathers the strips of all channels. The longer the recording, the longer their stretches."""

    def __init__(self, channels: int) -> None:
        self._frames = BUCKET
        self._low: I32 = np.empty((channels, 256), np.int32)
        self._high: I32 = np.empty((channels, 256), np.int32)
        self._energy: I64 = np.empty((channels, 256), np.int64)
        self._bends: F32 = np.empty((channels, 256), np.float32)
        self._count = 0
        self._odd: _Rows | None = None  # buckets that do not make a whole stretch yet

    def add(self, low: I32, high: I32, energy: I64, bends: F32) -> None:
        """Add buckets, shape (channels, buckets)."""
        if self._odd is not None:
            low = np.concatenate([self._odd[0], low], axis=1)
            high = np.concatenate([self._odd[1], high], axis=1)
            energy = np.concatenate([self._odd[2], energy], axis=1)
            bends = np.concatenate([self._odd[3], bends], axis=1)
        while low.shape[1] >= (per := self._frames // BUCKET):
            if self._count == MOST_STRETCHES:
                self._double()
                continue
            fits = min(low.shape[1] // per, MOST_STRETCHES - self._count) * per
            self._append(*_merged(low[:, :fits], high[:, :fits], energy[:, :fits], bends[:, :fits], per))
            low, high, energy, bends = low[:, fits:], high[:, fits:], energy[:, fits:], bends[:, fits:]
        self._odd = (low.copy(), high.copy(), energy.copy(), bends.copy()) if low.shape[1] else None

    def _append(self, low: I32, high: I32, energy: I64, bends: F32) -> None:
        count = self._count + low.shape[1]
        if count > self._low.shape[1]:
            size = 1 << (count - 1).bit_length()
            self._low, self._high, self._energy, self._bends = (
                np.concatenate([one, np.empty((len(one), size - one.shape[1]), one.dtype)], axis=1)
                for one in (self._low, self._high, self._energy, self._bends)
            )
        place = slice(self._count, count)
        self._low[:, place], self._high[:, place] = low, high
        self._energy[:, place], self._bends[:, place] = energy, bends
        self._count = count

    def _double(self) -> None:
        """Make stretches twice as long."""
        low, high, energy, bends = _merged(*self._there(), 2)
        self._count, self._frames = low.shape[1], self._frames * 2
        self._low[:, : self._count], self._high[:, : self._count] = low, high
        self._energy[:, : self._count], self._bends[:, : self._count] = energy, bends

    def _there(self) -> _Rows:
        there = slice(0, self._count)
        return self._low[:, there], self._high[:, there], self._energy[:, there], self._bends[:, there]

    def strips(self) -> list[Strip]:
        """Return the strip of every channel."""
        if self._odd is not None:
            self._append(*_merged(*self._odd, self._odd[0].shape[1]))
            self._odd = None
        low, high, energy, bends = self._there()
        return [Strip(self._frames, low[c], high[c], energy[c], bends[c]) for c in range(len(low))]


def _merged(low: I32, high: I32, energy: I64, bends: F32, per: int) -> _Rows:
    if per == 1:
        return low, high, energy, bends
    shape = (len(low), -1, per)
    sums = energy.reshape(shape).sum(axis=2), bends.reshape(shape).sum(axis=2)
    return low.reshape(shape).min(axis=2), high.reshape(shape).max(axis=2), *sums


class LevelKeeper:
    """Gathers the level of every channel in stretches of 0.4 s, to the nearest bucket. An offset does not count."""

    def __init__(self, channels: int, rate_hz: int, full_scale: int) -> None:
        self._per = max(1, round(LEVEL_S * rate_hz / BUCKET))
        self.frames = self._per * BUCKET
        self._scale = 1 / (self.frames * float(full_scale) ** 2)
        self._parts: list[F64] = []
        self._rest: I64 = np.empty((2, channels, 0), np.int64)

    def add(self, sums: I64) -> None:
        """Add sums and energies of buckets, shape (2, channels, buckets)."""
        sums = np.concatenate([self._rest, sums], axis=2)
        whole = sums.shape[2] // self._per * self._per
        if whole:
            parts = sums[:, :, :whole].reshape(*sums.shape[:2], -1, self._per).sum(axis=3)
            self._parts.append(_variance(parts, self.frames) * self._scale)
        self._rest = sums[:, :, whole:]

    def levels(self, frames: int) -> F64:
        """Return the mean squares re full scale squared, (channels, stretches).

        What is left over at the end is left out, unless it is all there is.
        """
        if self._parts or not self._rest.shape[2]:
            return np.concatenate([np.empty((self._rest.shape[1], 0)), *self._parts], axis=1)
        left_over = self._rest.sum(axis=2, keepdims=True)
        return _variance(left_over, frames) * (self._scale * self.frames / frames)


def _variance(sums: I64, frames: int) -> F64:
    """Energy about the mean, from sums and energies in the first axis."""
    total, energy = sums.astype(np.float64)
    around: F64 = np.maximum(energy - total * total / frames, 0.0)
    return around
