"""Blocks that stand twice and are no whole number of cells long, which the loops do not find.

Where one is repeated sound mostly jumps, so jumps are looked at. Two lengths that drivers have, 10 and 20 ms at
44.1 kHz, are looked for everywhere: one frame in every block is held against the one a block before.
"""

from __future__ import annotations

import numpy as np

from fieldfare.takes.measure.grain import CELL, I32, I64, LAGS

_LONGEST = LAGS * CELL  # frames of the longest block
_SHORTEST = 2 * CELL
_SKIP = 4  # frames after the sharpest bend that a block has surely begun
_ALIKE = 32  # frames that have to be equal at first
_CHANGES = 24  # of them that differ from the one before: no silence, no square wave
BUFFERS = (441, 882)  # frames of the buffers that are looked for everywhere
_PROBE = 4  # frames that are held against one another at first


def blocks_again(x: I32, rows: I64, low: int, high: int) -> I64:
    """Find blocks that stand twice, the second time from a jump on, and are no whole number of cells long.

    Parameters
    ----------
    x
        Samples, (channels, columns).
    rows
        Jumps: channel, column of the sharpest bend. Further columns are not used. Shape (jumps, 2 or more).
    low, high
        First column of the recording, and the one after its last.

    Returns
    -------
    Rows as those of `repeats` of the loops: channel, start of the second, lag, samples that are equal, peak within.
    """
    found: list[tuple[int, int, int, int, int]] = []
    for channel, jump in rows[:, :2].tolist():
        if jump - _LONGEST < low or jump + _SKIP + _ALIKE > high or (found and _within(found[-1], channel, jump)):
            continue
        row, at = x[channel], jump + _SKIP
        head = row[at : at + _ALIKE]
        if np.count_nonzero(np.diff(head)) < _CHANGES:
            continue
        for lag in (_LONGEST - np.flatnonzero(row[at - _LONGEST : at - _SHORTEST] == head[0])[::-1]).tolist():
            if lag % CELL and np.array_equal(row[at - lag : at - lag + _ALIKE], head):
                start, stop = _equal(row, at, lag, low, high)
                if stop - start >= lag:
                    peak = int(np.abs(row[start : start + lag].astype(np.int64)).max())
                    found.append((channel, start, lag, stop - start, peak))
                break
    return np.array(found, np.int64).reshape(-1, 5)


def buffers_again(x: I32, begin: int, end: int, frame: int, low: int, high: int, gate: int) -> I64:
    """Find buffers of drivers that stand twice, one right after the other.

    Parameters
    ----------
    x
        Samples, (channels, columns).
    begin, end
        Columns that are looked at.
    frame
        Of column 0: however a recording is cut up, the same frames are looked at.
    low, high
        First column of the recording, and the one after its last.
    gate
        What is quieter is passed over.

    Returns
    -------
    Rows as those of `repeats` of the loops: channel, start of the second, lag, samples that are equal, peak within.
    """
    found: list[tuple[int, int, int, int, int]] = []
    for lag in BUFFERS:
        step = lag - _ALIKE
        for channel, at in _probes(x, lag, step, begin, end, frame, low, high, gate):
            row, head = x[channel], x[channel, at : at + _ALIKE]
            if found and found[-1][2] == lag and _within(found[-1], channel, at):
                continue
            if np.count_nonzero(np.diff(head)) < _CHANGES or not np.array_equal(
                row[at - lag : at - lag + _ALIKE], head
            ):
                continue
            start, stop = _equal(row, at, lag, low, high)
            if stop - start >= lag and at - step < start:  # else a frame before has told it
                peak = int(np.abs(row[start : start + lag].astype(np.int64)).max())
                found.append((channel, start, lag, stop - start, peak))
    return np.array(found, np.int64).reshape(-1, 5)


def _probes(
    x: I32, lag: int, step: int, begin: int, end: int, frame: int, low: int, high: int, gate: int
) -> list[tuple[int, int]]:
    """Channels and columns, one in every so many, at which a few loud samples are those a lag before."""
    first = begin + -(begin + frame) % step
    first += -(-max(0, low + lag - first) // step) * step
    last = min(end, high - _ALIKE + 1)
    if first >= last:
        return []
    now = x[:, first:last:step]
    channel, place = np.nonzero((now == x[:, first - lag : last - lag : step]) & (np.abs(now) >= gate // 4))
    at = first + place * step
    for later in range(1, _PROBE):
        same = x[channel, at + later] == x[channel, at + later - lag]
        channel, at = channel[same], at[same]
    return list(zip(channel.tolist(), at.tolist(), strict=True))


def _within(found: tuple[int, int, int, int, int], channel: int, at: int) -> bool:
    return found[0] == channel and found[1] <= at <= found[1] + found[3]


def _equal(row: I32, at: int, lag: int, low: int, high: int) -> tuple[int, int]:
    """From where to where samples equal those a lag before, around a column."""
    back = np.flatnonzero(row[low + lag : at][::-1] != row[low : at - lag][::-1])
    on = np.flatnonzero(row[at:high] != row[at - lag : high - lag])
    return at - int(back[0]) if len(back) else low + lag, at + int(on[0]) if len(on) else high
