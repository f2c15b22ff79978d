"""Finding and gathering what happens at single places: runs at full scale, flat runs, repeats, clicks.

Everything here works on columns of the gauge's samples and gives frames of the recording. Whatever the recording, what
is kept stays bounded: runs at full scale close together become one place, and of what comes in thousands only the first
are kept, while all are counted.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.measure.again import blocks_again, buffers_again
from fieldfare.takes.measure.grain import AHEAD, BUCKET, CELL, CLICK_REACH, I64
from fieldfare.takes.measure.hiss import HissKeeper
from fieldfare.takes.measure.kernels import Kernels
from fieldfare.takes.measure.residual import looked_at
from fieldfare.takes.measure.scene import Scene
from fieldfare.takes.measure.shapes import Click, FlatRun, RailPlace, Repeat

MOST_KEPT = 4096  # of a kind, for each channel
RAIL_GAP_S = 0.5  # runs at full scale closer than this are one place
KEPT_DBFS = -66  # flat runs and repeats in what is quieter are not kept
CLICK_DBFS = -60  # bends smaller than this are no clicks
_FLAT_SUSPECT = 6  # bends in a bucket that are 0, as they are where samples are equal
_CLICK_SUSPECT = 12  # times the mean bend of the bucket
EDGE_STEEP = 4.0  # times as steeply as a parabola would, a run at full scale is entered or left
_ROOM = 8192  # rows to begin with


def _spans(wanted: NDArray[np.bool_], scene: Scene, *, joined: bool) -> I64:
    """Columns of the buckets that are wanted, neighbours in one span if joined."""
    if joined:
        sides = np.zeros((wanted.shape[0], wanted.shape[1] + 2), np.bool_)
        sides[:, 1:-1] = wanted
        row, edge = np.nonzero(sides[:, 1:] != sides[:, :-1])
        channel, first, last = row[::2], edge[::2], edge[1::2]
    else:
        channel, first = np.nonzero(wanted)
        last = first + 1
    begin = np.maximum(scene.begin + first * BUCKET, scene.low)
    end = np.minimum(scene.begin + last * BUCKET, scene.end)
    spans: I64 = np.stack([channel, begin, end], axis=1).astype(np.int64)
    return spans[end > begin]


class EventKeeper:
    """Gathers events of all channels."""

    def __init__(self, channels: int, rate_hz: int, full_scale: int, *, is_float: bool) -> None:
        self._channels, self._full_scale = channels, full_scale
        self._tolerance = max(1, full_scale >> 15)
        self._rail = 1 << 30 if is_float else full_scale - self._tolerance
        self._rail_gap = round(RAIL_GAP_S * rate_hz)
        quiet = full_scale * 10 ** (KEPT_DBFS / 20)
        self._gate, self._jump, self._bend = quiet, quiet / 8, full_scale * 10 ** (CLICK_DBFS / 20)
        self._rails: list[I64] = []
        self._rails_joined = True
        self._flats: list[I64] = []
        self._repeats: list[I64] = []
        self._clicks: list[I64] = []
        self._kept = {kind: np.zeros(channels, np.int64) for kind in ("flats", "repeats", "clicks")}
        self._clicks_in_all: I64 = np.zeros(channels, np.int64)
        self.hisses = HissKeeper(channels, full_scale)
        self._outs: dict[int, I64] = {}  # by columns: what loops write rows into

    def look(self, scene: Scene, kernels: Kernels) -> None:
        """Look at one scene after another, in order."""
        self._look_at_rails(scene, kernels)
        self._look_at_flats(scene, kernels)
        self._look_at_repeats(scene, kernels)
        self._look_at_clicks(scene, kernels)
        self.hisses.look(scene, kernels)

    def _rows(self, find: Callable[[I64], int], columns: int) -> I64:
        """Call a loop that writes rows, again with more room if it found more than there was; return a copy."""
        if columns not in self._outs:
            self._outs[columns] = np.empty((_ROOM, columns), np.int64)
        out = self._outs[columns]
        if (found := find(out)) > len(out):
            out = self._outs[columns] = np.empty((found, columns), np.int64)
            find(out)
        return out[:found].copy()

    def _look_at_rails(self, scene: Scene, kernels: Kernels) -> None:
        lowest, highest, _ = scene.peaks[:, :, : scene.buckets]
        wanted = (highest >= self._rail) | (lowest <= -self._rail)
        if not wanted.any():
            return
        spans = _spans(wanted, scene, joined=True)
        rows = self._rows(lambda out: kernels.rail_runs(scene.x, spans, self._rail, scene.low, scene.high, out), 4)
        if not len(rows):
            return
        count = rows[:, 2] - rows[:, 1]
        steep = rows[:, 3] * count >= EDGE_STEEP * 4 * self._tolerance  # a parabola's slope there is 4·tolerance/n
        whole = steep | (rows[:, 1] == scene.begin) | (rows[:, 2] == scene.end)
        rows, count = rows[whole], count[whole]
        ones = np.ones_like(count)
        frame = scene.frame
        places = np.stack([rows[:, 0], rows[:, 1] + frame, rows[:, 2] + frame, ones, count, count], axis=1)
        self._rails.append(places)
        self._rails_joined = False
        if sum(map(len, self._rails)) > MOST_KEPT * self._channels:
            self._join_rails()

    def _look_at_flats(self, scene: Scene, kernels: Kernels) -> None:
        wanted = scene.sums[3, :, : scene.buckets] >= _FLAT_SUSPECT
        if not wanted.any():
            return
        spans = _spans(wanted, scene, joined=True)
        rows = self._rows(lambda out: kernels.flat_runs(scene.x, spans, scene.low, scene.high, out), 10)
        long = rows[:, 2] - rows[:, 1] >= AHEAD
        told = (rows[:, 4:6].max(axis=1) >= self._gate) & (rows[:, 6:8].max(axis=1) >= self._jump)
        told &= np.abs(rows[:, 3]) < self._rail
        rows = rows[long | (told & self._room("flats", rows, told & ~long))]
        rows[:, 1:3] += scene.frame
        self._flats.append(rows)

    def _look_at_repeats(self, scene: Scene, kernels: Kernels) -> None:
        span = (scene.first_cell, scene.first_cell + (scene.end - scene.begin) // CELL)
        gate = int(self._gate)
        rows = self._rows(
            lambda out: kernels.repeats(scene.x, scene.cells, *span, scene.begin, scene.low, scene.high, gate, out), 5
        )
        self._keep_repeats(rows, scene.frame)
        at = (scene.begin, scene.end, scene.frame, scene.low, scene.high)
        self._keep_repeats(buffers_again(scene.x, *at, gate), scene.frame)

    def _keep_repeats(self, rows: I64, frame: int) -> None:
        rows = rows[rows[:, 4] >= self._gate]
        rows = rows[self._room("repeats", rows, np.ones(len(rows), np.bool_))]
        rows[:, 1] += frame
        self._repeats.append(rows)

    def _look_at_clicks(self, scene: Scene, kernels: Kernels) -> None:
        sharp, bends = scene.peaks[2, :, : scene.buckets], scene.sums[2, :, : scene.buckets]
        wanted = (sharp >= self._bend) & (sharp.astype(np.int64) * BUCKET >= _CLICK_SUSPECT * bends)
        if not wanted.any():
            return
        spans = _spans(wanted, scene, joined=False)
        rows = self._rows(lambda out: kernels.clicks(scene.x, spans, scene.low, scene.high, out), 6)
        louder = rows[:, 4:6].max(axis=1)
        rows = rows[rows[:, 2] * CLICK_REACH >= _CLICK_SUSPECT * louder]
        self._clicks_in_all += np.bincount(rows[:, 0], minlength=self._channels)
        rows = rows[self._room("clicks", rows, np.ones(len(rows), np.bool_))]
        looks = looked_at(scene.x, rows, sharp, scene.begin, scene.low, scene.high)
        self._keep_repeats(blocks_again(scene.x, rows, scene.low, scene.high), scene.frame)
        rows[:, 1] += scene.frame
        self._clicks.append(np.concatenate([rows, looks.view(np.int64)], axis=1))

    def _room(self, kind: str, rows: I64, counted: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Which of the rows to keep: the first so many of each channel."""
        kept = self._kept[kind]
        order = np.cumsum(counted)
        first = np.searchsorted(rows[:, 0], rows[:, 0])
        rank = order - np.where(first > 0, order[first - 1], 0) if len(rows) else order
        keep: NDArray[np.bool_] = counted & (kept[rows[:, 0]] + rank <= MOST_KEPT)
        kept += np.bincount(rows[keep, 0], minlength=self._channels)
        return keep

    def _join_rails(self) -> None:
        """Join places at full scale that lie close together, channel by channel."""
        places = np.concatenate([np.empty((0, 6), np.int64), *self._rails])
        self._rails = [_joined(places[np.argsort(places[:, 0], kind="stable")], self._rail_gap)]
        self._rails_joined = True

    def rails(self, channel: int) -> tuple[RailPlace, ...]:
        """Return the places at full scale."""
        if not self._rails_joined:
            self._join_rails()
        places = of_channel(self._rails, channel, 6)
        return tuple(RailPlace(*row) for row in places[:, 1:].tolist())

    def flats(self, channel: int) -> tuple[FlatRun, ...]:
        """Return the flat runs; one that was seen in several scenes is put together."""
        runs: list[list[int]] = []
        for _, *row in of_channel(self._flats, channel, 10).tolist():
            if not runs or row[0] > runs[-1][1] or row[2] != runs[-1][2]:
                runs.append(row)
            elif row[1] > runs[-1][1]:
                runs[-1][1], runs[-1][4::2] = row[1], row[4::2]
        return tuple(FlatRun(*row) for row in runs)

    def repeats(self, channel: int) -> tuple[Repeat, ...]:
        """Return the blocks that stand twice, each once."""
        rows = np.unique(of_channel(self._repeats, channel, 5)[:, 1:], axis=0)
        return tuple(Repeat(*row) for row in rows.tolist())

    def clicks(self, channel: int) -> tuple[tuple[Click, ...], int]:
        """Return the clicks, and how many there were in all."""
        rows = of_channel(self._clicks, channel, 10)
        sides, looks = rows[:, 4:6] / CLICK_REACH, np.ascontiguousarray(rows[:, 6:]).view(np.float64)
        alone = 4 * rows[:, 3] < 3 * rows[:, 2]  # a jump bends twice; one sample alone, thrice
        at = rows[:, 1] - alone
        found = zip(at.tolist(), rows[:, 2].tolist(), *sides.T.tolist(), alone.tolist(), *looks.T.tolist(), strict=True)
        return tuple(Click(*row) for row in found), int(self._clicks_in_all[channel])


def of_channel(parts: list[I64], channel: int, columns: int) -> I64:
    """Rows of one channel in order of time. Parts are put together once, and sorted by channel."""
    if len(parts) != 1:
        whole = np.concatenate([np.empty((0, columns), np.int64), *parts])
        parts[:] = [whole[np.argsort(whole[:, 0], kind="stable")]]
    begin, end = np.searchsorted(parts[0][:, 0], (channel, channel + 1))
    rows: I64 = parts[0][begin:end]
    return rows


def _joined(places: I64, gap: int) -> I64:
    """Join places of a channel that lie close together; rows are channel, start, end, runs, samples, longest.

    A run that goes on right where the one before ended is the same run, told in two pieces.
    """
    if not len(places):
        return places
    apart = (np.diff(places[:, 0]) != 0) | (places[1:, 1] - places[:-1, 2] > gap)
    first = np.concatenate([[0], np.flatnonzero(apart) + 1])
    last = np.append(first[1:], len(places)) - 1
    piece = np.append(False, (places[1:, 1] == places[:-1, 2]) & (places[1:, 0] == places[:-1, 0]))
    runs = places[:, 3] - piece
    return np.stack(
        [
            places[first, 0],
            places[first, 1],
            places[last, 2],
            np.add.reduceat(runs, first),
            np.add.reduceat(places[:, 4], first),
            np.maximum.reduceat(places[:, 5], first),
        ],
        axis=1,
    )
