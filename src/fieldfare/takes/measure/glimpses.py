"""Glimpses of the treble: short looks at every channel where it is quietest there, a sixth of a second apart.

Between notes, and between the hits of a kit, the top of the band falls to the noise of the microphone and its preamp:
music has little there, and loses it first. So of every few buckets the one that bends least is looked at, for 2.7 ms,
in four bands of one windowed Fourier transform. What is seen in the least of them scales with the gain, whatever is
played.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.measure.grain import BUCKET, F16, F32, GLIMPSE_BUCKETS, GLIMPSE_HZ, GLIMPSE_SAMPLES, I32, I64
from fieldfare.takes.measure.kernels import Kernels
from fieldfare.takes.measure.shapes import Glimpses

MOST_GLIMPSES = 1 << 14  # of a channel; the quieter of two is kept rather than more
_AT_HZ = 48_000  # at a lower rate the bands lie lower, too


class GlimpseKeeper:
    """Gathers the glimpses of all channels, in bounded memory."""

    def __init__(self, channels: int, rate_hz: int, full_scale: int, kernels: Kernels) -> None:
        from scipy.fft import rfft  # takes several rows at a time, which numpy's does not

        self._fourier: Callable[[F32], NDArray[np.complex64]] = rfft
        self._kernels = kernels
        window = np.blackman(GLIMPSE_SAMPLES)
        self._window: F32 = (window / full_scale).astype(np.float32)
        hz = np.array(GLIMPSE_HZ) * min(1.0, rate_hz / _AT_HZ)
        edges = np.round(hz * GLIMPSE_SAMPLES / rate_hz).astype(np.int64)
        self._parts = slice(2 * int(edges[0]), 2 * int(edges[-1]))  # real and imaginary parts of the bins
        self._widths: tuple[int, ...] = tuple(np.diff(edges).tolist())
        bands = np.repeat(np.eye(len(self._widths)), 2 * np.array(self._widths), axis=0)
        self._bands: F32 = (bands * 4 / (GLIMPSE_SAMPLES * np.sum(window**2))).astype(np.float32)
        self._seen = 0  # buckets that were looked at
        self._looks: F32 = np.empty((0, channels, GLIMPSE_SAMPLES), np.float32)  # windowed, in order of time
        self._at: I64 = np.empty((0, channels), np.int64)  # buckets
        self._looked = 0  # glimpses of these that wait to be transformed
        self._group = 1  # of how many the quietest is kept
        self._waiting: tuple[F16, I64] = self._none(channels)
        self._kept: list[tuple[F16, I64]] = [self._none(channels)]
        self._count = 0

    def _none(self, channels: int) -> tuple[F16, I64]:
        return np.empty((channels, 0, len(self._widths)), np.float16), np.empty((channels, 0), np.int64)

    def look(self, x: I32, bends: I64, buckets: int, first: int, frame: int) -> None:
        """Look at buckets as soon as there are enough of them, while they still are in the processor's cache.

        Parameters
        ----------
        x
            Samples, (channels, columns).
        bends
            How much each bucket bends, (channels, buckets): so many of them are there, all but those looked at before
            must be. Bucket 0 begins at column `first`.
        buckets, first
            See there.
        frame
            Of column 0.
        """
        start = (first + frame) // BUCKET
        begin = self._seen - start
        count = (buckets - begin) // GLIMPSE_BUCKETS
        if count <= 0:
            return
        looked = self._looked + count
        if looked > len(self._looks):
            self._looks, self._at = (_longer(one, 2 * looked) for one in (self._looks, self._at))
        new = slice(self._looked, looked)
        self._kernels.glimpses(x, bends, begin, first, self._window, self._looks[new], self._at[new])
        self._at[new] += start
        self._looked, self._seen = looked, self._seen + count * GLIMPSE_BUCKETS

    def close(self) -> None:
        """Transform what was looked at, all channels together, and keep it."""
        if not self._looked:
            return
        level = self._levels(self._looks[: self._looked]).transpose(1, 0, 2)
        at = self._at[: self._looked].T * BUCKET
        self._looked = 0
        self._keep(np.concatenate([self._waiting[0], level], axis=1), np.concatenate([self._waiting[1], at], axis=1))

    def _levels(self, looks: F32) -> F16:
        """Levels of the bands, from windowed samples, (glimpses, channels, samples)."""
        parts = self._fourier(looks.reshape(-1, GLIMPSE_SAMPLES)).view(np.float32)[:, self._parts]
        level = np.float32(10) * np.log10(np.maximum((parts * parts) @ self._bands, np.float32(1e-20)))
        return level.reshape(*looks.shape[:2], -1).astype(np.float16)

    def _keep(self, level: F16, at: I64) -> None:
        whole = level.shape[1] // self._group * self._group
        self._waiting = level[:, whole:], at[:, whole:]
        self._kept.append(_quietest(level[:, :whole], at[:, :whole], self._group))
        self._count += whole // self._group
        while self._count > MOST_GLIMPSES:
            level, at = self._all()
            even = self._count // 2 * 2
            self._waiting = (
                np.concatenate([level[:, even:], self._waiting[0]], axis=1),
                np.concatenate([at[:, even:], self._waiting[1]], axis=1),
            )
            self._kept = [_quietest(level[:, :even], at[:, :even], 2)]
            self._group, self._count = self._group * 2, even // 2

    def _all(self) -> tuple[F16, I64]:
        return np.concatenate([one[0] for one in self._kept], axis=1), np.concatenate(
            [one[1] for one in self._kept], axis=1
        )

    def glimpses(self) -> list[Glimpses]:
        """Return those of every channel."""
        level, at = self._all()
        return [Glimpses(self._widths, at[c], level[c]) for c in range(len(at))]


def _longer(rows: NDArray[Any], length: int) -> NDArray[Any]:
    """Return the same rows with room for more."""
    longer = np.empty((length, *rows.shape[1:]), rows.dtype)
    longer[: len(rows)] = rows
    return longer


def _quietest(level: F16, at: I64, group: int) -> tuple[F16, I64]:
    """Keep the quietest glimpse of each group."""
    if group == 1:
        return level, at
    total = level.sum(axis=2, dtype=np.float32).reshape(len(level), -1, group)
    place = total.argmin(axis=2) + np.arange(total.shape[1]) * group
    return np.take_along_axis(level, place[:, :, np.newaxis], axis=1), np.take_along_axis(at, place, axis=1)
