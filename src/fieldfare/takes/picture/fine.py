"""Reading a camera's clock to a part of a millisecond: short stretches against single tracks of the take."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.axis import Axis, AxisTrack
from fieldfare.takes.lag import correlate, correlate_drifting, pieces_of
from fieldfare.takes.picture.clock import Clock, Readings

PIECE_S = 0.68
STRETCH_S = 8.0
LOW_S, HIGH_S = -0.09, 0.21  # lags looked at: the coarse place may be off by some of them, air makes the rest
CLEAR = 7.0  # a peak of chance alone stands about 5 above the rest
CHANCE = 5.5  # what chance alone gives, about
DRIFTS_PPM = tuple(range(-150, 151, 15))
FIRST_SHARE = 0.65  # PRACTICE
TRIED, KEPT = 6, 8  # stretches in which every track is tried, tracks that are gone on with
F32 = NDArray[np.float32]


@dataclass(frozen=True)
class Stretch:
    """A stretch of a camera's sound at the take's rate."""

    device_s: float  # of its first sample
    sound: F32


@dataclass(frozen=True)
class _Read:
    """What one stretch says of several tracks."""

    device_s: float
    take_s: tuple[float, ...]
    clear: tuple[float, ...]


def read_clock(
    axis: Axis, stretches: Sequence[Stretch], guess: Clock, tracks: Sequence[AxisTrack], workers: Executor
) -> tuple[Readings, tuple[AxisTrack, ...]]:
    """Read where stretches of a camera's sound lie, track by track.

    Parameters
    ----------
    axis
        The take.
    stretches
        Of the camera.
    guess
        Its clock as the coarse search has it.
    tracks
        Tracks that may be listened for.
    workers
        Who shares the work.

    Returns
    -------
    What was read, and the tracks that were gone on with: readings count them from 0.
    """
    chosen = _best_tracks(axis, stretches, guess, tracks, workers)
    found = workers.map(lambda one: _read(axis, one, guess, chosen), stretches) if chosen else ()
    rows = [
        (one.device_s, take_s, place, clear)
        for one in found
        for place, (take_s, clear) in enumerate(zip(one.take_s, one.clear, strict=True))
        if clear >= CLEAR
    ]
    table = np.array(rows, np.float64).reshape(-1, 4)
    return Readings(table[:, 0], table[:, 1], table[:, 2].astype(np.int64), table[:, 3]), chosen


def guess_drift(
    axis: Axis,
    stretches: Sequence[Stretch],
    guess: Clock,
    tracks: Sequence[AxisTrack],
    workers: Executor,
    most: int = TRIED,
) -> tuple[float, float]:
    """The drift with which a few stretches, at most so many, are heard most clearly [ppm], and how clearly that is.

    A drift that is not known blurs a stretch of some seconds: at 100 ppm by most of a millisecond, which is enough to
    lose a camera that hears little of the direct sound.
    """
    step = max(1, len(stretches) // most)
    tried = stretches[step // 2 :: step][:most]
    totals = sum(workers.map(lambda one: _clear_by_drift(axis, one, guess, tracks), tried), np.zeros(len(DRIFTS_PPM)))
    ppm = float(DRIFTS_PPM[int(np.argmax(totals))]) if totals.any() else guess.ppm
    return ppm, float(totals.max())


def _clear_by_drift(axis: Axis, stretch: Stretch, guess: Clock, tracks: Sequence[AxisTrack]) -> NDArray[np.float64]:
    """How far clear peaks stand out, summed over the tracks, for every drift that is tried."""
    rate_hz = axis.rate_hz
    size = _size(rate_hz)
    first = round(guess.to_take(stretch.device_s) * rate_hz)
    sound = axis.read(first, len(stretch.sound), tracks)
    theirs = [pieces_of(row, size, size // 2, rate_hz) for row in sound]
    ours = pieces_of(stretch.sound, size, size // 2, rate_hz)
    drifts = [ppm * 1e-6 for ppm in DRIFTS_PPM]
    clear = [[one.peak(LOW_S, HIGH_S).clear for one in correlate_drifting(row, ours, drifts)] for row in theirs]
    found: NDArray[np.float64] = np.clip(np.array(clear) - CHANCE, 0, None).sum(axis=0)
    return found


def _size(rate_hz: int) -> int:
    return 1 << int(np.ceil(np.log2(PIECE_S * rate_hz)))


def _best_tracks(
    axis: Axis, stretches: Sequence[Stretch], guess: Clock, tracks: Sequence[AxisTrack], workers: Executor
) -> tuple[AxisTrack, ...]:
    """The tracks that the camera hears most clearly, tried in a few stretches."""
    if len(tracks) <= KEPT:
        return tuple(tracks)
    step = max(1, len(stretches) // TRIED)
    tried = list(workers.map(lambda one: _read(axis, one, guess, tracks), stretches[step // 2 :: step][:TRIED]))
    clear = np.array([one.clear for one in tried]).reshape(-1, len(tracks))
    worth = np.sort(clear, axis=0)[-3:].mean(axis=0) if len(clear) else np.zeros(len(tracks))
    best = np.argsort(-worth, kind="stable")[:KEPT]
    return tuple(tracks[place] for place in sorted(best.tolist()))


def _read(axis: Axis, stretch: Stretch, guess: Clock, tracks: Sequence[AxisTrack]) -> _Read:
    rate_hz = axis.rate_hz
    size = _size(rate_hz)
    first = round(guess.to_take(stretch.device_s) * rate_hz)
    ours = pieces_of(stretch.sound, size, size // 2, rate_hz, drift=guess.ppm * 1e-6)
    middle_s = stretch.device_s + len(stretch.sound) / rate_hz / 2  # where the mean lag of all pieces holds
    take_s, clear = [], []
    sound = axis.read(first, len(stretch.sound), tracks)
    for row in sound:
        peak = correlate(pieces_of(row, size, size // 2, rate_hz), ours).peak(LOW_S, HIGH_S, first_share=FIRST_SHARE)
        take_s.append(first / rate_hz - peak.lag_s + middle_s - stretch.device_s)
        clear.append(peak.clear)
    return _Read(middle_s, tuple(take_s), tuple(clear))
