"""The wide reading of a bucket against Python's own whole numbers, where sums of 32 bits would overflow."""

from __future__ import annotations

import numpy as np
import pytest
from takes.measure.signals import Codes

from fieldfare.takes.measure.grain import BUCKET
from fieldfare.takes.measure.lanes import look
from fieldfare.takes.measure.laying import compiled

FLOAT_MOST = 1 << 26  # 18 dB above full scale in steps of 2^-23


@compiled
def _looked(row: Codes, at: int) -> tuple[int, ...]:
    found: tuple[int, ...] = look(row, at)
    return found


def _counted(samples: list[int], before: list[int]) -> tuple[int, ...]:
    """What `look` is to give, by counting."""
    bends, bits = [], 0
    for at, value in enumerate(samples):
        last, first = ([*before, *samples][at + 1], [*before, *samples][at])
        bends.append(abs(value - 2 * last + first))
        bits |= value
    energy = sum(value * value for value in samples)
    return min(samples), max(samples), max(bends), bits, energy, sum(bends), bends.count(0)


@pytest.mark.parametrize("most", [1, 127, 1 << 15, 1 << 23, FLOAT_MOST])
@pytest.mark.parametrize("way", ["from rail to rail", "at a rail", "noise", "odd samples", "slope"])
def test_a_bucket_reads_as_counting_says(most: int, way: str) -> None:
    columns = np.arange(BUCKET + 11)
    row: Codes = {
        "from rail to rail": np.where(columns % 2, most, -most),
        "at a rail": np.full(len(columns), -most),
        "noise": np.random.default_rng(most).integers(-most, most, len(columns)),
        "odd samples": np.where(columns % 2, -most, 0),
        "slope": columns * (most // len(columns)),
    }[way].astype(np.int32)
    for at in (2, 3, 8, 11):
        expected = _counted(row[at : at + BUCKET].tolist(), row[at - 2 : at].tolist())
        assert _looked(row, at) == expected
