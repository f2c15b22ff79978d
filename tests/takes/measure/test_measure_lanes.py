"""The wide reading of a bucket against Python's own whole numbers, where sums of 32 bits would overflow."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from takes.measure.signals import Codes

from fieldfare.takes.compiler import compiled
from fieldfare.takes.measure.gathering import look, take_abreast
from fieldfare.takes.measure.grain import BUCKET, CELL, I32, I64, U8

FLOAT_MOST = 1 << 26  # 18 dB above full scale in steps of 2^-23
CHANNELS, FIRST = 11, 2  # channels in a file, and the first of the eight that are read at once


@compiled
def _looked(x: I32, at: int, cells: I32, peaks: I32, sums: I64, used: I32) -> None:
    look(x, 0, at, cells, 0, peaks, sums, 0, used)


@compiled
def _taken(packed: U8, x: I32, at: int, cells: I32, peaks: I32, sums: I64, used: I32) -> None:
    take_abreast(packed, 3 * FIRST, 3 * CHANNELS, x, FIRST, at, cells, 0, peaks, sums, 0, used)


def _room(channels: int) -> tuple[I32, I32, I64, I32]:
    """Where cells, peaks, sums and used bits of one bucket go."""
    cells, peaks = np.zeros((channels, BUCKET // CELL), np.int32), np.zeros((3, channels, 1), np.int32)
    return cells, peaks, np.zeros((4, channels, 1), np.int64), np.zeros(channels, np.int32)


def _row(way: str, most: int) -> Codes:
    columns = np.arange(BUCKET + 11)
    row: Codes = {
        "from rail to rail": np.where(columns % 2, most, -most),
        "at a rail": np.full(len(columns), -most),
        "noise": np.random.default_rng(most).integers(-most, most, len(columns)),
        "odd samples": np.where(columns % 2, -most, 0),
        "slope": columns * (most // len(columns)),
    }[way].astype(np.int32)
    return row


def _counted(samples: list[int], before: list[int]) -> tuple[list[int], list[int], int]:
    """Peaks, sums and bits that are set, by counting."""
    bends, bits = [], 0
    for at, value in enumerate(samples):
        last, first = ([*before, *samples][at + 1], [*before, *samples][at])
        bends.append(abs(value - 2 * last + first))
        bits |= value
    energy = sum(value * value for value in samples)
    return [min(samples), max(samples), max(bends)], [sum(samples), energy, sum(bends), bends.count(0)], bits


WAYS = ["from rail to rail", "at a rail", "noise", "odd samples", "slope"]


@pytest.mark.parametrize("most", [1, 127, 1 << 15, 1 << 23, FLOAT_MOST])
@pytest.mark.parametrize("way", WAYS)
def test_a_bucket_reads_as_counting_says(most: int, way: str) -> None:
    row = _row(way, most)
    for at in (2, 3, 8, 11):
        cells, peaks, sums, used = _room(1)
        cells[0] = row[at : at + BUCKET].reshape(-1, CELL).sum(axis=1)
        _looked(row[np.newaxis], at, cells, peaks, sums, used)
        expected = _counted(row[at : at + BUCKET].tolist(), row[at - 2 : at].tolist())
        assert (peaks[:, 0, 0].tolist(), sums[:, 0, 0].tolist(), int(used[0])) == expected


def _packed(samples: NDArray[np.int32]) -> U8:
    """Frames in three bytes a sample, the least first."""
    packed: U8 = np.ascontiguousarray(samples, "<i4").view(np.uint8).reshape(*samples.shape, 4)[..., :3].reshape(-1)
    return packed


def test_eight_channels_abreast_read_as_counting_says() -> None:
    most = (1 << 23) - 1
    rows = np.stack([_row(WAYS[channel % len(WAYS)], most - channel) for channel in range(CHANNELS)])
    at, (cells, peaks, sums, used) = 11, _room(CHANNELS)
    x = np.zeros((CHANNELS, at + BUCKET), np.int32)
    x[:, :at] = rows[:, :at]
    _taken(_packed(rows[:, at:].T), x, at, cells, peaks, sums, used)
    for channel in range(CHANNELS):
        own = rows[channel].tolist()
        expected = _counted(own[at:], own[at - 2 : at])
        if not FIRST <= channel < FIRST + 8:
            expected = ([0] * 3, [0] * 4, 0)
        else:
            assert (x[channel] == rows[channel]).all()
            assert (cells[channel] == rows[channel, at:].reshape(-1, CELL).sum(axis=1)).all()
        assert (peaks[:, channel, 0].tolist(), sums[:, channel, 0].tolist(), int(used[channel])) == expected
