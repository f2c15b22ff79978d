"""The clock of a camera against that of the take: a straight line, and corners where the line was not straight.

Conventions: t_take = offset + t_device / (1 + ppm·10⁻⁶), in seconds; ppm above 0 is a clock that runs fast, so that a
device second is shorter than one of the take.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
TOLERANCE_S = 0.0015  # farther from the line than this a reading is of another arrival, not of the clock
_TURNS = 12
COARSE_S = 0.06  # by which the ends of a guess may be off one another
_LEAST_SPAN_S = 20.0  # shorter clips do not tell their drift at all
CORNER_EVERY_S = 300.0
_STEADY_S = 0.0004  # a clock this near to its line everywhere is straight


@dataclass(frozen=True)
class Clock:
    """Where every moment of a device lies on the take's axis."""

    offset_s: float
    ppm: float
    corners: tuple[tuple[float, float], ...] = ()  # device time, seconds that the take is later than the line there

    def to_take(self, device_s: float) -> float:
        """Take time of a device time. [s]"""
        return self.offset_s + device_s / (1 + self.ppm * 1e-6) + self._bent(device_s)

    def to_device(self, take_s: float) -> float:
        """Device time of a take time. [s]"""
        device_s = (take_s - self.offset_s) * (1 + self.ppm * 1e-6)
        for _ in range(3):  # corners move by parts of a millisecond a minute: one turn is nearly enough
            device_s = (take_s - self.offset_s - self._bent(device_s)) * (1 + self.ppm * 1e-6)
        return device_s

    def _bent(self, device_s: float) -> float:
        if not self.corners:
            return 0.0
        at, late = zip(*self.corners, strict=True)
        return float(np.interp(device_s, at, late))

    def near(self, first_s: float, last_s: float) -> Clock:
        """The straight line that holds best between two device times."""
        if not self.corners or last_s <= first_s:
            return self
        one, other = self.to_take(first_s), self.to_take(last_s)
        slope = (other - one) / (last_s - first_s)
        return Clock(one - first_s * slope, (1 / slope - 1) * 1e6)


@dataclass(frozen=True)
class Readings:
    """What single tracks say at single moments: then the camera hears what the track has at that time of the take."""

    device_s: F64
    take_s: F64
    track: NDArray[np.int64]  # which track, from 0
    clear: F64  # height of the peak against the rest of the correlation

    def __len__(self) -> int:
        return len(self.device_s)

    def some(self, chosen: NDArray[np.bool_]) -> Readings:
        """Those that were chosen."""
        return Readings(self.device_s[chosen], self.take_s[chosen], self.track[chosen], self.clear[chosen])


@dataclass(frozen=True)
class Fit:
    """A line through readings."""

    clock: Clock  # of the mean of the tracks
    late_s: dict[int, float]  # each track against that
    good: NDArray[np.bool_]  # readings that lie on the line
    residual_s: F64  # of every reading
    ppm_sigma: float  # standard error of the drift

    @property
    def spread_s(self) -> float:
        """Root mean square of the good readings about the line. [s]"""
        return float(np.sqrt(np.mean(self.residual_s[self.good] ** 2))) if self.good.any() else 0.0


def fit_clock(readings: Readings, ppm_guess: float, fixed_ppm: float | None = None) -> Fit | None:
    """Fit one drift and an offset for every track, not led astray by readings of another arrival.

    Parameters
    ----------
    readings
        What the tracks say.
    ppm_guess
        Drift to begin with. [ppm]
    fixed_ppm
        Drift that is known already; fitted where none is given. [ppm]

    Returns
    -------
    The fit; none where there are no readings.
    """
    if not len(readings):
        return None
    tracks = np.unique(readings.track)
    middle = float(np.average(readings.device_s, weights=readings.clear))
    slope = 1 / (1 + (fixed_ppm if fixed_ppm is not None else ppm_guess) * 1e-6)
    free = fixed_ppm is None and float(np.ptp(readings.device_s)) >= _LEAST_SPAN_S
    away = readings.device_s - middle
    if free:
        slope = _best_slope(readings, tracks, away, slope)
    level = np.array([_mode(readings.take_s[one] - slope * away[one]) for one in _by_track(readings, tracks)])
    index = np.searchsorted(tracks, readings.track)
    weight = np.minimum(readings.clear, 40.0)
    reach = 8 * TOLERANCE_S
    for _ in range(_TURNS):
        off = readings.take_s - slope * away - level[index]
        trust = weight * np.clip(1 - (off / reach) ** 2, 0, None) ** 2  # Tukey's weights
        if not trust.any():
            break
        level = level + np.array([_mean(off[index == k], trust[index == k]) for k in range(len(tracks))])
        if free:
            slope += _slope(readings, away, level, index, trust, slope)
        reach = max(TOLERANCE_S, reach * 0.7)
    off = readings.take_s - slope * away - level[index]
    good = np.abs(off) <= TOLERANCE_S
    total = np.array([float(np.sum(weight[good & (index == k)])) for k in range(len(tracks))])
    whole = float(np.average(level, weights=total)) if total.any() else float(np.median(level))
    clock = Clock(whole - slope * middle, (1 / slope - 1) * 1e6)
    late = {int(track): float(own - whole) for track, own in zip(tracks, level, strict=True)}
    return Fit(clock, late, good, off, _sigma(away, off, good, free=free))


def _by_track(readings: Readings, tracks: NDArray[np.int64]) -> list[NDArray[np.bool_]]:
    return [readings.track == track for track in tracks]


def _mode(values: F64) -> float:
    """Where most values lie close together."""
    ordered = np.sort(values)
    count = np.searchsorted(ordered, ordered + 2 * TOLERANCE_S, side="right") - np.arange(len(ordered))
    first = int(np.argmax(count))
    return float(np.mean(ordered[first : first + int(count[first])]))


def _best_slope(readings: Readings, tracks: NDArray[np.int64], away: F64, slope: float) -> float:
    """The slope near a guess for which most readings of each track lie close together."""
    span = float(np.ptp(away))
    reach, step = min(3e-4, COARSE_S / span), TOLERANCE_S / span
    slopes = slope + np.arange(-reach, reach + step / 2, step)
    counts = [
        sum(_gathered(readings.take_s[one] - trial * away[one]) for one in _by_track(readings, tracks))
        for trial in slopes.tolist()
    ]
    best = np.flatnonzero(np.array(counts) == max(counts))
    return float(slopes[best].mean())


def _gathered(values: F64) -> int:
    ordered = np.sort(values)
    return int((np.searchsorted(ordered, ordered + 2 * TOLERANCE_S, side="right") - np.arange(len(ordered))).max())


def _mean(values: F64, weights: F64) -> float:
    return float(np.average(values, weights=weights)) if weights.any() else 0.0


def _slope(readings: Readings, away: F64, level: F64, index: NDArray[np.int64], trust: F64, slope: float) -> float:
    """What the slope lacks: a weighted fit within every track."""
    off = readings.take_s - slope * away - level[index]
    top = bottom = 0.0
    for k in range(len(level)):
        mine = index == k
        if trust[mine].any():
            centre = np.average(away[mine], weights=trust[mine])
            top += float(np.sum(trust[mine] * (away[mine] - centre) * off[mine]))
            bottom += float(np.sum(trust[mine] * (away[mine] - centre) ** 2))
    return top / bottom if bottom > 0 else 0.0


def _sigma(away: F64, off: F64, good: NDArray[np.bool_], *, free: bool) -> float:
    if not free or np.count_nonzero(good) < 4:
        return np.inf
    spread = float(np.sum((away[good] - away[good].mean()) ** 2))
    noise = max(float(np.mean(off[good] ** 2)), 1e-10)
    return float(np.sqrt(noise / spread)) * 1e6 if spread > 0 else np.inf


def with_corners(fit: Fit, readings: Readings, length_s: float) -> Clock:
    """Bend the line where the good readings lie beside it for minutes, as where a camera warms up.

    Parameters
    ----------
    fit
        The line.
    readings
        What it was fitted to.
    length_s
        Length of the clip. [s]
    """
    at, off = readings.device_s[fit.good], fit.residual_s[fit.good]
    count = int(length_s / CORNER_EVERY_S) + 1
    if count < 3 or len(at) < 4 * count:
        return fit.clock
    corners = np.linspace(0, length_s, count)
    hats = np.clip(1 - np.abs(at[:, None] - corners[None, :]) / (corners[1] - corners[0]), 0, None)
    bend = np.diff(np.eye(count), 2, axis=0) * np.sqrt(len(at) / count)  # a little stiffness where nothing was read
    late, *_ = np.linalg.lstsq(np.vstack([hats, bend]), np.concatenate([off, np.zeros(len(bend))]), rcond=None)
    if float(np.abs(late).max()) < _STEADY_S:
        return fit.clock
    return replace(fit.clock, corners=tuple(zip(corners.tolist(), late.tolist(), strict=True)))


def shared_ppm(fits: Sequence[Fit]) -> tuple[float, float] | None:
    """Drift of a device from all its clips, each as sure as it is long: drift and its standard error. [ppm]"""
    known = [(one.clock.ppm, one.ppm_sigma) for one in fits if np.isfinite(one.ppm_sigma)]
    if not known:
        return None
    weights = np.array([1 / sigma**2 for _, sigma in known])
    return float(np.average([ppm for ppm, _ in known], weights=weights)), float(1 / np.sqrt(weights.sum()))
