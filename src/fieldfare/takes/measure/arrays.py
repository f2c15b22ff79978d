"""The loops of `loops`, said with arrays: the same names, arguments and results, for where nothing compiles them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

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
    TOP_APART,
    TOP_FLAT,
    TOP_LEAST,
    TOP_NEAR,
    TOP_REACH,
    TOP_SEVERAL,
    TOP_WINDOW,
    U8,
)
from fieldfare.takes.wave.samples import unpack_24

_PER_TOP = TOP_WINDOW // BUCKET
_STEPS = 8388608.0
_MOST = 67108864.0


def take_24(
    packed: U8, channels: int, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32
) -> None:
    """Lay packed 24-bit frames out by channel and measure them, as the compiled loop says."""
    laid = unpack_24(packed.data).reshape(-1, channels)
    x[:, first : first + len(laid)] = laid.T
    _measure(x, first, len(laid), slot, peaks, sums, cells, used)


def take(packed: I32, bits: int, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32) -> None:
    """Lay whole numbers of other widths out by channel and measure them, as the compiled loop says."""
    laid = packed >> 5 if bits == 32 else packed.astype(np.int32) - (128 if bits == 8 else 0)
    x[:, first : first + len(packed)] = laid.T
    _measure(x, first, len(packed), slot, peaks, sums, cells, used)


def take_float(packed: F32, x: I32, first: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32) -> int:
    """Do as `take` for floats, as the compiled loop says."""
    bad = ~np.isfinite(packed)
    steps = np.clip(np.where(bad, 0, packed).astype(np.float64) * _STEPS, -_MOST, _MOST)
    x[:, first : first + len(packed)] = np.rint(steps).astype(np.int32).T
    _measure(x, first, len(packed), slot, peaks, sums, cells, used)
    return int(np.count_nonzero(bad))


def _measure(x: I32, first: int, frames: int, slot: int, peaks: I32, sums: I64, cells: I32, used: I32) -> None:
    whole = frames // BUCKET
    for begin, count, width in ((0, whole, BUCKET), (whole, int(frames % BUCKET > 0), frames % BUCKET)):
        if count:
            start, place = first + begin * BUCKET, slice(slot + begin, slot + begin + count)
            part = x[:, start - 2 : start + count * width]
            _some_buckets(part, width, peaks[:, :, place], sums[:, :, place])
            first_cell, in_all = (slot + begin) * (BUCKET // CELL), count * width // CELL
            values = part[:, 2 : 2 + in_all * CELL].reshape(len(x), in_all, CELL)
            cells[:, first_cell : first_cell + in_all] = values.sum(axis=2, dtype=np.int32)
    np.bitwise_or(used, np.bitwise_or.reduce(x[:, first : first + frames], axis=1), out=used)


def _some_buckets(x: I32, width: int, peaks: I32, sums: I64) -> None:
    """Measure buckets of one width; two columns go before the first."""
    shape = (x.shape[0], -1, width)
    now = x[:, 2:]
    peaks[0], peaks[1] = now.reshape(shape).min(axis=2), now.reshape(shape).max(axis=2)
    bend = np.abs(np.diff(x, n=2, axis=1)).reshape(shape)
    peaks[2] = bend.max(axis=2)
    values = now.astype(np.int64).reshape(shape)
    sums[0], sums[1] = values.sum(axis=2), np.einsum("cbi,cbi->cb", values, values)
    sums[2], sums[3] = bend.sum(axis=2, dtype=np.int64), np.count_nonzero(bend == 0, axis=2)


def _runs(wanted: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Iterator[tuple[int, int]]:
    """Start and end of every stretch of true values."""
    edges = np.flatnonzero(np.diff(wanted.astype(np.int8), prepend=0, append=0))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def _write(out: I64, found: int, row: Sequence[int]) -> int:
    if found < len(out):
        out[found] = row
    return found + 1


def rail_runs(x: I32, spans: I64, rail: int, low: int, high: int, out: I64) -> int:
    """Find runs of samples at full scale, as the compiled loop says."""
    found = 0
    for channel, begin, end in spans.tolist():
        row = x[channel]
        part = row[begin:end].astype(np.int64)
        runs = sorted([*_runs(part >= rail), *_runs(part <= -rail)])
        for i, j in ((begin + i, begin + j) for i, j in runs if j - i >= RAIL_LEAST):
            rise = abs(int(row[i - 1]) - int(row[i - 2])) if i - 2 >= low else 0
            fall = abs(int(row[j + 1]) - int(row[j])) if j + 1 < high else 0
            found = _write(out, found, (channel, i, j, max(rise, fall)))
    return found


def _peak(part: I32) -> int:
    return int(np.abs(part.astype(np.int64)).max(initial=0))


def _while_equal(row: I32, at: int, step: int, bound: int) -> int:
    """Go from a column to the last one that has its value all the way, at most to the bound."""
    others = np.flatnonzero(row[at:bound:step] != row[at])
    return at + step * (int(others[0]) - 1) if len(others) else bound - step


def flat_runs(x: I32, spans: I64, low: int, high: int, out: I64) -> int:
    """Find runs of equal samples, with what stands on both sides, as the compiled loop says."""
    found = 0
    for channel, begin, end in spans.tolist():
        row = x[channel]
        changes = begin + 1 + np.flatnonzero(np.diff(row[begin:end]))
        starts, ends = np.append(begin, changes), np.append(changes, end)
        starts[0] = low + np.flatnonzero(np.append(True, row[low:begin] != row[begin]))[-1]
        ends[-1] = _while_equal(row, int(starts[-1]), 1, high) + 1
        kept = ends - starts >= FLAT_LEAST
        for start, i in zip(starts[kept].tolist(), ends[kept].tolist(), strict=True):
            value = int(row[start])
            before, after = _peak(row[max(low, start - CONTEXT) : start]), _peak(row[i : min(high, i + CONTEXT)])
            jump_in = abs(int(row[start - 1]) - value) if start > low else 0
            jump_out = abs(int(row[i]) - value) if i < high else 0
            edges = _peak(row[max(low, start - EDGE) : start]), _peak(row[i : min(high, i + EDGE)])
            found = _write(out, found, (channel, start, i, value, before, after, jump_in, jump_out, *edges))
    return found


def _repeated(row: I32, at: int, lag: int, low: int, high: int) -> tuple[int, int]:
    """From where to where the samples around a column equal those a lag earlier; nowhere if the cell there does not."""
    if at - lag < low or (row[at : at + CELL] != row[at - lag : at - lag + CELL]).any():
        return at, at
    back = np.flatnonzero(row[low + lag : at][::-1] != row[low : at - lag][::-1])
    on = np.flatnonzero(row[at:high] != row[at - lag : high - lag])
    return at - int(back[0]) if len(back) else low + lag, at + int(on[0]) if len(on) else high


def repeats(x: I32, cells: I32, begin: int, end: int, first: int, low: int, high: int, gate: int, out: I64) -> int:
    """Find blocks that stand twice, one right after the other, as the compiled loop says."""
    found = 0
    for channel in range(x.shape[0]):
        row, past = x[channel], low
        earlier = sliding_window_view(cells[channel, begin - LAGS : end - 1], LAGS)[::2, :-1]  # not the cell before
        same = earlier == cells[channel, begin:end:2, np.newaxis]
        for c in np.flatnonzero(same.any(axis=1)).tolist():
            at = first + 2 * c * CELL
            cell = row[at : at + CELL]
            if at < past or _peak(cell) < gate or np.count_nonzero(np.diff(cell)) < CELL_CHANGES:
                continue
            for back in (LAGS - np.flatnonzero(same[c])[::-1]).tolist():
                lag = back * CELL
                start, stop = _repeated(row, at, lag, low, high)
                if stop - start < lag:
                    continue
                past = stop
                if start >= first:
                    found = _write(out, found, (channel, start, lag, stop - start, _peak(row[start : start + lag])))
                break
    return found


def _top(row: I64, best: int, at: int, low: int, high: int) -> tuple[int, int, int]:
    """Start and width of the peak at a column, within 1/128 of its height, and fall within a quarter of that."""
    floor = best - (best >> 7)
    begin, end = max(low, at - TOP_REACH), min(high, at + TOP_REACH)
    under = np.flatnonzero(row[begin:at] < floor)
    left = begin + int(under[-1]) + 1 if len(under) else begin
    under = np.flatnonzero(row[at:end] < floor)
    right = at + int(under[0]) if len(under) else end
    near = max(TOP_NEAR, (right - left) // 4)
    if left - near < low or right + near > high:
        return left, right - left, 0
    return left, right - left, best - int(min(row[left - near : left].min(), row[right : right + near].min()))


def _differ(part: I64, at: int, again: int, best: int) -> bool:
    """Whether what is beside two peaks differs by half of them; not at the ends of the recording."""
    if min(at, again) < TOP_NEAR or max(at, again) + TOP_NEAR >= len(part):
        return False
    one, other = (part[place - TOP_NEAR : place + TOP_NEAR + 1] for place in (at, again))
    return bool(2 * np.abs(one - other).max() >= best)


def _look(row: I32, sign: int, best: int, begin: int, low: int, high: int) -> tuple[int, int, int]:
    """Start and width of the longest stay at the peak of the bucket that begins at a column, and how it looks."""
    margin = TOP_REACH + 8
    start, end = max(low, begin - margin), min(begin + BUCKET, high)
    part = row[start : min(high, begin + BUCKET + margin)].astype(np.int64) * sign
    stays = list(_runs(part[begin - start : end - start] >= best - (best >> 7)))
    at = begin - start + max(stays, key=lambda stay: stay[1] - stay[0])[0]
    left, width, fall = _top(part, best, at, low - start, high - start)
    if width < TOP_LEAST:
        apart = [stays[0][0], *(one[0] for last, one in pairwise(stays) if one[0] >= last[1] + TOP_APART)]
        several = len(apart) >= TOP_SEVERAL and 2 * fall >= best
        return start + left, width, 2 * int(several and _differ(part, left, apart[-1] + begin - start, best))
    reach = 1 + 2 * max(TOP_NEAR, width // 4) / width
    return start + left, width, int(fall >= TOP_FLAT * (best >> 7) * (reach * reach))


def tops(
    x: I32, peaks: I32, begin: int, end: int, first: int, steps: F64, low: int, high: int, counts: I32, out: I64
) -> int:
    """Look at the highest and the lowest peak of every top window, as the compiled loop says."""
    found = 0
    for channel, window, side in product(range(x.shape[0]), range(begin, end, _PER_TOP), range(2)):
        sign = 1 - 2 * side
        heights = peaks[1 - side, channel, window : min(window + _PER_TOP, end)].astype(np.int64) * sign
        b, best = window + int(heights.argmax()), int(heights.max())
        step = int(np.count_nonzero(steps >= best)) - 1
        if not 0 <= step < len(steps) - 1:
            continue
        left, width, look = _look(x[channel], sign, best, first + b * BUCKET, low, high)
        counts[channel, side, step, look] += 1
        if look:
            found = _write(out, found, (channel, side, left, width, step))
    return found


def fold(cells: I32, first: int, per: int, scale: float, out: F32, at: int, count: int) -> None:
    """Sum cells to samples of the low band, as the compiled loop says."""
    parts = cells[:, first : first + count * per].reshape(len(cells), count, per).astype(np.float32)
    low = parts[..., 0]
    for cell in range(1, per):
        low = low + parts[..., cell]
    out[:, at : at + count] = low * np.float32(scale)


def _bends(part: I32) -> I64:
    return np.abs(np.diff(part.astype(np.int64), n=2))


def bend_sums(row: I32, first: int, block: int, out: I64) -> None:
    """Sum the bends of one block after another, from a column on."""
    out[:] = _bends(row[first - 2 : first + len(out) * block]).reshape(-1, block).sum(axis=1)


def clicks(x: I32, spans: I64, low: int, high: int, out: I64) -> int:
    """Find the sharpest bend of each span, and what is around it, as the compiled loop says."""
    found = 0
    for channel, begin, end in spans.tolist():
        row, from_here = x[channel], max(begin, low + 2)
        bends = _bends(row[from_here - 2 : end])
        at = from_here + int(bends.argmax()) if len(bends) else begin
        start, stop = at - CLICK_GAP - CLICK_REACH, at + CLICK_RING + 1 + CLICK_REACH
        if start - 2 < low or stop > high:
            continue
        around = _bends(row[at - CLICK_GAP - 2 : at + CLICK_GAP + 1])
        if int(around.argmax()) != CLICK_GAP:
            continue
        before = int(_bends(row[start - 2 : start + CLICK_REACH]).sum())
        ends = at + CLICK_GAP + 1 + CLICK_REACH, stop
        after = min(int(_bends(row[end - CLICK_REACH - 2 : end]).sum()) for end in ends)
        later = int(_bends(row[at - 1 : at + 2])[0])
        found = _write(out, found, (channel, at, int(bends.max()), later, before, after))
    return found


def glimpses(x: I32, bends: I64, begin: int, first: int, window: F32, out: F32, at: I64) -> None:
    """Take the start of the bucket that bends least of every so many through a window, as the compiled loop says."""
    starts = begin + np.arange(len(out)) * GLIMPSE_BUCKETS
    parts = bends[:, begin : begin + len(out) * GLIMPSE_BUCKETS].reshape(len(x), len(out), GLIMPSE_BUCKETS)
    at[:] = (parts.argmin(axis=2) + starts).T
    columns = first + at[:, :, np.newaxis] * BUCKET + np.arange(GLIMPSE_SAMPLES)
    out[:] = x[np.arange(len(x))[:, np.newaxis], columns].astype(np.float32) * window


def totals(peaks: I32, sums: I64, begin: int, end: int, highest: I64, total: I64) -> None:
    """Add the sums of buckets to each channel's total, and tell its highest magnitude, as the compiled loop says."""
    high, low = peaks[1, :, begin:end].max(axis=1), peaks[0, :, begin:end].min(axis=1)
    highest[:] = np.maximum(np.maximum(high, 0), -low)
    total += sums[0, :, begin:end].sum(axis=1)


def turns(sums: I64, begin: int, end: int, scale: float, out: F32, at: int) -> None:
    """Tell mean, power about it and mean bend of buckets, as the compiled loop says."""
    part, into = sums[:, :, begin:end], out[:, :, at : at + end - begin]
    mean = part[0] * (scale / BUCKET)
    into[0] = mean
    into[1] = np.maximum(part[1] * (scale * scale / BUCKET) - mean * mean, 0.0)
    into[2] = part[2] * (scale / BUCKET)


def hisses(sums: I64, buckets: int, ahead: int, least: float, bright: float, later: int, fall: float, out: I64) -> int:
    """Find buckets that are loud and bright, and duller within so many later ones, as the compiled loop says."""
    energy, bends = sums[1, :, :buckets].astype(np.float64), sums[2, :, : buckets + ahead]
    own = bends[:, :buckets].astype(np.float64)
    wanted = (energy >= least) & (own * own >= bright * energy)
    padded = np.concatenate([bends, np.zeros((len(bends), later), np.int64)], axis=1)
    wanted &= sliding_window_view(padded[:, 1 : buckets + later], later, axis=1).min(axis=2) <= own * fall
    rows = np.argwhere(wanted)
    out[: len(rows)] = rows[: len(out)]
    return len(rows)


def lines(spectra: F32, places: I64, at: I64, near: F32, beside: F32) -> None:
    """Find the highest bin of every line in every spectrum, and what is around it, as the compiled loop says."""
    row = np.arange(len(spectra))
    for line, (begin, end, *sides) in enumerate(places.tolist()):
        at[:, line] = spectra[:, begin:end].argmax(axis=1) + begin
        middle = np.clip(at[:, line], begin + 1, end - 2)
        near[:, :, line] = [spectra[row, middle + step] for step in (-1, 0, 1)]
        around = np.concatenate([spectra[:, sides[0] : sides[1]], spectra[:, sides[2] : sides[3]]], axis=1)
        around.partition(around.shape[1] // 2, axis=1)
        beside[:, line] = around[:, around.shape[1] // 2]
