"""A meter that a programme is fed to as it comes by: integrated, momentary and short-term loudness, range and peak."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.loudness.gates import integrated_lufs, loudness_range_lu, lufs, windows
from fieldfare.takes.loudness.kernels import kernels
from fieldfare.takes.loudness.peaks import TruePeak
from fieldfare.takes.loudness.weighting import k_weighting, layout_weights
from fieldfare.takes.measure.grain import F32, F64, I64
from fieldfare.takes.wave.samples import Samples
from fieldfare.units.faults import OutOfRange

GRAINS = 100  # stretches in a second, the hop of the maxima: 20 ms or finer, by [EBU3341] case 13
MOMENTARY, SHORT = 40, 300  # stretches: 400 ms and 3 s; [EBU3341] section 2
HOP = 10  # stretches: 100 ms, for the gated blocks and the range
_PIECE = 1 << 16  # frames at a time


@dataclass(frozen=True, slots=True)
class Loudness:
    """What a meter says of a programme. Silence is -inf."""

    integrated_lufs: float
    range_lu: float
    momentary_max_lufs: float
    short_max_lufs: float
    true_peak_dbtp: float
    channel_peak_dbtp: tuple[float, ...]
    peak_at: int  # sample at or before the highest peak
    frames: int
    momentary_lufs: F64  # of the 400 ms that end at each tenth of a second from 0.4 s on
    short_lufs: F64  # of the 3 s that end at each tenth of a second from 3 s on


class Meter:
    """Measures a programme as it is fed.

    Parameters
    ----------
    channels
        How many. [count]
    rate_hz
        Sample rate. [Hz]
    weights
        Of every channel; by default those of `layout_weights`. [1]
    peaks
        Whether true peaks are wanted too.
    compiled
        Whether to use compiled loops; by default where they can be had.

    Raises
    ------
    OutOfRange
        No channel, weights of another number, or a rate that loudness is not measured at.
    """

    def __init__(
        self,
        channels: int,
        rate_hz: int,
        weights: Sequence[float] | None = None,
        *,
        peaks: bool = True,
        compiled: bool | None = None,
    ) -> None:
        weights = layout_weights(channels) if weights is None else tuple(weights)
        if channels < 1 or len(weights) != channels:
            raise OutOfRange(f"{len(weights)} weights for {channels} channels", "loudness", "give one for each channel")
        self.rate_hz, self.channels, self.frames = rate_hz, channels, 0
        self._weights = np.array(weights)
        self._grains = GrainPower(channels, rate_hz, compiled=compiled)
        self._peaks = TruePeak(channels, rate_hz, compiled=compiled) if peaks else None
        self._power: list[F64] = []

    def feed(self, x: NDArray[np.float32] | NDArray[np.float64]) -> None:
        """Take the next samples, shape (frames, channels), re full scale 1.

        Raises
        ------
        OutOfRange
            They are of another shape.
        """
        if x.ndim != 2 or x.shape[1] != self.channels:
            raise OutOfRange(f"samples of shape {x.shape}", "loudness", f"give (frames, {self.channels})")
        for start in range(0, len(x), _PIECE):
            piece: F32 | F64 = np.ascontiguousarray(x[start : start + _PIECE])  # type: ignore[assignment]
            self._power.append(self._grains.feed(piece) @ self._weights)
            if self._peaks is not None:
                self._peaks.feed(piece)
        self.frames += len(x)

    def result(self) -> Loudness:
        """Return what was measured of all that was fed so far; a last stretch that is not whole is left out."""
        power = np.concatenate([np.empty(0), *self._power])
        self._power = [power]
        blocks = windows(power, MOMENTARY, HOP)
        peaks = self._peaks.result() if self._peaks is not None else (-np.inf,) * self.channels
        highest = int(np.argmax(peaks))
        short = windows(power, SHORT, HOP)
        return Loudness(
            integrated_lufs=integrated_lufs(blocks),
            range_lu=loudness_range_lu(short),
            momentary_max_lufs=float(lufs(windows(power, MOMENTARY)).max(initial=-np.inf)),
            short_max_lufs=float(lufs(windows(power, SHORT)).max(initial=-np.inf)),
            true_peak_dbtp=peaks[highest],
            channel_peak_dbtp=peaks,
            peak_at=self._peaks.at[highest] if self._peaks is not None else 0,
            frames=self.frames,
            momentary_lufs=lufs(blocks),
            short_lufs=lufs(short),
        )


class GrainPower:
    """Weighted mean square of every channel, a hundredth of a second at a time, or another part of one."""

    def __init__(self, channels: int, rate_hz: int, *, grains: int = GRAINS, compiled: bool | None = None) -> None:
        self._per_grain, self._kernels = rate_hz / grains, kernels(compiled)
        self._filters = np.array(k_weighting(rate_hz), np.float64)
        self._state: F64 = np.zeros((4, channels))
        self._begun: F64 = np.zeros(channels)  # sum of squares of the stretch that is not whole yet
        self._frames = self._done = 0

    def feed(self, x: Samples) -> F64:
        """Take the next samples, shape (frames, channels), at any scale; return the stretches that became whole."""
        end = self._frames + len(x)
        last = int(end / self._per_grain) + 2
        edges: I64 = np.rint(np.arange(self._done, last) * self._per_grain).astype(np.int64)
        edges = edges[edges <= end]
        inside = edges[(edges > self._frames) & (edges < end)] - self._frames
        cuts: I64 = np.concatenate([[0], inside, [len(x)]]).astype(np.int64) if len(x) else np.zeros(1, np.int64)
        sums: F64 = np.empty((len(cuts) - 1, x.shape[1]))
        self._kernels.weigh(x, self._filters, self._state, cuts, sums)
        if len(sums):
            sums[0] += self._begun
        whole = len(edges) - 1
        if whole < len(sums):
            self._begun = sums[-1].copy()
        else:
            self._begun = np.zeros(x.shape[1])
        power: F64 = sums[:whole] / self._per_grain  # so that windows of many come out exact
        self._frames, self._done = end, self._done + whole
        return power


def measure_loudness(
    parts: Iterable[NDArray[np.float32] | NDArray[np.float64]], channels: int, rate_hz: int
) -> Loudness:
    """Measure a programme that comes in parts of shape (frames, channels).

    Parameters
    ----------
    parts
        The programme, re full scale 1.
    channels
        How many. [count]
    rate_hz
        Sample rate. [Hz]
    """
    meter = Meter(channels, rate_hz)
    for part in parts:
        meter.feed(part)
    return meter.result()
