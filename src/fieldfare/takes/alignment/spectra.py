"""Averaged spectra of all tracks against one another, over short segments: memory does not grow with the take.

What two tracks share because both hear a third can be taken out: what is left is what they hear of one another. Without
that a snare drum, which everything hears, would answer for every pair of tracks.

Conventions: the cross-spectrum of a pair (a, b) is the mean of conj(A) · B, so that a delay of b turns its phase
backwards. Segments are Hann-windowed; those of even and of odd number are kept apart, so that every result can be
found twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from os import cpu_count

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.axis import Axis

SEGMENT = 1 << 14  # samples
BATCH = 16  # segments that are worked on at once
REGULAR = 1e-4  # of each track's own power, added to it where it explains others
F64 = NDArray[np.float64]
C64 = NDArray[np.complex64]
C128 = NDArray[np.complex128]


@dataclass(frozen=True)
class Averages:
    """Mean spectra of all tracks against all."""

    segments: tuple[int, int]  # of even and of odd number
    matrix: C64  # (halves, bins, tracks, tracks)


@dataclass(frozen=True)
class Between:
    """What two tracks hear of one another, for each half of the segments and last for all."""

    power_a: F64  # (3, bins)
    power_b: F64
    cross: C128
    segments: tuple[int, int, int]  # less one for each track that was taken out


def average(axis: Axis, starts: Sequence[int], workers: int | None = None) -> Averages:
    """Average over segments of a take.

    Parameters
    ----------
    axis
        The take.
    starts
        First sample of each segment.
    workers
        Threads that read and transform.
    """
    tracks = len(axis.track)
    matrix: C64 = np.zeros((2, SEGMENT // 2 + 1, tracks, tracks), np.complex64)
    with ThreadPoolExecutor(workers or cpu_count() or 1) as pool:
        for half in (0, 1):
            mine = starts[half::2]
            batches = [mine[at : at + BATCH] for at in range(0, len(mine), BATCH)]
            for spectra in pool.map(lambda batch: _spectra(axis, batch), batches):
                matrix[half] += np.conj(spectra) @ spectra.transpose(0, 2, 1)
            matrix[half] /= max(1, len(mine))
    return Averages((len(starts[::2]), len(starts[1::2])), matrix)


def _spectra(axis: Axis, starts: Sequence[int]) -> C64:
    """Transform segments: shape (bins, tracks, segments)."""
    from scipy.fft import rfft

    window = np.hanning(SEGMENT + 1)[:-1].astype(np.float32)
    out: C64 = np.empty((SEGMENT // 2 + 1, len(axis.track), len(starts)), np.complex64)
    for place, start in enumerate(starts):
        out[:, :, place] = rfft(axis.read(start, SEGMENT) * window).T
    return out


class Apart:
    """Spectra of some tracks with what all others explain taken out.

    The whole matrix is inverted once; what is left of any few tracks, the others taken out, is then the inverse of
    their part of that inverse.

    Parameters
    ----------
    averages
        Of all tracks.
    tracks
        Those that are looked at or taken out; silent ones, mixes and second copies do not belong among them.
    """

    def __init__(self, averages: Averages, tracks: Sequence[int]) -> None:
        self._place = {track: place for place, track in enumerate(tracks)}
        counts = np.array(averages.segments, np.float64)
        whole = np.tensordot(counts / counts.sum(), averages.matrix, 1)
        self._inverse = np.stack([_inverse(one[:, tracks][:, :, tracks]) for one in (*averages.matrix, whole)])
        self._counts = (*averages.segments, sum(averages.segments))
        self._left: dict[tuple[int, ...], C128] = {}

    def between(self, a: int, b: int, beside: Sequence[int] = ()) -> Between:
        """Return what two tracks hear of one another; those `beside` them are not taken out either."""
        kept = tuple(sorted({self._place[track] for track in (a, b, *beside)}))
        if kept not in self._left:
            self._left[kept] = np.linalg.inv(self._inverse[:, :, kept][:, :, :, kept]).astype(np.complex128)
        left = self._left[kept]
        first, second = kept.index(self._place[a]), kept.index(self._place[b])
        taken = len(self._place) - len(kept)
        one, two, three = (max(2, count - taken) for count in self._counts)
        power_a, power_b = (np.maximum(left[:, :, side, side].real, 0.0) for side in (first, second))
        return Between(power_a, power_b, left[:, :, first, second], (one, two, three))


def _inverse(matrix: C64) -> C128:
    exact = matrix.astype(np.complex128)
    own = np.einsum("fii->fi", exact).real
    least = own.max(axis=1, keepdims=True) * 1e-12 + 1e-30
    exact += np.eye(exact.shape[1]) * (own * REGULAR + least)[:, :, np.newaxis]
    return np.linalg.inv(exact).astype(np.complex128)


def spread(chosen: Iterator[Sequence[int]]) -> list[int]:
    """Put stretches that were chosen for several tracks in one row, none of them overlapping."""
    row: list[int] = []
    for start in sorted({start for starts in chosen for start in starts}):
        if not row or start - row[-1] >= SEGMENT:
            row.append(start)
    return row
