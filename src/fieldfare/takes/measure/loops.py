"""The inner loops of measuring, compiled: whole numbers only, one channel at a time, in order of time.

Needs the compiler library; `arrays` says the same without it, slower, with equal results. Slices, rather than indexes
that are sums, are what lets the compiler use the wide registers.

Conventions: `x` holds samples of shape (channels, columns); `low` and `high` are the first column of the recording and
the one after its last; spans are rows of (channel, first column, column after the last); what is found goes into rows
of `out`, and the number found is returned even where `out` has no room for all.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numpy as np
from numba import njit

from fieldfare.takes.measure.grain import (
    BUCKET,
    CELL,
    CLICK_GAP,
    CLICK_REACH,
    CONTEXT,
    EDGE,
    F32,
    FLAT_LEAST,
    I16,
    I32,
    I64,
    LAGS,
    RAIL_LEAST,
    TOP_NEAR,
    TOP_REACH,
    TOP_WINDOW,
)

_Loop = TypeVar("_Loop", bound=Callable[..., object])
_PER_TOP = TOP_WINDOW // BUCKET
_STEPS = 8388608.0  # of a float's full scale
_MOST = 67108864.0  # 18 dB above it


def _compiled(loop: _Loop) -> _Loop:
    return cast(_Loop, njit(cache=True, nogil=True, error_model="numpy")(loop))


@_compiled
def _one(value: int, bits: int) -> np.int32:
    """A sample from what was read: of 24 bits the low part of the 32 that start with them, of 32 the top 27."""
    if bits == 24:
        return np.int32(np.int32(value << 8) >> 8)
    if bits == 32:
        return np.int32(value >> 5)
    return np.int32(value - 128) if bits == 8 else np.int32(value)


@_compiled
def _cell_24(packed: I32, channel: int, row: I32) -> np.int32:
    total = np.int32(0)
    for i in range(CELL):
        row[i] = np.int32(np.int32(packed[i, channel] << 8) >> 8)
        total = np.int32(total + row[i])
    return total


@_compiled
def _cell(packed: I32, bits: int, channel: int, row: I32) -> np.int32:
    total = np.int32(0)
    for i in range(CELL):
        row[i] = _one(packed[i, channel], bits)
        total = np.int32(total + row[i])
    return total


@_compiled
def _lay(packed: I32, bits: int, channel: int, row: I32, cells: I32) -> np.int64:
    """Lay one channel of a bucket out, sum its cells, and return the sum of all."""
    total, whole = np.int64(0), len(row) // CELL
    for c in range(whole):
        part, into = packed[c * CELL : c * CELL + CELL], row[c * CELL : c * CELL + CELL]
        cells[c] = _cell_24(part, channel, into) if bits == 24 else _cell(part, bits, channel, into)
        total += cells[c]
    for i in range(whole * CELL, len(row)):
        row[i] = _one(packed[i, channel], bits)
        total += row[i]
    return total


@_compiled
def _lay_float(packed: F32, channel: int, row: I32, cells: I32) -> tuple[np.int64, int]:
    """Do so for floats, in steps of 2^-23; return how many were no number and became 0, too."""
    total, bad = np.int64(0), 0
    cells[:] = 0
    for i in range(len(row)):
        value = np.float64(packed[i, channel]) * _STEPS
        if not np.isfinite(value):
            bad += 1
            value = np.float64(0)
        row[i] = np.int32(np.rint(min(max(value, np.float64(-_MOST)), np.float64(_MOST))))
        cells[i // CELL] += row[i]
        total += row[i]
    return total, bad


@_compiled
def _bucket(row: I32, at: int, count: int, peaks: I32, sums: I64) -> np.int32:
    """Measure a bucket; return the bits that are set in it."""
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
    return bits


@_compiled
def take(packed: I32, bits: int, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32) -> None:
    """Lay interleaved whole numbers, (frames, channels), out by channel from column `first` on, and measure them.

    From bucket `slot` on, `peaks`, (channels, buckets, 3), takes minimum, maximum and largest bend; `sums`, (channels,
    buckets, 4), takes sum, energy, bends and how many bends are 0; `cells`, (channels, buckets, cells), takes the sums
    of cells. `used` gathers the bits that are ever set.
    """
    for b in range((packed.shape[0] + BUCKET - 1) // BUCKET):
        part = packed[b * BUCKET : min((b + 1) * BUCKET, packed.shape[0])]
        at, place = first + b * BUCKET, slot + b
        for channel in range(packed.shape[1]):
            row, sums_here = x[channel], sums[channel, place]
            sums_here[0] = _lay(part, bits, channel, row[at : at + len(part)], cells[channel, place])
            used[channel] |= np.int32(_bucket(row, at, len(part), peaks[channel, place], sums_here))


@_compiled
def take_float(packed: F32, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32) -> int:
    """Do as `take` for floats, in steps of 2^-23 of full scale; return how many were no number and became 0."""
    bad = 0
    for b in range((packed.shape[0] + BUCKET - 1) // BUCKET):
        part = packed[b * BUCKET : min((b + 1) * BUCKET, packed.shape[0])]
        at, place = first + b * BUCKET, slot + b
        for channel in range(packed.shape[1]):
            row, sums_here = x[channel], sums[channel, place]
            total, more = _lay_float(part, channel, row[at : at + len(part)], cells[channel, place])
            sums_here[0] = total
            bad += more
            used[channel] |= np.int32(_bucket(row, at, len(part), peaks[channel, place], sums_here))
    return bad


@_compiled
def rail_runs(x: I32, spans: I64, rail: int, low: int, high: int, out: I64) -> int:
    """Find runs of samples at full scale.

    Rows: channel, start, end, steeper of the slopes just outside.
    """
    found = 0
    for s in range(len(spans)):
        channel, i, end = spans[s]
        row = x[channel]
        while i < end:
            sign = 1 if row[i] >= rail else -1
            j = i
            while j < end and row[j] * sign >= rail:
                j += 1
            if j - i >= RAIL_LEAST:
                rise = abs(row[i - 1] - row[i - 2]) if i - 2 >= low else 0
                fall = abs(row[j + 1] - row[j]) if j + 1 < high else 0
                if found < len(out):
                    out[found, 0], out[found, 1], out[found, 2], out[found, 3] = channel, i, j, max(rise, fall)
                found += 1
            i = max(j, i + 1)
    return found


@_compiled
def _peak(part: I32) -> int:
    peak = np.int64(0)
    for i in range(len(part)):
        peak = max(peak, abs(np.int64(part[i])))
    return int(peak)


@_compiled
def _start_of_flat(row: I32, at: int, low: int) -> int:
    while at > low and row[at - 1] == row[at]:
        at -= 1
    return at


@_compiled
def _end_of_flat(row: I32, at: int, high: int) -> int:
    at += 1
    while at < high and row[at] == row[at - 1]:
        at += 1
    return at


@_compiled
def flat_runs(x: I32, spans: I64, low: int, high: int, out: I64) -> int:
    """Find runs of equal samples, with what stands on both sides.

    A run is followed to both sides as far as there are columns.

    Rows: channel, start, end, value, peak before, peak after, jump into it, jump out of it, peaks right beside it.
    """
    found = 0
    for s in range(len(spans)):
        channel, i, end = spans[s]
        row = x[channel]
        start = _start_of_flat(row, i, low)
        while i < end:
            i = _end_of_flat(row, i, high)
            if i - start >= FLAT_LEAST:
                if found < len(out):
                    out[found, 0], out[found, 1], out[found, 2] = channel, start, i
                    out[found, 3] = row[start]
                    out[found, 4] = _peak(row[max(low, start - CONTEXT) : start])
                    out[found, 5] = _peak(row[i : min(high, i + CONTEXT)])
                    out[found, 6] = abs(np.int64(row[start - 1]) - row[start]) if start > low else 0
                    out[found, 7] = abs(np.int64(row[i]) - row[start]) if i < high else 0
                    out[found, 8] = _peak(row[max(low, start - EDGE) : start])
                    out[found, 9] = _peak(row[i : min(high, i + EDGE)])
                found += 1
            start = i
    return found


@_compiled
def _seen(earlier: I16, value: int) -> bool:
    hits = np.int16(0)
    for i in range(LAGS):
        hits += np.int16(earlier[i] == value)
    return bool(hits > 0)


@_compiled
def _stands_twice(now: I32, then: I32) -> bool:
    change = False
    for i in range(len(now)):
        if now[i] != then[i]:
            return False
        change = change or now[i] != now[0]
    return change


@_compiled
def _repeated(row: I32, at: int, lag: int, low: int, high: int) -> tuple[int, int]:
    """From where to where the samples around a column equal those a lag earlier; nowhere if the cell there does not."""
    if at - lag < low or not _stands_twice(row[at : at + CELL], row[at - lag : at - lag + CELL]):
        return at, at
    start, end = at, at + CELL
    while start - lag - 1 >= low and row[start - 1] == row[start - 1 - lag]:
        start -= 1
    while end < high and row[end] == row[end - lag]:
        end += 1
    return start, end


@_compiled
def _lag_at(row: I32, cells: I32, c: int, at: int, low: int, high: int) -> tuple[int, int, int]:
    """Shortest lag at which the block around a cell stands twice, and from where to where; 0 where it does not."""
    for back in range(2, LAGS + 1):
        if cells[c - back] == cells[c]:
            lag = back * CELL
            start, end = _repeated(row, at, lag, low, high)
            if end - start >= lag:
                return lag, start, end
    return 0, at, at


@_compiled
def repeats(x: I32, cells: I32, begin: int, end: int, first: int, low: int, high: int, out: I64) -> int:
    """Find blocks that stand twice, one right after the other, sample for sample.

    Cells from `begin` to `end` are looked at, the first of them begins at column `first`; at least `LAGS` cells go
    before it. Every second cell is looked at, so a block of 48 samples or more is never missed.

    Rows: channel, start of the second, lag, samples that are equal, peak within.
    """
    found = 0
    for channel in range(x.shape[0]):
        row, own, past = x[channel], cells[channel], low
        short = own.astype(np.int16)  # half as wide is twice as fast to compare; chance hits are looked into
        for c in range(begin, end, 2):
            at = first + (c - begin) * CELL
            if at < past or not _seen(short[c - LAGS : c], short[c]):
                continue
            lag, start, stop = _lag_at(row, own, c, at, low, high)
            past = max(past, stop if lag else low)
            if lag and start >= first:
                if found < len(out):
                    out[found, 0], out[found, 1], out[found, 2], out[found, 3] = channel, start, lag, stop - start
                    out[found, 4] = _peak(row[start : start + lag])
                found += 1
    return found


@_compiled
def _highest(peaks: I32, side: int, begin: int, end: int) -> int:
    best = begin
    for b in range(begin, end):
        if (peaks[b, 1] > peaks[best, 1]) if side == 0 else (peaks[b, 0] < peaks[best, 0]):
            best = b
    return best


@_compiled
def _widest(row: I32, sign: int, floor: int, begin: int, end: int) -> int:
    """First column of the longest run above a floor."""
    at, longest, start = begin, 0, begin
    for i in range(begin, end):
        if row[i] * sign < floor:
            start = i + 1
        elif i + 1 - start > longest:
            at, longest = start, i + 1 - start
    return at


@_compiled
def _top(row: I32, sign: int, best: int, at: int, low: int, high: int, out: I64) -> None:
    """Measure the peak at a column: width within 1/128 of its height, fall within a quarter of that, start."""
    left, right, floor = at, at + 1, best - (best >> 7)
    while left > max(low, at - TOP_REACH) and row[left - 1] * sign >= floor:
        left -= 1
    while right < min(high, at + TOP_REACH) and row[right] * sign >= floor:
        right += 1
    near = max(TOP_NEAR, (right - left) // 4)
    before, after = best, best
    if left - near >= low and right + near <= high:
        for i in range(near):
            before = min(before, int(row[left - 1 - i]) * sign)
            after = min(after, int(row[right + i]) * sign)
    out[0], out[1], out[2], out[3] = best, right - left, best - max(before, after), left


@_compiled
def tops(x: I32, peaks: I32, buckets: int, first: int, least: int, low: int, high: int, out: I64) -> None:
    """Look at the highest and the lowest peak of every top window from column `first` on.

    Where a bucket goes up to its peak more than once, the longest stay there is looked at. `peaks` is that of the same
    `buckets`. `out`, (channels, windows, 2, 4), takes for each side height, width, fall and
    first column, as if upwards; zeros for a peak below `least`.
    """
    for channel in range(x.shape[0]):
        row = x[channel]
        for w in range(out.shape[1]):
            for side in range(2):
                end = min(w * _PER_TOP + _PER_TOP, buckets)
                b = _highest(peaks[channel], side, w * _PER_TOP, end)
                value, sign = peaks[channel, b, 1 - side], 1 - 2 * side
                if value * sign < least:
                    continue
                best, begin = np.int64(value) * sign, first + b * BUCKET
                at = _widest(row, sign, int(best - (best >> 7)), begin, min(begin + BUCKET, high))
                _top(row, sign, int(best), at, low, high, out[channel, w, side])


@_compiled
def _bends(part: I32) -> int:
    bends = np.int64(0)
    for i in range(2, len(part)):
        bends += abs(np.int64(part[i]) - 2 * np.int64(part[i - 1]) + (part[i - 2]))
    return int(bends)


@_compiled
def _sharpest(row: I32, at: int, best: int) -> bool:
    """Whether a bend is the sharpest around it, and the first of that size."""
    for i in range(at - CLICK_GAP, at + CLICK_GAP + 1):
        bend = _bends(row[i - 2 : i + 1])
        if bend > best or (bend == best and i < at):
            return False
    return True


@_compiled
def clicks(x: I32, spans: I64, low: int, high: int, out: I64) -> int:
    """Find the sharpest bend of each span, if none beside the span is sharper, and how much it bends on both sides.

    Rows: channel, column, bend there, bend one later, bends before, bends after.
    """
    found = 0
    for s in range(len(spans)):
        channel, begin, end = spans[s]
        row = x[channel]
        best, at = -1, begin
        for i in range(max(begin, low + 2), end):
            bend = _bends(row[i - 2 : i + 1])
            if bend > best:
                best, at = bend, i
        start, stop = at - CLICK_GAP - CLICK_REACH, at + CLICK_GAP + 1 + CLICK_REACH
        if start - 2 < low or stop > high or not _sharpest(row, at, best):
            continue
        if found < len(out):
            out[found, 0], out[found, 1], out[found, 2] = channel, at, best
            out[found, 3] = _bends(row[at - 1 : at + 2])
            out[found, 4] = _bends(row[start - 2 : start + CLICK_REACH])
            out[found, 5] = _bends(row[stop - CLICK_REACH - 2 : stop])
        found += 1
    return found
