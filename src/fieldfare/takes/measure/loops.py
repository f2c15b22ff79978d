"""The inner loops of measuring, compiled: whole numbers only, one channel at a time, in order of time.

Needs the compiler library; `arrays` says the same without it, slower, with equal results. Slices, rather than indexes
that are sums, are what lets the compiler use the wide registers.

Conventions: `x` holds samples of shape (channels, columns); `low` and `high` are the first column of the recording and
the one after its last; spans are rows of (channel, first column, column after the last); what is found goes into rows
of `out`, and the number found is returned even where `out` has no room for all.
"""

from __future__ import annotations

import numpy as np

from fieldfare.takes.compiler import compiled
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
    FLAT_LEAST,
    GLIMPSE_BUCKETS,
    GLIMPSE_SAMPLES,
    I32,
    I64,
    LAGS,
)
from fieldfare.takes.measure.heights import rail_runs, tops
from fieldfare.takes.measure.laying import take, take_24, take_float

__all__ = [
    "bend_sums",
    "clicks",
    "flat_runs",
    "fold",
    "glimpses",
    "hisses",
    "lines",
    "rail_runs",
    "repeats",
    "take",
    "take_24",
    "take_float",
    "tops",
    "totals",
    "turns",
]
_SLOTS = 12  # bits of a slot's number in the table of sums seen


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


@compiled
def totals(peaks: I32, sums: I64, begin: int, end: int, highest: I64, total: I64) -> None:
    """Add the sums of buckets from `begin` to `end` to each channel's `total`, and tell its `highest` magnitude."""
    for channel in range(len(total)):
        low, high, added = np.int32(0), np.int32(0), np.int64(0)
        lowest, above = peaks[0, channel, begin:end], peaks[1, channel, begin:end]
        own = sums[0, channel, begin:end]
        for b in range(len(own)):
            low, high = min(low, lowest[b]), max(high, above[b])
            added += own[b]
        highest[channel] = max(np.int64(high), -np.int64(low))
        total[channel] += added


@compiled
def turns(sums: I64, begin: int, end: int, scale: float, out: F32, at: int) -> None:
    """Tell mean, power about it and mean bend of buckets from `begin` to `end`, re full scale.

    `out`, (3, channels, buckets), takes them from `at` on; `scale` is one over full scale.
    """
    once, squared = scale / BUCKET, scale * scale / BUCKET
    for channel in range(sums.shape[1]):
        for b in range(end - begin):
            mean = sums[0, channel, begin + b] * once
            power = sums[1, channel, begin + b] * squared - mean * mean
            out[0, channel, at + b], out[1, channel, at + b] = mean, max(power, 0.0)
            out[2, channel, at + b] = sums[2, channel, begin + b] * once


@compiled
def _falls(bends: I64, b: int, later: int, most: float) -> bool:
    """Whether one of so many buckets after one bends no more than that; after the last there is silence."""
    duller = b + later >= len(bends)
    for other in range(b + 1, min(b + 1 + later, len(bends))):
        duller = duller or bends[other] <= most
    return duller


@compiled
def hisses(sums: I64, buckets: int, ahead: int, least: float, bright: float, later: int, fall: float, out: I64) -> int:
    """Find buckets that are loud and bright, and duller within so many `later` ones.

    The first `buckets` are asked about, `ahead` more are there. Loud is an energy of `least`; bright are bends whose
    square is `bright` times the energy; duller is `fall` times the bends.

    Rows: channel, bucket.
    """
    found = 0
    for channel in range(sums.shape[1]):
        bends = sums[2, channel, : buckets + ahead]
        for b in range(buckets):
            energy, own = np.float64(sums[1, channel, b]), np.float64(bends[b])
            if energy >= least and own * own >= bright * energy and _falls(bends, b, later, own * fall):
                if found < len(out):
                    out[found, 0], out[found, 1] = channel, b
                found += 1
    return found


@compiled
def _middle(row: F32, places: I64, order: F32) -> np.float32:
    """The middle one of what stands in a row below a line and above it."""
    count = 0
    for i in range(places[3] - places[2] + places[5] - places[4]):
        below = places[2] + i
        value, k = row[below if below < places[3] else below - places[3] + places[4]], count
        while k > 0 and order[k - 1] > value:
            order[k] = order[k - 1]
            k -= 1
        order[k] = value
        count += 1
    return np.float32(order[count // 2])


@compiled
def lines(spectra: F32, places: I64, at: I64, near: F32, beside: F32) -> None:
    """Find the highest bin of every line in every spectrum, (spectra, bins), and what is around it.

    `places`, (lines, 6), tells from which bin to which a line may lie, and what counts as below it and above. `at`,
    (spectra, lines), takes the bin; `near`, (3, spectra, lines), that bin between its neighbours, as far as these lie
    there; `beside`, (spectra, lines), the middle of what is below and above.
    """
    room = np.empty(spectra.shape[1], np.float32)
    for s in range(len(spectra)):
        row = spectra[s]
        for line in range(len(places)):
            begin, end = places[line, 0], places[line, 1]
            best = begin
            for i in range(begin + 1, end):
                if row[i] > row[best]:
                    best = i
            first = min(max(best, begin + 1), end - 2) - 1
            at[s, line] = best
            for side in range(3):
                near[side, s, line] = row[first + side]
            beside[s, line] = _middle(row, places[line], room)
