"""The pulse of the music: how strokes repeat, which tempo that is, and where one pulse gives way to another.

A song keeps its pulse from beginning to end, whatever its instruments do; one that it runs into has its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.drawn import Role
from fieldfare.takes.songs.activity import FRAME_S, Activity, own_tracks
from fieldfare.takes.songs.levels import Levels

WINDOW_S = 9.0
STEP_S = 0.2
LAGS_S = (0.2, 2.5)
RISE_LEAST_DB, RISE_MOST_DB = 0.5, 12.0  # of a band in 50 ms, to count as a stroke, and more than which does not count
UNDER_LOUD_DB = 30.0  # further under a track's loud parts nothing counts
TEMPI_BPM = (50.0, 220.0)
NEARLY, LIKELY_BPM = 0.8, 110.0  # of beats nearly as strong, half and twice of one, the one nearest to this is told
STEADY, STEADY_COUNTS, STEADY_MOST = 0.55, 6.0, 1.5  # PRACTICE: repeating beyond which two who play are in a song
BEHIND_S = 3.0  # of a window that has to be steady too: who tunes ahead of a song does not keep its time
PLAYED = (0.6, 0.9)  # of one track: hardly, and surely
_TOGETHER = 512  # windows that are worked out at once
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]


@dataclass(frozen=True)
class Pulse:
    """Strokes hop by hop, and how they repeat in windows that begin every step."""

    hop_s: float
    strokes: F64  # (hops,): strength, all tracks together
    step: int  # hops
    window: int  # hops
    first_lag: int  # hops
    repeats: F32  # (windows, lags): autocorrelation, 1 at no lag

    def change(self) -> F64:
        """How unlike the pulse is after each window's beginning to that before it: 0 the same, 1 nothing in common."""
        back = self.window // self.step
        change = np.zeros(len(self.repeats))
        before, after = self.repeats[:-back], self.repeats[back:]
        if len(after) and back:
            strength = np.sqrt((before**2).sum(axis=1) * (after**2).sum(axis=1))
            alike = (before * after).sum(axis=1) / np.maximum(strength, 1e-9)
            change[back:] = np.clip(1.0 - alike, 0.0, 1.0)
        return change

    def tempo_bpm(self, begin_s: float, end_s: float) -> float | None:
        """Strongest beat between two times; none where too little is heard to tell."""
        first = -int(-begin_s / self.hop_s // self.step)
        last = int((end_s / self.hop_s - self.window) // self.step)
        if last <= first:
            return None
        mean = self.repeats[first:last].mean(axis=0, dtype=np.float64)
        lags = (self.first_lag + np.arange(len(mean))) * self.hop_s
        fit = (60.0 / lags >= TEMPI_BPM[0]) & (60.0 / lags <= TEMPI_BPM[1])
        inner = (mean[1:-1] >= mean[:-2]) & (mean[1:-1] >= mean[2:]) & fit[1:-1]
        peaks = np.flatnonzero(inner) + 1
        if not len(peaks):
            return None
        strong = peaks[mean[peaks] >= NEARLY * mean[peaks].max()]
        best = int(strong[np.argmin(np.abs(np.log(60.0 / lags[strong] / LIKELY_BPM)))])
        left, here, right = mean[best - 1 : best + 2]
        bend = left - 2 * here + right
        off = 0.5 * (left - right) / bend if bend else 0.0
        return float(60.0 / (lags[best] + off * self.hop_s))

    def in_time(self, tempo_bpm: float) -> F64:
        """How strongly each window repeats at a tempo, or at half or twice of it."""
        lags = [times * 60.0 / tempo_bpm / self.hop_s - self.first_lag for times in (1.0, 0.5, 2.0)]
        places = np.arange(self.repeats.shape[1])
        fit = [lag for lag in lags if 1 <= lag <= places[-1] - 1]
        if not fit or not len(self.repeats):
            return np.zeros(len(self.repeats))
        near = [self.repeats[:, round(lag) - 1 : round(lag) + 2].max(axis=1) for lag in fit]
        strongest: F64 = np.max(near, axis=0).astype(np.float64)
        return strongest


def pulse_of(levels: Levels, roles: Sequence[Role]) -> Pulse:
    """Find the pulse of a take.

    Parameters
    ----------
    levels
        Of all tracks.
    roles
        What each track is there for.
    """
    strokes = _strokes(levels, own_tracks(roles))
    step, window = round(STEP_S / levels.hop_s), round(WINDOW_S / levels.hop_s)
    first, last = round(LAGS_S[0] / levels.hop_s), round(LAGS_S[1] / levels.hop_s)
    padded = np.pad(strokes, (0, window))
    windows = np.lib.stride_tricks.sliding_window_view(padded, window)[: len(strokes) : step]
    repeats = np.empty((len(windows), last - first), np.float32)
    for at in range(0, len(windows), _TOGETHER):
        repeats[at : at + _TOGETHER] = _repeats(windows[at : at + _TOGETHER], first, last)
    return Pulse(levels.hop_s, strokes, step, window, first, repeats)


def _strokes(levels: Levels, own: NDArray[np.bool_]) -> F64:
    strokes = np.zeros(levels.hops)
    for track in np.flatnonzero(own):
        for band in levels.db[track, :2]:
            near = np.maximum(band, np.quantile(band, 0.95) - UNDER_LOUD_DB) if levels.hops else band
            rise = near[2:] - near[:-2] - RISE_LEAST_DB
            strokes[1:-1] += np.clip(rise, 0.0, RISE_MOST_DB)
    return strokes


def _repeats(windows: F64, first: int, last: int) -> F64:
    """Autocorrelate windows, shape (windows, hops), from one lag to another."""
    from scipy.fft import irfft, rfft

    size = windows.shape[1]
    spectra = rfft(windows - windows.mean(axis=1, keepdims=True), 2 * size)
    lags = irfft(np.abs(spectra) ** 2, 2 * size)[:, :last]
    unbiased = lags[:, first:] * size / (size - np.arange(first, last))
    repeats: F64 = unbiased / np.maximum(lags[:, :1], 1e-9)
    return repeats


def with_pulse(activity: Activity, pulse: Pulse) -> Activity:
    """Count a steady pulse for a song where somebody plays: a song may begin with one or two, who keep time.

    Parameters
    ----------
    activity
        What is played.
    pulse
        Of the same take.
    """
    if not len(pulse.repeats) or not activity.frames:
        return activity
    strength = pulse.repeats.max(axis=1).astype(np.float64)
    steps = np.arange(activity.frames) * FRAME_S / (pulse.step * pulse.hop_s)
    ahead, around = (
        np.interp(steps - early_s / pulse.hop_s / pulse.step, np.arange(len(strength)), strength, left=0.0)
        for early_s in (0.0, BEHIND_S)
    )
    top = activity.playing[own_tracks(activity.roles)].max(axis=0, initial=0.0)
    played = np.clip((top - PLAYED[0]) / (PLAYED[1] - PLAYED[0]), 0.0, 1.0)
    more = np.clip(STEADY_COUNTS * (np.minimum(ahead, around) - STEADY), 0.0, STEADY_MOST)
    return replace(activity, evidence=activity.evidence + more * played)
