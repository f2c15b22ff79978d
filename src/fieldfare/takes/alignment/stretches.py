"""Which stretches of a take are listened to: for every source those in which it stands out against the others.

Only so many places of the take are looked at, spread over all of it, so that the work does not grow with its length.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.axis import Axis

SEGMENT = 1 << 14  # samples of a stretch: several times the longest way that is looked for
LOOKED_AT = 600  # places of a take, at most
MOST, LEAST_EACH = 360, 8  # stretches that are kept in all, and of each source at least
LEAST_UNDER_LOUD_DB = 15.0  # a stretch may be this far under a track's loud parts, and still be one of its own
SILENT_DBFS = -75.0  # a track that never gets louder than this says nothing
F64 = NDArray[np.float64]


def places_of(axis: Axis) -> tuple[int, ...]:
    """First samples of the places that are looked at."""
    step = max(SEGMENT, axis.frames // LOOKED_AT)
    return tuple(range(0, max(0, axis.frames - SEGMENT) + 1, step)) if axis.frames >= SEGMENT else ()


def powers_of(axis: Axis, places: Sequence[int]) -> F64:
    """Mean power of every track at every place, re a full-scale square. Shape (tracks, places)."""
    power = np.zeros((len(axis.track), len(places)))

    def one(number: int) -> None:
        sound = axis.read(places[number], SEGMENT)
        power[:, number] = np.einsum("ij,ij->i", sound, sound) / SEGMENT

    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        list(pool.map(one, range(len(places))))
    return power


def silent(power: F64) -> NDArray[np.bool_]:
    """Tell which tracks never get loud enough to say anything."""
    if not power.shape[1]:
        return np.ones(len(power), np.bool_)
    return np.quantile(power, 0.98, axis=1) < 10 ** (SILENT_DBFS / 10)


def stretches_of(power: F64, sources: Sequence[int]) -> tuple[int, ...]:
    """Choose the places that are listened to.

    Parameters
    ----------
    power
        Of every track at every place, from `powers_of`.
    sources
        Tracks close to a source, none of them silent.

    Returns
    -------
    Numbers of the places, in order of time; none where there is no source.
    """
    if not sources or not power.shape[1]:
        return ()
    own = power[list(sources)]
    own = own / np.quantile(own, 0.98, axis=1, keepdims=True)
    each = max(LEAST_EACH, MOST // len(sources))
    chosen: set[int] = set()
    for row in range(len(own)):
        rest = np.delete(own, row, axis=0)
        stands_out = own[row] / (rest.mean(axis=0) + 0.05) if len(rest) else own[row].copy()
        stands_out[own[row] < 10 ** (-LEAST_UNDER_LOUD_DB / 10)] = 0.0
        best = np.argsort(-stands_out, kind="stable")[:each]
        chosen.update(int(place) for place in best if stands_out[place] > 0)
    return tuple(sorted(chosen))
