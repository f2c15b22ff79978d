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
def spread_16(packed: I32, out: I32, first: int, less: int) -> None:
    """Lay interleaved samples of 8 or 16 bits, (frames, channels), out by channel from column `first` on."""
    for start in range(0, packed.shape[0], BUCKET):
        part = packed[start : min(start + BUCKET, packed.shape[0])]
        for channel in range(packed.shape[1]):
            row = out[channel, first + start : first + start + len(part)]
            for i in range(len(part)):
                row[i] = part[i, channel] - less


@_compiled
def spread_24(packed: I32, out: I32, first: int) -> None:
    """Lay interleaved samples of 24 bits, each read as the low part of the 32 that start with it, out by channel."""
    for start in range(0, packed.shape[0], BUCKET):
        part = packed[start : min(start + BUCKET, packed.shape[0])]
        for channel in range(packed.shape[1]):
            row = out[channel, first + start : first + start + len(part)]
            for i in range(len(part)):
                row[i] = np.int32(part[i, channel] << 8) >> 8


@_compiled
def spread_32(packed: I32, out: I32, first: int) -> None:
    """Lay interleaved samples of 32 bits out by channel; the top 27 are kept."""
    for start in range(0, packed.shape[0], BUCKET):
        part = packed[start : min(start + BUCKET, packed.shape[0])]
        for channel in range(packed.shape[1]):
            row = out[channel, first + start : first + start + len(part)]
            for i in range(len(part)):
                row[i] = part[i, channel] >> 5


@_compiled
def spread_float(packed: F32, out: I32, first: int) -> int:
    """Lay interleaved floats out by channel in steps of 2^-23; return how many were no number and became 0."""
    bad = 0
    for start in range(0, packed.shape[0], BUCKET):
        part = packed[start : min(start + BUCKET, packed.shape[0])]
        for channel in range(packed.shape[1]):
            row = out[channel, first + start : first + start + len(part)]
            for i in range(len(part)):
                value = np.float64(part[i, channel]) * _STEPS
                if not np.isfinite(value):
                    bad += 1
                    value = np.float64(0)
                row[i] = np.int32(np.rint(min(max(value, np.float64(-_MOST)), np.float64(_MOST))))
    return bad


@_compiled
def _extremes(now: I32, peaks: I32) -> int:
    low, high, bits = now[0], now[0], np.int32(0)
    for i in range(len(now)):
        low = min(low, now[i])
        high = max(high, now[i])
        bits |= now[i]
    peaks[0], peaks[1] = low, high
    return int(bits)


@_compiled
def _energy(now: I32, sums: I64) -> None:
    total, energy = np.int64(0), np.int64(0)
    for i in range(len(now)):
        value = np.int64(now[i])
        total += value
        energy += value * value
    sums[0], sums[1] = total, energy


@_compiled
def _moves(now: I32, last: I32, before: I32, peaks: I32, sums: I64) -> None:
    step_max, bend_max, steps, bends, same = np.int32(0), np.int32(0), np.int64(0), np.int64(0), np.int32(0)
    for i in range(len(now)):
        step = np.int32((now[i]) - (last[i]))
        bend = np.int32(step - np.int32((last[i]) - (before[i])))
        same += np.int32((now[i] == last[i]) & (last[i] == before[i]))
        step, bend = np.int32(abs(step)), np.int32(abs(bend))
        step_max, bend_max = max(step_max, step), max(bend_max, bend)
        steps += step
        bends += bend
    peaks[2], peaks[3] = step_max, bend_max
    sums[2], sums[3], sums[4] = steps, bends, same


@_compiled
def buckets(x: I32, first: int, frames: int, peaks: I32, sums: I64, used: I32) -> None:
    """Measure every bucket from column `first` on.

    `peaks`, (channels, buckets, 4), takes minimum, maximum, largest step and largest bend; `sums`, (channels, buckets,
    5), takes sum, energy, steps, bends and how often three samples running are equal. `used` gathers the
    bits that are ever set.
    """
    for channel in range(x.shape[0]):
        bits = np.int32(0)
        for b in range(peaks.shape[1]):
            start = first + b * BUCKET
            end = min(start + BUCKET, first + frames)
            now = x[channel, start:end]
            bits |= _extremes(now, peaks[channel, b])
            _energy(now, sums[channel, b])
            last, before = x[channel, start - 1 : end - 1], x[channel, start - 2 : end - 2]
            _moves(now, last, before, peaks[channel, b], sums[channel, b])
        used[channel] |= bits


@_compiled
def cells(x: I32, first: int, out: I32) -> None:
    """Sum every cell from column `first` on."""
    for channel in range(x.shape[0]):
        for c in range(out.shape[1]):
            part = x[channel, first + c * CELL : first + c * CELL + CELL]
            total = np.int32(0)
            for i in range(CELL):
                total = np.int32(total + (part[i]))
            out[channel, c] = total


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
def _seen(earlier: I32, value: int) -> bool:
    hits = np.int32(0)
    for i in range(LAGS):
        hits += np.int32(earlier[i] == value)
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
def repeats(x: I32, sums: I32, first: int, low: int, high: int, out: I64) -> int:
    """Find blocks that stand twice, one right after the other, sample for sample.

    Cell `LAGS` of `sums` begins at column `first`; those before it are of what went before. Every second cell is looked
    at, so a block of 48 samples or more is never missed.

    Rows: channel, start of the second, lag, samples that are equal, peak within.
    """
    found = 0
    for channel in range(x.shape[0]):
        row, past = x[channel], low
        for c in range(LAGS, sums.shape[1], 2):
            total, at = sums[channel, c], first + (c - LAGS) * CELL
            if at < past or not _seen(sums[channel, c - LAGS : c], total):
                continue
            for back in range(2, LAGS + 1):
                if sums[channel, c - back] != total:
                    continue
                lag = back * CELL
                start, end = _repeated(row, at, lag, low, high)
                if end - start < lag:
                    continue
                past = end
                if start >= first:
                    if found < len(out):
                        out[found, 0], out[found, 1], out[found, 2], out[found, 3] = channel, start, lag, end - start
                        out[found, 4] = _peak(row[start : start + lag])
                    found += 1
                break
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
def tops(x: I32, peaks: I32, first: int, least: int, low: int, high: int, out: I64) -> None:
    """Look at the highest and the lowest peak of every top window from column `first` on.

    Where a bucket goes up to its peak more than once, the longest stay there is looked at. `peaks` is that of the same
    buckets. `out`, (channels, windows, 2, 4), takes for each side height, width, fall and
    first column, as if upwards; zeros for a peak below `least`.
    """
    for channel in range(x.shape[0]):
        row = x[channel]
        for w in range(out.shape[1]):
            for side in range(2):
                end = min(w * _PER_TOP + _PER_TOP, peaks.shape[1])
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
