"""The spectra of the stretches that are listened to, as far as the band reaches."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.alignment.stretches import SEGMENT
from fieldfare.takes.axis import Axis

BAND_HZ = (60.0, 6000.0)
C64 = NDArray[np.complex64]
Tell = Callable[[float], None]


@dataclass(frozen=True)
class Spectra:
    """Every track in every stretch."""

    lines: C64  # (lines, tracks, stretches)
    first: int  # of the lines
    rate_hz: int


def spectra_of(axis: Axis, starts: Sequence[int], tell: Tell | None = None) -> Spectra:
    """Transform stretches of a take.

    Parameters
    ----------
    axis
        The take.
    starts
        First sample of each stretch.
    tell
        Called with the share that is done, from 0 to 1.
    """
    from scipy.fft import rfft

    first, last = (round(hz * SEGMENT / axis.rate_hz) for hz in BAND_HZ)
    last = min(last, SEGMENT // 2 - 1)
    window = np.hanning(SEGMENT + 1)[:-1].astype(np.float32)
    lines: C64 = np.empty((last - first + 1, len(axis.track), len(starts)), np.complex64)

    def one(number: int) -> None:
        lines[:, :, number] = rfft(axis.read(starts[number], SEGMENT) * window)[:, first : last + 1].T

    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        for done, _ in enumerate(pool.map(one, range(len(starts))), 1):
            if tell is not None:
                tell(done / len(starts))
    return Spectra(lines, first, axis.rate_hz)
