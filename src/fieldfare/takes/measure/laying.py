"""Laying samples out by channel and measuring them bucket by bucket, compiled: what every single sample goes through.

`arrays` says the same without the compiler library. What these loops share: samples go into `x`, (channels, columns),
from column `first` on. From bucket `slot` on, `peaks`, (3, channels, buckets), takes minimum, maximum and largest bend;
`sums`, (4, channels, buckets), takes sum, energy, bends and how many bends are 0; `cells`, (channels, cells), takes the
sums of whole cells. `used` gathers the bits that are ever set.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numpy as np
from numba import njit

from fieldfare.takes.measure.grain import BUCKET, CELL, F32, I32, I64, U8
from fieldfare.takes.measure.lanes import LANES, LINE, lay_cell, lay_line, look, sample

_Loop = TypeVar("_Loop", bound=Callable[..., object])
_CELLS = BUCKET // CELL
_STEPS = 8388608.0  # of a float's full scale
_MOST = 67108864.0  # 18 dB above it


def compiled(loop: _Loop) -> _Loop:
    """Compile a loop, once for all processes on this kind of processor, to run beside other threads."""
    return cast(_Loop, njit(cache=True, nogil=True, error_model="numpy")(loop))


@compiled
def _look(row: I32, at: int, count: int) -> tuple[int, int, int, int, int, int, int]:
    """Measure the samples of a bucket that is not full, as `look` does."""
    now, last, before = row[at : at + count], row[at - 1 : at - 1 + count], row[at - 2 : at - 2 + count]
    low, high, bits, most = now[0], now[0], np.int32(0), np.int32(0)
    energy, bends, straight = np.int64(0), np.int64(0), np.int32(0)
    for i in range(len(now)):
        low, high = min(low, now[i]), max(high, now[i])
        bits |= now[i]
        energy += np.int64(now[i]) * np.int64(now[i])
        bend = np.int32(np.int32(now[i] - last[i]) - np.int32(last[i] - before[i]))
        straight += np.int32(bend == 0)
        bend = max(bend, np.int32(-bend))
        most = max(most, bend)
        bends += np.int64(bend)
    return int(low), int(high), int(most), int(bits), int(energy), int(bends), int(straight)


@compiled
def _bucket(row: I32, at: int, count: int, peaks: I32, sums: I64) -> np.int32:
    """Measure a bucket; return the bits that are set in it."""
    low, high, most, bits, energy, bends, straight = look(row, at) if count == BUCKET else _look(row, at, count)
    peaks[0], peaks[1], peaks[2] = low, high, most
    sums[1], sums[2], sums[3] = energy, bends, straight
    return np.int32(bits)


@compiled
def _total(cells: I32, rest: I32) -> np.int64:
    """Sum cells, and samples that fill none."""
    total = np.int64(0)
    for i in range(len(cells)):
        total += cells[i]
    for i in range(len(rest)):
        total += rest[i]
    return total


@compiled
def _sum_cells(row: I32, cells: I32) -> np.int64:
    """Sum whole cells of a row, and return the sum of all of it."""
    for c in range(len(cells)):
        total, part = np.int32(0), row[c * CELL : c * CELL + CELL]
        for i in range(CELL):
            total = np.int32(total + part[i])
        cells[c] = total
    return _total(cells, row[len(cells) * CELL :])


@compiled
def _lay_group(
    packed: U8, channels: int, frame: int, count: int, begin: int, x: I32, at: int, cells: I32, c: int
) -> int:
    """Lay as many whole cells out as can be read at once, of eight channels or of the only one; return how many."""
    if channels >= LANES:
        for done in range(count // CELL):
            byte = ((frame + done * CELL) * channels + begin) * 3
            lay_cell(packed, byte, 3 * channels, x, begin, at + done * CELL, cells, c + done)
        return count // CELL
    if channels == 1:
        row, sums = x[0], cells[0]
        for line in range(count // LINE):
            lay_line(packed, 3 * (frame + line * LINE), row, at + line * LINE, sums, c + line * LANES)
        return count // LINE * LANES
    return 0


@compiled
def _lay_rest(packed: U8, channels: int, frame: int, channel: int, row: I32, cells: I32, done: int) -> None:
    """Lay what remains of a channel's bucket out sample by sample, from cell `done` on."""
    for c in range(done, len(row) // CELL):
        total = np.int32(0)
        for i in range(c * CELL, c * CELL + CELL):
            row[i] = sample(packed, 3 * ((frame + i) * channels + channel))
            total = np.int32(total + row[i])
        cells[c] = total
    for i in range(max(done, len(row) // CELL) * CELL, len(row)):
        row[i] = sample(packed, 3 * ((frame + i) * channels + channel))


@compiled
def take_24(
    packed: U8, channels: int, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32
) -> None:
    """Lay packed 24-bit frames out by channel, and measure them."""
    frames = len(packed) // (3 * channels)
    for b in range((frames + BUCKET - 1) // BUCKET):
        frame, at, place = b * BUCKET, first + b * BUCKET, slot + b
        count, c = min(BUCKET, frames - frame), place * _CELLS
        for group in range(0, channels, LANES):
            begin = max(0, min(group, channels - LANES))  # the last group may lay some once more
            done = _lay_group(packed, channels, frame, count, begin, x, at, cells, c)
            for channel in range(group, min(group + LANES, channels)):
                row, own = x[channel], cells[channel, c : c + count // CELL]
                _lay_rest(packed, channels, frame, channel, row[at : at + count], own, done)
                used[channel] |= np.int32(_bucket(row, at, count, peaks[:, channel, place], sums[:, channel, place]))
                sums[0, channel, place] = _total(own, row[at + count // CELL * CELL : at + count])


@compiled
def _one(value: int, bits: int) -> np.int32:
    """A sample from what was read; of 32 bits the top 27."""
    if bits == 32:
        return np.int32(value >> 5)
    return np.int32(value - 128) if bits == 8 else np.int32(value)


@compiled
def _lay(packed: I32, bits: int, channel: int, row: I32, cells: I32) -> np.int64:
    """Lay one channel of a bucket out, sum its whole cells, and return the sum of all."""
    for i in range(len(row)):
        row[i] = _one(packed[i, channel], bits)
    return _sum_cells(row, cells)


@compiled
def take(packed: I32, bits: int, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32) -> None:
    """Lay whole numbers of 8, 16 or 32 bits, (frames, channels), out by channel, and measure them."""
    for b in range((packed.shape[0] + BUCKET - 1) // BUCKET):
        part = packed[b * BUCKET : min((b + 1) * BUCKET, packed.shape[0])]
        at, place, count = first + b * BUCKET, slot + b, len(part)
        for channel in range(packed.shape[1]):
            row, own = x[channel], cells[channel, place * _CELLS : place * _CELLS + count // CELL]
            sums[0, channel, place] = _lay(part, bits, channel, row[at : at + count], own)
            used[channel] |= np.int32(_bucket(row, at, count, peaks[:, channel, place], sums[:, channel, place]))


@compiled
def _lay_float(packed: F32, channel: int, row: I32, cells: I32) -> tuple[np.int64, int]:
    """Do so for floats, in steps of 2^-23; return how many were no number and became 0, too."""
    bad = 0
    for i in range(len(row)):
        value = np.float64(packed[i, channel]) * _STEPS
        if not np.isfinite(value):
            bad += 1
            value = np.float64(0)
        row[i] = np.int32(np.rint(min(max(value, np.float64(-_MOST)), np.float64(_MOST))))
    return _sum_cells(row, cells), bad


@compiled
def take_float(packed: F32, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32) -> int:
    """Do as `take` for floats, in steps of 2^-23 of full scale; return how many were no number and became 0."""
    bad = 0
    for b in range((packed.shape[0] + BUCKET - 1) // BUCKET):
        part = packed[b * BUCKET : min((b + 1) * BUCKET, packed.shape[0])]
        at, place, count = first + b * BUCKET, slot + b, len(part)
        for channel in range(packed.shape[1]):
            row, own = x[channel], cells[channel, place * _CELLS : place * _CELLS + count // CELL]
            total, more = _lay_float(part, channel, row[at : at + count], own)
            sums[0, channel, place] = total
            bad += more
            used[channel] |= np.int32(_bucket(row, at, count, peaks[:, channel, place], sums[:, channel, place]))
    return bad
