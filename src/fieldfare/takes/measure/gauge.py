"""Measuring a recording in one pass, as its bytes come by: from a card that is being copied, or from a file.

Samples are laid out by channel and measured a slab at a time. What happens at single places is looked for one top
window late, so that what follows a place is known; a copy of what went before is kept for the same reason. Results do
not depend on how the bytes are cut up.
"""

from __future__ import annotations

import numpy as np

from fieldfare.takes.measure.course import LevelKeeper, StripKeeper
from fieldfare.takes.measure.events import EventKeeper, Scene
from fieldfare.takes.measure.grain import AHEAD, BEFORE, BUCKET, CELL, I32, I64, LAGS, slab_frames
from fieldfare.takes.measure.kernels import kernels
from fieldfare.takes.measure.lowband import LowKeeper
from fieldfare.takes.measure.shapes import Channel, Measures
from fieldfare.takes.wave import Form, Head, raw_blocks
from fieldfare.takes.wave.samples import Packed

_NEW = BEFORE + AHEAD  # column of the first sample of a slab
_LATE = AHEAD // BUCKET
_PIECE_SAMPLES = 1 << 18  # laid out and measured while they are near


class Gauge:
    """Takes the packed audio of one recording and gives its measures.

    Parameters
    ----------
    form
        How samples are laid out.
    compiled
        Whether to use compiled loops; by default where they can be had.
    """

    def __init__(self, form: Form, *, compiled: bool | None = None) -> None:
        channels = form.channels
        self.form = form
        self.code_bits = {3: 24, 4: 27}.get(form.sample_bytes, 8 * form.sample_bytes) if not form.is_float else 24
        self.full_scale = 1 << (self.code_bits - 1)
        self.frames = 0
        self._kernels = kernels(compiled)
        self._slab = slab_frames(channels)
        self._piece = max(_PIECE_SAMPLES // channels // BUCKET, 1) * BUCKET
        self._x: I32 = np.zeros((channels, _NEW + self._slab), np.int32)
        self._filled = self._measured = 0
        self._odd = b""
        self._peaks: list[I32] = [np.zeros((channels, _LATE, 4), np.int32)]
        self._sums: list[I64] = [np.zeros((channels, _LATE, 5), np.int64)]
        self._cells: list[I32] = [np.zeros((channels, LAGS + AHEAD // CELL), np.int32)]
        self._used: I32 = np.zeros(channels, np.int32)
        self._not_numbers = 0
        self._total: I64 = np.zeros(channels, np.int64)
        self._steps: I64 = np.zeros(channels, np.int64)
        self._step_max: I32 = np.zeros(channels, np.int32)
        self._peak: I64 = np.zeros(channels, np.int64)
        self._peak_at: I64 = np.zeros(channels, np.int64)
        self._strips = StripKeeper(channels)
        self._levels = LevelKeeper(channels, form.rate_hz, self.full_scale)
        self._lows = LowKeeper(channels, form.rate_hz, self.full_scale)
        self._events = EventKeeper(channels, form.rate_hz, self.full_scale, is_float=form.is_float)

    def feed(self, packed: Packed) -> None:
        """Take the next bytes of the audio, cut anywhere."""
        view = memoryview(packed).cast("B")
        if self._odd:
            missing = self.form.frame_bytes - len(self._odd)
            self._odd, view = self._odd + bytes(view[:missing]), view[missing:]
            if len(self._odd) < self.form.frame_bytes:
                return
            self._take(memoryview(self._odd))
        whole = len(view) // self.form.frame_bytes * self.form.frame_bytes
        self._odd = bytes(view[whole:])
        self._take(view[:whole])

    def _take(self, view: memoryview) -> None:
        """Take whole frames, piece by piece."""
        frame_bytes = self.form.frame_bytes
        while len(view):
            count = min(len(view) // frame_bytes, self._slab - self._filled, self._piece)
            self._spread(view[: count * frame_bytes], count)
            view = view[count * frame_bytes :]
            if not self.frames:
                self._x[:, :_NEW] = self._x[:, _NEW : _NEW + 1]  # so that nothing jumps at the start
            self._filled += count
            self.frames += count
            self._measure(self._filled // BUCKET * BUCKET)
            if self._filled == self._slab:
                self._close(last=False)

    def _spread(self, view: memoryview, count: int) -> None:
        """Lay whole frames out by channel, after those that are there."""
        first, channels, size = _NEW + self._filled, self.form.channels, self.form.sample_bytes
        if self.form.is_float:
            floats = _array(view, count, channels, f"<f{size}", size)
            self._not_numbers += self._kernels.spread_float(floats, self._x, first)
        elif size == 3:  # each is read with the byte after it, which the last one of all does not have
            if count > 1:
                self._kernels.spread_24(_array(view, count - 1, channels, "<i4", 3), self._x, first)
            end = bytes(view[-3 * channels :]) + b"\0"
            self._kernels.spread_24(_array(end, 1, channels, "<i4", 3), self._x, first + count - 1)
        elif size == 4:
            self._kernels.spread_32(_array(view, count, channels, "<i4", 4), self._x, first)
        else:
            kind, less = ("u1", 128) if size == 1 else ("<i2", 0)  # 8 bits are unsigned
            self._kernels.spread_16(_array(view, count, channels, kind, size), self._x, first, less)

    def _measure(self, end: int) -> None:
        """Measure the buckets that were filled since the last time, up to a frame of this slab."""
        count = end - self._measured
        if count <= 0:
            return
        channels, first = self.form.channels, _NEW + self._measured
        peaks: I32 = np.empty((channels, -(-count // BUCKET), 4), np.int32)
        sums: I64 = np.empty((channels, -(-count // BUCKET), 5), np.int64)
        cells: I32 = np.empty((channels, count // CELL), np.int32)
        self._kernels.buckets(self._x, first, count, peaks, sums, self._used)
        self._kernels.cells(self._x, first, cells)
        self._peaks.append(peaks)
        self._sums.append(sums)
        self._cells.append(cells)
        self._measured = end

    def _close(self, *, last: bool) -> None:
        """Gather what the slab shows, and go on to the next."""
        peaks, sums = np.concatenate(self._peaks, axis=1), np.concatenate(self._sums, axis=1)
        cells = np.concatenate(self._cells, axis=1)
        slab_start, high = self.frames - self._filled, _NEW + self._filled
        if self._filled:
            self._gather(peaks[:, _LATE:], sums[:, _LATE:], slab_start)
            self._lows.add(cells[:, LAGS + AHEAD // CELL :])
        seen = peaks.shape[1] if last else peaks.shape[1] - _LATE
        scene = Scene(
            x=self._x,
            low=max(0, _NEW - slab_start),
            high=high,
            begin=BEFORE,
            end=high if last else high - AHEAD,
            frame=slab_start - _NEW,
            peaks=np.ascontiguousarray(peaks[:, :seen]),
            sums=sums[:, :seen],
            cells=np.ascontiguousarray(cells if last else cells[:, : -(AHEAD // CELL)]),
        )
        self._events.look(scene, self._kernels)
        if last:
            return
        self._x[:, :_NEW] = self._x[:, self._filled : self._filled + _NEW]
        self._peaks, self._sums = [peaks[:, -_LATE:].copy()], [sums[:, -_LATE:].copy()]
        self._cells = [cells[:, -(LAGS + AHEAD // CELL) :].copy()]
        self._filled = self._measured = 0

    def _gather(self, peaks: I32, sums: I64, slab_start: int) -> None:
        """Add new buckets to what is known of each channel."""
        peak = np.maximum(peaks[:, :, 1], -peaks[:, :, 0]).max(axis=1)
        for channel in np.flatnonzero(peak > self._peak).tolist():
            row = self._x[channel, _NEW : _NEW + self._filled]
            places = np.flatnonzero((row == peak[channel]) | (row == -peak[channel]))
            self._peak[channel], self._peak_at[channel] = peak[channel], slab_start + int(places[0])
        self._step_max = np.maximum(self._step_max, peaks[:, :, 2].max(axis=1))
        self._total += sums[:, :, 0].sum(axis=1)
        self._steps += sums[:, :, 2].sum(axis=1)
        self._strips.add(peaks[:, :, 0], peaks[:, :, 1], sums[:, :, 1])
        self._levels.add(sums[:, :, :2])

    def result(self) -> Measures:
        """Return the measures of all that was fed; bytes short of a whole frame are left out. To be called once."""
        if self.frames:
            self._measure(self._filled)
            self._close(last=True)
        levels, strips, lows = self._levels.levels(self.frames), self._strips.strips(), self._lows.lows()
        channels = []
        for c in range(self.form.channels):
            clicks, clicks_in_all = self._events.clicks(c)
            channels.append(
                Channel(
                    frames=self.frames,
                    low=int(strips[c].low.min(initial=self.full_scale)) if self.frames else 0,
                    high=int(strips[c].high.max(initial=-self.full_scale)) if self.frames else 0,
                    peak_at=int(self._peak_at[c]),
                    total=int(self._total[c]),
                    energy=_exact_sum(strips[c].energy),
                    used_bits=int(self._used[c]),
                    step_max=int(self._step_max[c]),
                    step_mean=int(self._steps[c]) / max(1, self.frames - 1),
                    strip=strips[c],
                    levels=levels[c],
                    rails=self._events.rails(c),
                    flats=self._events.flats(c),
                    repeats=self._events.repeats(c),
                    clicks=clicks,
                    clicks_in_all=clicks_in_all,
                    tops=self._events.tops(c),
                    lows=lows[c],
                )
            )
        return Measures(
            form=self.form,
            frames=self.frames,
            full_scale=self.full_scale,
            code_bits=self.code_bits,
            level_frames=self._levels.frames,
            not_numbers=self._not_numbers,
            channel=tuple(channels),
        )


def _array(buffer: Packed, frames: int, channels: int, kind: str, size: int) -> np.ndarray[tuple[int, int], np.dtype]:
    array = np.ndarray((frames, channels), kind, buffer, strides=(size * channels, size))
    array.flags.writeable = False  # one type for all buffers
    return array


def _exact_sum(values: I64) -> int:
    """Sum without overflow."""
    return (int((values >> 32).sum()) << 32) + int((values & 0xFFFFFFFF).sum())


def measure(head: Head, *, compiled: bool | None = None) -> Measures:
    """Measure a recording in one pass over its file.

    Raises
    ------
    Fault
        The head is unreadable, or the medium fails; the place is named to the sample.
    """
    gauge = Gauge(head.form, compiled=compiled)
    for part in raw_blocks(head):
        gauge.feed(part)
    return gauge.result()
