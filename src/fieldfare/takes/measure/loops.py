"""The inner loops of measuring, compiled: whole numbers only, one channel at a time, in order of time.

Needs the compiler library; `arrays` says the same without it, slower, with equal results. Slices, rather than indexes
that are sums, are what lets the compiler use the wide registers.

Conventions: `x` holds samples of shape (channels, columns); `low` and `high` are the first column of the recording and
the one after its last; spans are rows of (channel, first column, column after the last); what is found goes into rows
of `out`, and the number found is returned even where `out` has no room for all.
"""

from __future__ import annotations

import numpy as np

from fieldfare.takes.measure.grain import (
    BUCKET,
    CELL,
    CELL_CHANGES,
    CLICK_GAP,
    CLICK_REACH,
    CLICK_RING,
    CONTEXT,
    EDGE,
    F32,
    F64,
    FLAT_LEAST,
    GLIMPSE_BUCKETS,
    GLIMPSE_SAMPLES,
    I32,
    I64,
    LAGS,
    RAIL_LEAST,
    TOP_FLAT,
    TOP_LEAST,
    TOP_NEAR,
    TOP_REACH,
    TOP_WINDOW,
)
from fieldfare.takes.measure.laying import compiled, take, take_24, take_float

__all__ = [
    "bend_sums",
    "clicks",
    "flat_runs",
    "fold",
    "glimpses",
    "rail_runs",
    "repeats",
    "take",
    "take_24",
    "take_float",
    "tops",
]
_PER_TOP = TOP_WINDOW // BUCKET
_STRETCH = 64  # samples that are passed over at once where none is as high as is looked for
_SLOTS = 12  # bits of a slot's number in the table of sums seen


@compiled
def _extent(stretch: I32) -> tuple[int, int]:
    """Lowest and highest sample of a stretch, or 0."""
    low, high = np.int32(0), np.int32(0)
    for i in range(_STRETCH):
        low, high = min(low, stretch[i]), max(high, stretch[i])
    return int(low), int(high)


@compiled
def _may_reach(row: I32, at: int, stop: int, sign: int, level: int) -> bool:
    """Whether a stretch may reach a level on one side of zero, or on either where the sign is 0."""
    if stop - at < _STRETCH:
        return True
    low, high = _extent(row[at : at + _STRETCH])
    return (sign >= 0 and high >= level) or (sign <= 0 and -low >= level)


@compiled
def rail_runs(x: I32, spans: I64, rail: int, low: int, high: int, out: I64) -> int:
    """Find runs of samples at full scale.

    Rows: channel, start, end, steeper of the slopes just outside.
    """
    found = 0
    for s in range(len(spans)):
        channel, i, end = spans[s]
        row = x[channel]
        while i < end:
            stop = min(i + _STRETCH, end)
            if not _may_reach(row, i, stop, 0, rail):
                i = stop
            while i < stop:
                sign, j = (1 if row[i] > 0 else -1), i
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


@compiled
def _peak(part: I32) -> int:
    peak = np.int64(0)
    for i in range(len(part)):
        peak = max(peak, abs(np.int64(part[i])))
    return int(peak)


@compiled
def _start_of_flat(row: I32, at: int, low: int) -> int:
    while at > low and row[at - 1] == row[at]:
        at -= 1
    return at


@compiled
def _end_of_flat(row: I32, at: int, high: int) -> int:
    at += 1
    while at < high and row[at] == row[at - 1]:
        at += 1
    return at


@compiled
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


@compiled
def _slot(value: int) -> np.uint64:
    """The slot of a sum: multiplied by the golden section of 2^32, the upper bits."""
    return ((np.uint64(np.uint32(value)) * np.uint64(2654435761)) & np.uint64(0xFFFFFFFF)) >> np.uint64(32 - _SLOTS)


@compiled
def _is_lively(cell: I32, gate: int) -> bool:
    """Whether a cell reaches a gate, and changes from sample to sample."""
    low, high, changes = cell[0], cell[0], 0
    for i in range(1, CELL):
        low, high = min(low, cell[i]), max(high, cell[i])
        changes += cell[i] != cell[i - 1]
    return bool(changes >= CELL_CHANGES and max(np.int64(high), -np.int64(low)) >= gate)


@compiled
def _is_among(values: I32, value: int) -> bool:
    """Whether a value is among some."""
    there = False
    for i in range(len(values)):
        there |= values[i] == value
    return there


@compiled
def _stands_twice(now: I32, then: I32) -> bool:
    same = True
    for i in range(len(now)):
        same = same and now[i] == then[i]
    return same


@compiled
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


@compiled
def _lag_at(row: I32, cells: I32, c: int, at: int, low: int, high: int) -> tuple[int, int, int]:
    """Shortest lag at which the block around a cell stands twice, and from where to where; 0 where it does not."""
    for back in range(2, LAGS + 1):
        if cells[c - back] == cells[c]:
            lag = back * CELL
            start, end = _repeated(row, at, lag, low, high)
            if end - start >= lag:
                return lag, start, end
    return 0, at, at


@compiled
def repeats(x: I32, cells: I32, begin: int, end: int, first: int, low: int, high: int, gate: int, out: I64) -> int:
    """Find blocks that stand twice, one right after the other, sample for sample.

    Cells from `begin` to `end` are looked at, the first of them begins at column `first`; at least `LAGS` cells go
    before it. Every second cell is looked at, so a block of 48 samples or more is never missed; cells that stay below
    `gate` are passed over. A table tells where a sum was last seen; chance hits are looked into.

    Rows: channel, start of the second, lag, samples that are equal, peak within.
    """
    found, seen = 0, np.empty(1 << _SLOTS, np.int32)
    for channel in range(x.shape[0]):
        row, own, past = x[channel], cells[channel], low
        seen[:] = begin - 2 * LAGS
        for c in range(begin - LAGS, begin):
            seen[_slot(own[c])] = c
        for c in range(begin, end, 2):
            slot, at = _slot(own[c]), first + (c - begin) * CELL
            last, seen[slot] = seen[slot], c
            if c + 1 < end:
                seen[_slot(own[c + 1])] = c + 1
            if c - last > LAGS or at < past or not _is_among(own[c - LAGS : c - 1], own[c]):
                continue
            if not _is_lively(row[at : at + CELL], gate):
                continue
            lag, start, stop = _lag_at(row, own, c, at, low, high)
            past = max(past, stop if lag else low)
            if lag and start >= first:
                if found < len(out):
                    out[found, 0], out[found, 1], out[found, 2], out[found, 3] = channel, start, lag, stop - start
                    out[found, 4] = _peak(row[start : start + lag])
                found += 1
    return found


@compiled
def _highest(values: I32, begin: int, end: int, sign: int) -> int:
    best = begin
    for b in range(begin, end):
        if values[b] * sign > values[best] * sign:
            best = b
    return best


@compiled
def _longest(row: I32, sign: int, floor: int, begin: int, end: int) -> tuple[int, int]:
    """First column and length of the longest run that reaches a floor."""
    at, longest, start = begin, 0, begin
    for stretch in range(begin, end, _STRETCH):
        stop = min(stretch + _STRETCH, end)
        if not _may_reach(row, stretch, stop, sign, floor):
            start = stop
            continue
        for i in range(stretch, stop):
            if row[i] * sign < floor:
                start = i + 1
            elif i + 1 - start > longest:
                at, longest = start, i + 1 - start
    return at, longest


@compiled
def _top(row: I32, sign: int, best: int, at: int, low: int, high: int) -> tuple[int, int, int]:
    """First column and width of the peak at a column, within 1/128 of its height, and fall within a quarter of that.

    The fall is that of the steeper side: a top that sags behind a coupling capacitor is left slowly on the other.
    """
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
    return left, right - left, best - min(before, after)


@compiled
def _flat_top(row: I32, sign: int, best: int, begin: int, end: int, low: int, high: int) -> tuple[int, int, bool]:
    """First column and width of the longest stay at the peak of a bucket, and whether it is flat."""
    floor = best - (best >> 7)
    at, longest = _longest(row, sign, floor, begin, end)
    edge = max(np.int64(row[begin]) * sign, np.int64(row[end - 1]) * sign)
    if edge < floor and longest < TOP_LEAST:
        return at, longest, False
    left, width, fall = _top(row, sign, best, at, low, high)
    reach = 1 + 2 * max(TOP_NEAR, width // 4) / width  # a parabola falls by this squared
    return left, width, width >= TOP_LEAST and fall >= TOP_FLAT * (best >> 7) * (reach * reach)


@compiled
def _step(steps: F64, per_ratio: float, height: int) -> int:
    """How many steps lie above a height, or at it; they fall by one ratio, so many to one of e."""
    if height < steps[-1]:
        return len(steps)
    count = max(0, int(np.log(steps[0] / height) * per_ratio))
    while count < len(steps) and steps[count] >= height:
        count += 1
    while count > 0 and steps[count - 1] < height:
        count -= 1
    return count


@compiled
def tops(
    x: I32, peaks: I32, begin: int, end: int, first: int, steps: F64, low: int, high: int, counts: I32, out: I64
) -> int:
    """Look at the highest and the lowest peak of every top window in buckets from `begin` to `end`.

    Where a bucket goes up to its peak more than once, the longest stay there is looked at. Bucket 0 of `peaks` begins
    at column `first`. Peaks at or below the last of the falling `steps`, and those above the first, do not count; the
    others are counted in `counts`, (channels, sides, steps between, round or flat).

    Rows, of flat tops: channel, side, first column, width, step.
    """
    found, per_ratio = 0, 1 / np.log(steps[0] / steps[1])
    for channel in range(x.shape[0]):
        row = x[channel]
        for window in range(begin, end, _PER_TOP):
            for side in range(2):
                sign, own = 1 - 2 * side, peaks[1 - side, channel]
                b = _highest(own, window, min(window + _PER_TOP, end), sign)
                best = np.int64(own[b]) * sign
                step = _step(steps, per_ratio, int(best)) - 1
                if step < 0 or step >= len(steps) - 1:
                    continue
                at, stop = first + b * BUCKET, min(first + b * BUCKET + BUCKET, high)
                left, width, flat = _flat_top(row, sign, int(best), at, stop, low, high)
                counts[channel, side, step, int(flat)] += 1
                if flat:
                    if found < len(out):
                        out[found, 0], out[found, 1], out[found, 2] = channel, side, left
                        out[found, 3], out[found, 4] = width, step
                    found += 1
    return found


@compiled
def _bends(part: I32) -> int:
    bends = np.int64(0)
    for i in range(len(part) - 2):  # forwards from 0, which is compiled eight at a time
        bends += abs(np.int64(part[i + 2]) - 2 * np.int64(part[i + 1]) + part[i])
    return int(bends)


@compiled
def bend_sums(row: I32, first: int, block: int, out: I64) -> None:
    """Sum the bends of one block after another, from a column on."""
    for k in range(len(out)):
        begin = first + k * block
        out[k] = _bends(row[begin - 2 : begin + block])


@compiled
def _sharpest(row: I32, at: int, best: int) -> bool:
    """Whether a bend is the sharpest around it, and the first of that size."""
    for i in range(at - CLICK_GAP, at + CLICK_GAP + 1):
        bend = _bends(row[i - 2 : i + 1])
        if bend > best or (bend == best and i < at):
            return False
    return True


@compiled
def clicks(x: I32, spans: I64, low: int, high: int, out: I64) -> int:
    """Find the sharpest bend of each span, if none beside the span is sharper, and how much it bends on both sides.

    Rows: channel, column, bend there, bend one later, bends before, and bends after: right there, or where a spark has
    rung out, whichever are less.
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
        start, stop = at - CLICK_GAP - CLICK_REACH, at + CLICK_RING + 1 + CLICK_REACH
        if start - 2 < low or stop > high or not _sharpest(row, at, best):
            continue
        if found < len(out):
            out[found, 0], out[found, 1], out[found, 2] = channel, at, best
            out[found, 3] = _bends(row[at - 1 : at + 2])
            out[found, 4] = _bends(row[start - 2 : start + CLICK_REACH])
            beside = at + CLICK_GAP + 1
            out[found, 5] = min(
                _bends(row[beside - 2 : beside + CLICK_REACH]), _bends(row[stop - CLICK_REACH - 2 : stop])
            )
        found += 1
    return found


@compiled
def _fold_pairs(pairs: I32, factor: np.float32, low: F32) -> None:
    for i in range(len(low)):
        low[i] = (np.float32(pairs[i, 0]) + np.float32(pairs[i, 1])) * factor


@compiled
def fold(cells: I32, first: int, per: int, scale: float, out: F32, at: int, count: int) -> None:
    """Sum so many cells to one sample of the low band, and scale it.

    Cells, (channels, cells), from the first on become as many samples as told of `out`, (channels, samples), from `at`
    on.
    """
    factor = np.float32(scale)
    for channel in range(out.shape[0]):
        row, low = cells[channel, first : first + count * per], out[channel, at : at + count]
        if per == 2:  # as it is at 44.1 and 48 kHz
            _fold_pairs(row.reshape(count, 2), factor, low)
            continue
        for i in range(count):
            total = np.float32(0)
            for c in range(i * per, i * per + per):
                total += np.float32(row[c])
            low[i] = total * factor


@compiled
def glimpses(x: I32, bends: I64, begin: int, first: int, window: F32, out: F32, at: I64) -> None:
    """Take the start of the bucket that bends least of every so many, from bucket `begin` on, through a window.

    Bucket 0 of `bends` begins at column `first`. `out`, (glimpses, channels, samples), is filled; `at`, (glimpses,
    channels), tells which buckets they are.
    """
    for channel in range(x.shape[0]):
        for g in range(len(out)):
            b = begin + g * GLIMPSE_BUCKETS
            for other in range(b + 1, begin + (g + 1) * GLIMPSE_BUCKETS):
                if bends[channel, other] < bends[channel, b]:
                    b = other
            at[g, channel], column = b, first + b * BUCKET
            part, looks = x[channel, column : column + GLIMPSE_SAMPLES], out[g, channel]
            for i in range(GLIMPSE_SAMPLES):
                looks[i] = np.float32(part[i]) * window[i]
