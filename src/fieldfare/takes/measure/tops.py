"""Gathering how the tops of a channel look: the highest peak of every top window, round or cut, on both sides of zero.

Windows are looked at as soon as enough follows them, while their samples still are in the processor's cache: fetched
from memory later, they would cost three times as much.
"""

from __future__ import annotations

import numpy as np

from fieldfare.takes.measure.events import of_channel
from fieldfare.takes.measure.grain import BUCKET, F64, I32, I64, TOP_WINDOW
from fieldfare.takes.measure.kernels import Kernels
from fieldfare.takes.measure.shapes import TOP_DB, TOP_ROWS, Tops

_PER_TOP = TOP_WINDOW // BUCKET


class TopKeeper:
    """Gathers the tops of all channels."""

    def __init__(self, channels: int, full_scale: int, kernels: Kernels) -> None:
        self._kernels = kernels
        self._steps: F64 = full_scale * 10 ** ((TOP_DB - 0.1 * np.arange(TOP_ROWS + 1)) / 20)
        self._counts: I32 = np.zeros((channels, 2, TOP_ROWS, 3), np.int32)
        self._cut: list[I64] = []
        self._out: I64 = np.empty((0, 5), np.int64)

    def look(
        self, x: I32, peaks: I32, buckets: tuple[int, int], first: int, inside: tuple[int, int], frame: int
    ) -> None:
        """Look at windows that follow those looked at before.

        Parameters
        ----------
        x, peaks
            Samples, (channels, columns), and peaks of buckets, (3, channels, buckets); bucket 0 begins at `first`.
        buckets
            From which bucket to which: whole windows, but for the last time.
        first, frame
            Column of bucket 0, and frame of column 0.
        inside
            First column of the recording, and the one after its last.
        """
        begin, end = buckets
        most = len(x) * 2 * -(-(end - begin) // _PER_TOP)
        if most > len(self._out):
            self._out = np.empty((most, 5), np.int64)
        found = self._kernels.tops(x, peaks, begin, end, first, self._steps, *inside, self._counts, self._out)
        if found:
            rows = self._out[:found].copy()
            rows[:, 2] += frame
            self._cut.append(rows)

    def tops(self, channel: int) -> tuple[Tops, Tops]:
        """Return how the tops look, above zero and below."""
        rows = of_channel(self._cut, channel, 5)
        above, below = (rows[rows[:, 1] == side] for side in (0, 1))
        counts = self._counts[channel]
        return (
            Tops(counts[0], above[:, 2], above[:, 3], above[:, 4]),
            Tops(counts[1], below[:, 2], below[:, 3], below[:, 4]),
        )
