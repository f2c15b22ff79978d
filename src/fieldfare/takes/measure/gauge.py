"""Measuring a recording in one pass, as its bytes come by: from a card that is being copied, or from a file.

Samples are laid out by channel and measured a slab at a time. What happens at single places is looked for one top
window late, so that what follows a place is known; a copy of what went before is kept for the same reason. Results do
not depend on how the bytes are cut up.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.measure.course import LevelKeeper, StripKeeper
from fieldfare.takes.measure.events import EventKeeper
from fieldfare.takes.measure.glimpses import GlimpseKeeper
from fieldfare.takes.measure.grain import (
    AHEAD,
    BEFORE,
    BUCKET,
    CELL,
    I32,
    I64,
    LAGS,
    ROW_SPARE,
    TOP_WINDOW,
    slab_frames,
)
from fieldfare.takes.measure.kernels import kernels
from fieldfare.takes.measure.lowband import LowKeeper
from fieldfare.takes.measure.room import give_back, take_room
from fieldfare.takes.measure.scene import Scene
from fieldfare.takes.measure.shapes import Channel, Measures
from fieldfare.takes.measure.tops import TopKeeper
from fieldfare.takes.measure.turns import TurnKeeper
from fieldfare.takes.wave import Form, Head, raw_blocks
from fieldfare.takes.wave.blocks import RAW_BYTES
from fieldfare.takes.wave.samples import Packed

_NEW = BEFORE + AHEAD  # column of the first sample of a slab
_LATE = AHEAD // BUCKET
_PER_BUCKET = BUCKET // CELL
_PAST = LAGS  # cells that go before those looked at


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
        self._x = take_room(channels, _NEW + self._slab + ROW_SPARE)
        buckets = _LATE + self._slab // BUCKET
        self._peaks: I32 = np.zeros((3, channels, buckets), np.int32)
        self._sums: I64 = np.zeros((4, channels, buckets), np.int64)
        self._cells: I32 = np.zeros((channels, _PAST + buckets * _PER_BUCKET), np.int32)
        self._filled = 0
        self._odd = bytearray()
        self._used: I32 = np.zeros(channels, np.int32)
        self._not_numbers = 0
        self._total: I64 = np.zeros(channels, np.int64)
        self._peak: I64 = np.zeros(channels, np.int64)
        self._peak_at: I64 = np.zeros(channels, np.int64)
        self._strips = StripKeeper(channels)
        self._levels = LevelKeeper(channels, form.rate_hz, self.full_scale)
        self._lows = LowKeeper(channels, form.rate_hz, self.full_scale, self._kernels)
        self._glimpses = GlimpseKeeper(channels, form.rate_hz, self.full_scale, self._kernels)
        self._turns = TurnKeeper(channels, self.full_scale, self._kernels)
        self._tops, self._topped = TopKeeper(channels, self.full_scale, self._kernels), 0  # buckets
        self._events = EventKeeper(channels, form.rate_hz, self.full_scale, is_float=form.is_float)

    def feed(self, packed: Packed) -> None:
        """Take the next bytes of the audio, cut anywhere. Whole buckets are measured, the rest waits for more."""
        view, bucket_bytes = memoryview(packed).cast("B"), BUCKET * self.form.frame_bytes
        if self._odd:
            missing = bucket_bytes - len(self._odd)
            self._odd += view[:missing]
            view = view[missing:]
            if len(self._odd) < bucket_bytes:
                return
            self._take(self._odd, BUCKET)
        whole = len(view) // bucket_bytes
        self._take(view, whole * BUCKET)
        self._odd = bytearray(view[whole * bucket_bytes :])

    def _take(self, packed: Packed, frames: int) -> None:
        """Take frames, as many as the slab has room for at a time."""
        done = 0
        if frames and not self.frames:  # nothing jumps at the start
            self._lay(packed, 0, 1)
            self._x[:, :_NEW] = self._x[:, _NEW : _NEW + 1]
            self._not_numbers = 0
        while done < frames:
            count = min(frames - done, self._slab - self._filled)
            self._lay(packed, done, count)
            done += count
            self._filled += count
            self.frames += count
            self._look_at_tops(self._filled // TOP_WINDOW * TOP_WINDOW // BUCKET)
            buckets, start = _LATE + self._filled // BUCKET, self.frames - self._filled - _NEW
            self._glimpses.look(self._x, self._sums[2], buckets, BEFORE, start)
            if self._filled == self._slab:
                self._close(last=False)

    def _lay(self, packed: Packed, begin: int, count: int) -> None:
        """Lay frames out after those that are there, and measure them."""
        channels, size = self.form.channels, self.form.sample_bytes
        first, slot = _NEW + self._filled, _LATE + self._filled // BUCKET
        into = (self._x, first, slot, self._peaks, self._sums, self._cells[:, _PAST:], self._used)
        offset = begin * self.form.frame_bytes
        kind = f"<f{size}" if self.form.is_float else {1: "u1", 2: "<i2", 3: "u1", 4: "<i4"}[size]
        shape = (count * self.form.frame_bytes,) if size == 3 else (count, channels)
        array: NDArray[Any] = np.ndarray(shape, kind, packed, offset=offset)
        array.flags.writeable = False  # one type for all buffers
        if self.form.is_float:
            self._not_numbers += self._kernels.take_float(array, *into)
        elif size == 3:
            self._kernels.take_24(array, channels, *into)
        else:
            self._kernels.take(array, 8 * size, *into)

    def _look_at_tops(self, end: int) -> None:
        """Look at the tops of windows up to a bucket, counted from `BEFORE` on; what follows it is there."""
        if end > self._topped:
            start = self.frames - self._filled - _NEW
            inside = max(0, -start), _NEW + self._filled
            self._tops.look(self._x, self._peaks, (self._topped, end), BEFORE, inside, start)
            self._topped = end

    def _close(self, *, last: bool) -> None:
        """Gather what the slab shows, and go on to the next."""
        slab_start, high = self.frames - self._filled, _NEW + self._filled
        seen = _LATE + -(-self._filled // BUCKET)
        if last:
            self._look_at_tops(seen)
        if self._filled:
            self._glimpses.close()
            self._gather(seen, slab_start)
            self._lows.add(self._cells, _PAST + _LATE * _PER_BUCKET, self._filled // CELL)
        scene = Scene(
            x=self._x,
            low=max(0, _NEW - slab_start),
            high=high,
            begin=BEFORE,
            end=high if last else high - AHEAD,
            frame=slab_start - _NEW,
            buckets=seen if last else seen - _LATE,
            ahead=0 if last else _LATE,
            peaks=self._peaks,
            sums=self._sums,
            cells=self._cells,
            first_cell=_PAST,
        )
        self._events.look(scene, self._kernels)
        self._x[:, :_NEW] = self._x[:, self._filled : self._filled + _NEW]
        kept = (self._peaks, _LATE), (self._sums, _LATE), (self._cells, _PAST + _LATE * _PER_BUCKET)
        for one, count in kept:
            one[..., :count] = one[..., one.shape[-1] - count :]
        self._filled = self._topped = 0

    def _gather(self, seen: int, slab_start: int) -> None:
        """Add new buckets, up to `seen`, to what is known of each channel."""
        peaks, sums = self._peaks[:, :, _LATE:seen], self._sums[:, :, _LATE:seen]
        peak = np.zeros_like(self._peak)
        self._kernels.totals(self._peaks, self._sums, _LATE, seen, peak, self._total)
        for channel in np.flatnonzero(peak > self._peak).tolist():
            low, high = peaks[:2, channel]
            bucket = BUCKET * int(np.argmax(np.maximum(-low, high)))
            row = self._x[channel, _NEW + bucket : _NEW + min(bucket + BUCKET, self._filled)]
            self._peak[channel], self._peak_at[channel] = peak[channel], slab_start + bucket + int(np.abs(row).argmax())
        self._strips.add(peaks[0], peaks[1], sums[1], sums[2].astype(np.float32))
        self._levels.add(sums[:2])
        self._turns.add(self._sums, _LATE, _LATE + self._filled // BUCKET)

    def result(self) -> Measures:
        """Return the measures of all that was fed; bytes short of a whole frame are left out. To be called once."""
        frames = len(self._odd) // self.form.frame_bytes
        self._take(self._odd, frames)
        if self.frames:
            self._close(last=True)
        give_back(self._x)
        self._x = np.empty((0, 0), np.int32)  # lets go of it before results are put together
        self._turns.finish()
        levels, strips, lows = self._levels.levels(self.frames), self._strips.strips(), self._lows.lows()
        glimpses = self._glimpses.glimpses()
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
                    strip=strips[c],
                    levels=levels[c],
                    rails=self._events.rails(c),
                    flats=self._events.flats(c),
                    repeats=self._events.repeats(c),
                    clicks=clicks,
                    clicks_in_all=clicks_in_all,
                    tops=self._tops.tops(c),
                    lows=lows[c],
                    glimpses=glimpses[c],
                    thumps=self._turns.thumps(c),
                    holes=self._turns.holes(c),
                    hisses=self._events.hisses.hisses(c),
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
    bucket_bytes = BUCKET * head.frame_bytes
    for part in raw_blocks(head, max(1, RAW_BYTES // bucket_bytes) * bucket_bytes):  # no bucket is put together
        gauge.feed(part)
    return gauge.result()
