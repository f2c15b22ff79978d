"""The loops that look for heights, compiled: runs at full scale, and how the highest peaks look.

The conventions are those of `loops`. Stretches in which nothing is as high as is looked for are passed over at once.
"""

from __future__ import annotations

import numpy as np

from fieldfare.takes.compiler import compiled
from fieldfare.takes.measure.grain import (
    BUCKET,
    F64,
    I32,
    I64,
    RAIL_LEAST,
    TOP_APART,
    TOP_FLAT,
    TOP_LEAST,
    TOP_NEAR,
    TOP_REACH,
    TOP_SEVERAL,
    TOP_WINDOW,
)

_PER_TOP = TOP_WINDOW // BUCKET
_STRETCH = 64  # samples that are passed over at once where none is as high as is looked for


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
def _highest(values: I32, begin: int, end: int, sign: int) -> int:
    best = begin
    for b in range(begin, end):
        if values[b] * sign > values[best] * sign:
            best = b
    return best


@compiled
def _longest(row: I32, sign: int, floor: int, begin: int, end: int) -> tuple[int, int, int, int]:
    """First column and length of the longest run that reaches a floor; how many are apart, and the last one's first."""
    at, longest, start, last, runs, again = begin, 0, begin, begin - TOP_APART - 1, 0, begin
    for stretch in range(begin, end, _STRETCH):
        stop = min(stretch + _STRETCH, end)
        if not _may_reach(row, stretch, stop, sign, floor):
            start = stop
            continue
        for i in range(stretch, stop):
            if row[i] * sign < floor:
                start = i + 1
                continue
            if i - last > TOP_APART:
                runs, again = runs + 1, i
            last = i
            if i + 1 - start > longest:
                at, longest = start, i + 1 - start
    return at, longest, runs, again


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
def _differ(row: I32, at: int, again: int, best: int, low: int, high: int) -> bool:
    """Whether what is beside two peaks differs by half of them: those of a steady wave look alike."""
    widest = np.int64(0)
    if min(at, again) - TOP_NEAR >= low and max(at, again) + TOP_NEAR < high:
        for i in range(-TOP_NEAR, TOP_NEAR + 1):
            widest = max(widest, abs(np.int64(row[at + i]) - row[again + i]))
    return bool(2 * widest >= best)


@compiled
def _look(row: I32, sign: int, best: int, begin: int, end: int, low: int, high: int) -> tuple[int, int, int]:
    """First column and width of the longest stay at the peak of a bucket, and 1 if it is flat, 2 if one of several.

    Several are steep, falling by half within a few samples, and differ: the peaks of a steady wave are as high too.
    """
    floor = best - (best >> 7)
    at, longest, stays, again = _longest(row, sign, floor, begin, end)
    edge = max(np.int64(row[begin]) * sign, np.int64(row[end - 1]) * sign)
    if edge < floor and longest < TOP_LEAST and stays < TOP_SEVERAL:
        return at, longest, 0
    left, width, fall = _top(row, sign, best, at, low, high)
    if width < TOP_LEAST:
        several = stays >= TOP_SEVERAL and 2 * fall >= best and _differ(row, left, again, best, low, high)
        return left, width, 2 * int(several)
    reach = 1 + 2 * max(TOP_NEAR, width // 4) / width  # a parabola falls by this squared
    return left, width, int(fall >= TOP_FLAT * (best >> 7) * (reach * reach))


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
    others are counted in `counts`, (channels, sides, steps between, round or flat or one of several).

    Rows, of those that are not round: channel, side, first column, width, step.
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
                left, width, look = _look(row, sign, int(best), at, stop, low, high)
                counts[channel, side, step, look] += 1
                if look:
                    if found < len(out):
                        out[found, 0], out[found, 1], out[found, 2] = channel, side, left
                        out[found, 3], out[found, 4] = width, step
                    found += 1
    return found
