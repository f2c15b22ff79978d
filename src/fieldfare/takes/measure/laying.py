"""Laying samples out by channel and measuring them bucket by bucket, compiled: what every single sample goes through.

`arrays` says the same without the compiler library. What these loops share: samples go into `x`, (channels, columns),
from column `first` on. From bucket `slot` on, `peaks`, (3, channels, buckets), takes minimum, maximum and largest bend;
`sums`, (4, channels, buckets), takes sum, energy, bends and how many bends are 0; `cells`, (channels, cells), takes the
sums of whole cells. `used` gathers the bits that are ever set.
"""

from __future__ import annotations

import numpy as np

from fieldfare.takes.compiler import compiled
from fieldfare.takes.measure.gathering import look, take_abreast
from fieldfare.takes.measure.grain import BUCKET, CELL, F32, I32, I64, U8
from fieldfare.takes.measure.lanes import LANES, LINE, lay_cell, lay_line, sample

_CELLS = BUCKET // CELL
_STEPS = 8388608.0  # of a float's full scale
_MOST = 67108864.0  # 18 dB above it


@compiled
def _look_at_few(row: I32, at: int, count: int, peaks: I32, sums: I64) -> np.int32:
    """Measure a bucket that is not full, all but its total, as `look` does; return the bits that are set in it."""
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
    peaks[0], peaks[1], peaks[2] = low, high, most
    sums[1], sums[2], sums[3] = energy, bends, straight
    return np.int32(bits)


@compiled
def _sum_cells(row: I32, cells: I32) -> None:
    """Sum whole cells of a row."""
    for c in range(len(cells)):
        total, part = np.int32(0), row[c * CELL : c * CELL + CELL]
        for i in range(CELL):
            total = np.int32(total + part[i])
        cells[c] = total


@compiled
def _total(row: I32) -> np.int64:
    total = np.int64(0)
    for i in range(len(row)):
        total += row[i]
    return total


@compiled
def _look(
    x: I32, channel: int, at: int, count: int, cells: I32, c: int, peaks: I32, sums: I64, place: int, used: I32
) -> None:
    """Measure a bucket of one channel that is laid out."""
    if count == BUCKET:
        look(x, channel, at, cells, c, peaks, sums, place, used)
        return
    row = x[channel]
    used[channel] |= _look_at_few(row, at, count, peaks[:, channel, place], sums[:, channel, place])
    sums[0, channel, place] = _total(row[at : at + count])


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
        for line in range(count // LINE):
            lay_line(packed, 3 * (frame + line * LINE), x, at + line * LINE, cells, c + line * LANES)
        return count // LINE * LANES
    return 0


@compiled
def _lay_rest(
    packed: U8, channels: int, frame: int, count: int, channel: int, x: I32, at: int, cells: I32, c: int, done: int
) -> None:
    """Lay what remains of a channel's bucket out sample by sample, from cell `done` on."""
    row = x[channel]
    for i in range(done * CELL, count):
        row[at + i] = sample(packed, 3 * ((frame + i) * channels + channel))
    _sum_cells(row[at + done * CELL : at + count], cells[channel, c + done : c + count // CELL])


@compiled
def take_24(
    packed: U8, channels: int, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32
) -> None:
    """Lay packed 24-bit frames out by channel, and measure them."""
    frames = len(packed) // (3 * channels)
    for b in range((frames + BUCKET - 1) // BUCKET):
        frame, at, place = b * BUCKET, first + b * BUCKET, slot + b
        count, c = min(BUCKET, frames - frame), place * _CELLS
        abreast = channels // LANES * LANES if count == BUCKET else 0
        for group in range(0, abreast, LANES):
            byte = 3 * (frame * channels + group)
            take_abreast(packed, byte, 3 * channels, x, group, at, cells, c, peaks, sums, place, used)
        for group in range(abreast, channels, LANES):
            begin = max(0, min(group, channels - LANES))  # the last group may lay some once more
            done = _lay_group(packed, channels, frame, count, begin, x, at, cells, c)
            for channel in range(group, min(group + LANES, channels)):
                if done * CELL < count:
                    _lay_rest(packed, channels, frame, count, channel, x, at, cells, c, done)
                _look(x, channel, at, count, cells, c, peaks, sums, place, used)


@compiled
def _one(value: int, bits: int) -> np.int32:
    """A sample from what was read; of 32 bits the top 27."""
    if bits == 32:
        return np.int32(value >> 5)
    return np.int32(value - 128) if bits == 8 else np.int32(value)


@compiled
def take(packed: I32, bits: int, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32) -> None:
    """Lay whole numbers of 8, 16 or 32 bits, (frames, channels), out by channel, and measure them."""
    for b in range((packed.shape[0] + BUCKET - 1) // BUCKET):
        part = packed[b * BUCKET : min((b + 1) * BUCKET, packed.shape[0])]
        at, place, count = first + b * BUCKET, slot + b, len(part)
        for channel in range(packed.shape[1]):
            row, c = x[channel, at : at + count], place * _CELLS
            for i in range(count):
                row[i] = _one(part[i, channel], bits)
            _sum_cells(row, cells[channel, c : c + count // CELL])
            _look(x, channel, at, count, cells, c, peaks, sums, place, used)


@compiled
def _lay_float(packed: F32, channel: int, row: I32) -> int:
    """Lay one channel of floats out, in steps of 2^-23; return how many were no number and became 0."""
    bad = 0
    for i in range(len(row)):
        value = np.float64(packed[i, channel]) * _STEPS
        if not np.isfinite(value):
            bad += 1
            value = np.float64(0)
        row[i] = np.int32(np.rint(min(max(value, np.float64(-_MOST)), np.float64(_MOST))))
    return bad


@compiled
def take_float(packed: F32, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32) -> int:
    """Do as `take` for floats, in steps of 2^-23 of full scale; return how many were no number and became 0."""
    bad = 0
    for b in range((packed.shape[0] + BUCKET - 1) // BUCKET):
        part = packed[b * BUCKET : min((b + 1) * BUCKET, packed.shape[0])]
        at, place, count = first + b * BUCKET, slot + b, len(part)
        for channel in range(packed.shape[1]):
            row, c = x[channel, at : at + count], place * _CELLS
            bad += _lay_float(part, channel, row)
            _sum_cells(row, cells[channel, c : c + count // CELL])
            _look(x, channel, at, count, cells, c, peaks, sums, place, used)
    return bad
