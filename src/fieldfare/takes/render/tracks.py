"""One track of the recorder: what an input hears, its noise, its faults, and the whole numbers that are written."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.render.faults import (
    Planted,
    Whole,
    after_converter,
    before_converter,
    before_preamp,
    inside,
    longest_repeat,
)
from fieldfare.takes.render.paths import Ear
from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.sound import Sound

COUPLING_HZ = 5.0  # mics and preamps pass no direct current: first order, the same in every track; PRACTICE
SHORTEST_RUN = 3  # samples at the rail that count as clipped, not as a peak that just reached it; PRACTICE
Places = list[tuple[int, int]]


class Track:
    """The chain of one input, fed block after block."""

    def __init__(self, ear: Ear, planted: Sequence[Planted], rate_hz: int, bits: int, mains_hz: int, seed: int) -> None:
        self.ear, self.planted = ear, tuple(planted)
        self.rate_hz, self.mains_hz = rate_hz, mains_hz
        self.top = 2 ** (bits - 1)
        self.at = 0
        self.peak = 0
        self.clipped: Places = []  # runs at the rails of the converter
        self.flat: Places = []  # runs at the flat top ahead of the converter
        self._rng = seeded(seed, "noise", ear.row.id)
        self._coupling = 1.0 - 2.0 * np.pi * COUPLING_HZ / rate_hz
        self._state = np.zeros(1)
        self._noise = np.float32(10.0 ** (ear.noise_dbfs / 20.0) / 2.0**0.5)  # a full-scale sine has an rms of 1 / √2
        self._history: Whole = np.zeros(longest_repeat(planted), np.int32)

    def record(self, heard: Sound) -> Whole:
        """Turn the next samples that the input hears into the next samples of the file."""
        from scipy.signal import lfilter

        coupled, self._state = lfilter([1.0, -1.0], [1.0, -self._coupling], heard, zi=self._state)
        sound = before_preamp(coupled.astype(np.float32), self.planted)
        sound = sound + self._noise * self._rng.standard_normal(len(heard), dtype=np.float32)
        for one in self.planted:
            if one.kind == "clipped before the converter":
                over = np.abs(sound) >= np.float32(10.0 ** (one.amount / 20.0))
                self._note(self.flat, over & inside(one, self.at, len(sound)))
        sound = before_converter(sound, self.at, self.planted, self.rate_hz, self.mains_hz)
        exact = sound if self.top <= 2**23 else sound.astype(np.float64)  # 24 bits are all that float32 can hold
        scaled = np.rint(exact * exact.dtype.type(self.top))
        return self.finish(np.clip(scaled, -self.top, self.top - 1, out=scaled).astype(np.int32))

    def finish(self, whole: Whole) -> Whole:
        """Do what is left to do to samples that are whole numbers already; they are changed in place."""
        after_converter(whole, self.at, self.planted, self._history)
        self.peak = max(self.peak, int(np.max(whole)), -int(np.min(whole)))
        if self.peak >= self.top - 1:
            self._note(self.clipped, (whole >= self.top - 1) | (whole <= -self.top))
        if len(self._history):
            self._history = np.concatenate([self._history, whole])[-len(self._history) :]
        self.at += len(whole)
        return whole

    def _note(self, places: Places, there: NDArray[np.bool_]) -> None:
        """Keep runs, joining one that goes on from the block before."""
        edges = np.flatnonzero(np.diff(np.concatenate([[False], there, [False]]).astype(np.int8)))
        for first, last in zip(edges[::2] + self.at, edges[1::2] + self.at, strict=True):
            if places and places[-1][1] == first:
                places[-1] = (places[-1][0], int(last))
            else:
                places.append((int(first), int(last)))


def long_runs(places: Places) -> Places:
    """Return the runs that are long enough to be a fault."""
    return [(first, last) for first, last in places if last - first >= SHORTEST_RUN]
