"""A second look at jumps: what linear prediction leaves of the sound around them.

Sound is predictable from the samples just before, by coefficients that fit its spectrum there; a tick is not. So the
samples before and after a jump, but not the jump itself, give the coefficients, and the highest of what they leave at
the jump is held against the highest that they leave on each side. A tick stands out from both. Where a note begins,
what follows is as unpredictable as its start; the edges of a wave come again; and in both, the spectrum after is
another than the one before. Arrays do for all: jumps are few.

Sources
-------
Ticks found by what linear prediction leaves: [VaseghiRayner1990]. How far one spectrum is from another by how much
worse the other's coefficients predict: [Itakura1975].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.measure.grain import BUCKET, CLICK_GAP, CLICK_RING, F64, I32, I64

SIDE = 1024  # frames on each side that a jump is held against: 21 ms, more than a period of the lowest string
ORDER = 24  # samples that predict the next
_LEAD = 8  # frames around a jump's sharpest bend that its highest remainder is looked for in
NEEDED_BEFORE = SIDE + CLICK_GAP + ORDER  # frames before a jump
NEEDED_AFTER = CLICK_RING + SIDE  # and from it on
_TOGETHER = 32  # jumps that are looked at in one go, so that they fit the processor's cache
OTHERS = 0.5  # of a jump's bend, reached by another beside it: the edge of a wave, not looked at further
ONE_SIDED = 16  # times as much bend on one side as on the other: the start or the end of something, no tick either


def looked_at(x: I32, rows: I64, sharpest: I32, begin: int, low: int, high: int) -> F64:
    """Look at jumps once more.

    Parameters
    ----------
    x
        Samples, (channels, columns).
    rows
        Jumps, as the loops find them: channel, column of the sharpest bend, that bend, the next one, all bends of some
        samples before, and after. Shape (jumps, 6).
    sharpest
        The sharpest bend of each bucket, (channels, buckets), from column `begin` on.
    begin, low, high
        First column that is looked at, first of the recording, and the one after its last.

    Returns
    -------
    For each jump how many times its highest remainder is the highest before, the same after, the distance of the
    spectra before and after in nats, and its bend over the peak on both sides; zeros where it was not looked at: at the
    ends, and on the edges of waves. Shape (jumps, 4).
    """
    out: F64 = np.zeros((len(rows), 4))
    within = (rows[:, 1] - NEEDED_BEFORE >= low) & (rows[:, 1] + NEEDED_AFTER <= high)
    sides = np.sort(rows[:, 4:6], axis=1)
    inside = np.flatnonzero(within & (sides[:, 1] <= ONE_SIDED * (sides[:, 0] + 1)) & ~_crowded(rows, sharpest, begin))
    for first in range(0, len(inside), _TOGETHER):
        some = inside[first : first + _TOGETHER]
        parts = np.stack([x[c, at - NEEDED_BEFORE : at + NEEDED_AFTER] for c, at in rows[some, :2].tolist()])
        bends = np.abs(np.diff(parts, n=2, axis=1))
        beside = np.maximum(bends[:, :SIDE].max(axis=1), bends[:, -SIDE:].max(axis=1))
        sharp = beside < OTHERS * rows[some, 2]
        if sharp.any():
            near = parts[sharp].astype(np.float64)
            out[some[sharp], :3] = held_against(near)
            peak = np.maximum(np.abs(near[:, :SIDE]).max(axis=1), np.abs(near[:, -SIDE:]).max(axis=1))
            out[some[sharp], 3] = rows[some[sharp], 2] / (peak + 1.0)
    return out


def _crowded(rows: I64, sharpest: I32, begin: int) -> NDArray[np.bool_]:
    """Which jumps have another beside them in the bucket before or after, as far as those lie within what is compared.

    This only saves looking: those would be passed over for the same reason.
    """
    bucket, place = np.divmod(rows[:, 1] - begin, BUCKET)
    most = OTHERS * rows[:, 2]
    before, after = np.maximum(bucket - 1, 0), np.minimum(bucket + 1, sharpest.shape[1] - 1)
    crowded = (bucket > 0) & (place >= CLICK_GAP + ORDER) & (sharpest[rows[:, 0], before] >= most)
    crowded |= (after > bucket) & (place <= BUCKET - CLICK_RING) & (sharpest[rows[:, 0], after] >= most)
    return np.asarray(crowded)


def held_against(parts: F64) -> F64:
    """Tell how far some jumps stand out of what prediction leaves around them.

    Parameters
    ----------
    parts
        The samples around each, so many before it and from it on as are needed, in codes. Shape (jumps, samples).

    Returns
    -------
    For each how many times its highest remainder is the highest before, the same after, and the distance of the spectra
    before and after in nats. Shape (jumps, 3).
    """
    before = _products(parts[:, ORDER : ORDER + SIDE])
    after = _products(parts[:, -SIDE:])
    left = np.abs(_left(parts, _coefficients(before + after)))  # column 0 is sample ORDER
    at = SIDE + CLICK_GAP
    top = left[:, at - CLICK_GAP : at + _LEAD].max(axis=1)
    over = [top / (side.max(axis=1) + 1.0) for side in (left[:, :SIDE], left[:, -SIDE:])]
    return np.stack([*over, _distance(before, after)], axis=1)


def _products(side: F64) -> F64:
    """Windowed products of samples with those up to so many later, (jumps, lags)."""
    windowed = side * np.hanning(side.shape[1])
    lags = [(windowed[:, lag:] * windowed[:, : side.shape[1] - lag]).sum(axis=1) for lag in range(ORDER + 1)]
    products: F64 = np.stack(lags, axis=1)
    products[:, 0] = products[:, 0] * (1 + 1e-9) + 1.0  # pure tones and silence are predicted by many
    return products


_APART = np.abs(np.subtract.outer(np.arange(ORDER + 1), np.arange(ORDER + 1)))


def _coefficients(products: F64) -> F64:
    """The filter that leaves the least, (jumps, taps); its first tap is 1."""
    square = products[:, _APART[:ORDER, :ORDER]]
    taps = np.linalg.solve(square, products[:, 1:, np.newaxis])[:, :, 0]
    return np.concatenate([np.ones((len(taps), 1)), -taps], axis=1)


def _left(parts: F64, taps: F64) -> F64:
    count = parts.shape[1] - ORDER
    left: F64 = parts[:, ORDER:].copy()
    for tap in range(1, ORDER + 1):
        left += taps[:, tap, np.newaxis] * parts[:, ORDER - tap : ORDER - tap + count]
    return left


def _distance(before: F64, after: F64) -> F64:
    """The larger of the two distances between spectra."""
    own, other = _coefficients(before), _coefficients(after)
    ways = (_power(other, before) / _power(own, before), _power(own, after) / _power(other, after))
    distance: F64 = np.log(np.maximum(np.maximum(*ways), 1.0))
    return distance


def _power(taps: F64, products: F64) -> F64:
    """What a filter leaves of a sound with such products."""
    power: F64 = (taps[:, :, np.newaxis] * products[:, _APART] * taps[:, np.newaxis, :]).sum(axis=(1, 2))
    return np.maximum(power, 1e-3)
