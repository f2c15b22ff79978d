"""Which stretches of a take tell most about one track: those in which its own sound stands out against the others."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.alignment.spectra import SEGMENT
from fieldfare.takes.songs.levels import Levels

MOST = 96  # stretches
LEAST_UNDER_LOUD_DB = 15.0  # a stretch may be this far under a track's loud parts, and still be one of its own
SILENT_DBFS = -75.0  # a track that never gets louder than this says nothing
F64 = NDArray[np.float64]


def power_of(levels: Levels) -> tuple[F64, int]:
    """Average the power of every track over one segment from every second hop on, and the samples between those."""
    width, step = max(1, SEGMENT // levels.hop), 2
    sums = np.cumsum(np.pad(np.power(10.0, levels.db[:, 0].astype(np.float64) / 10), ((0, 0), (1, 0))), axis=1)
    if levels.hops <= width:
        return np.zeros((len(levels.db), 0)), levels.hop * step
    return (sums[:, width::step] - sums[:, :-width:step]) / width, levels.hop * step


def stretches_of(power: F64, step: int, track: int, others: Sequence[int], last: int) -> tuple[int, ...]:
    """Choose the stretches in which a track stands out.

    Parameters
    ----------
    power
        Of every track over stretches, from `power_of`.
    step
        Samples from one stretch to the next.
    track
        The track.
    others
        Tracks of other sources, against which it stands out.
    last
        Sample after the last of the take.

    Returns
    -------
    First samples, in order of time; none where the track is silent.
    """
    if not power.shape[1]:
        return ()
    loud = np.quantile(power, 0.98, axis=1)
    own = power[track] / max(loud[track], 1e-20)
    if loud[track] < 10 ** (SILENT_DBFS / 10):
        return ()
    rest = [power[other] / loud[other] for other in others if loud[other] >= 10 ** (SILENT_DBFS / 10)]
    stands_out = own / (np.mean(rest, axis=0) + 0.05) if rest else own
    stands_out[own < 10 ** (-LEAST_UNDER_LOUD_DB / 10)] = 0.0
    apart = -(-SEGMENT // step)
    chosen: list[int] = []
    taken = np.zeros(len(own), np.bool_)
    for place in np.argsort(-stands_out, kind="stable").tolist():
        if stands_out[place] <= 0 or len(chosen) == MOST:
            break
        if not taken[place] and place * step + SEGMENT <= last:
            chosen.append(place)
            taken[max(0, place - apart + 1) : place + apart] = True
    return tuple(place * step for place in sorted(chosen))
