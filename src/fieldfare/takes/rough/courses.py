"""How a mixed piece went, to be plotted: its loudness, what the limiter took off, and what each track gave to it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, isfinite

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.mix import MixCourse, TrackShare
from fieldfare.takes.loudness import Loudness
from fieldfare.takes.loudness.gates import integrated_lufs, windows
from fieldfare.takes.rough.levels import BLOCK, GRAINS, HOP, TrackPower
from fieldfare.takes.rough.limiter import PER_S, BusGain
from fieldfare.takes.rough.rides import ride_course
from fieldfare.takes.rough.strips import Desk, Strip, gain_course

STEPS = 240  # of a course, at most
PER_TENTH = 0.1  # of a second: how often a meter says its loudness
MOMENTARY_S, SHORT_S = 0.4, 3.0  # [EBU3341] section 2
SHUT_DB = 1.0  # further down than this, a gate is on its way
F64 = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Piece:
    """One stretch to be rendered."""

    title: str
    name: str  # of its files, without the ending
    start: int
    end: int
    song: int | None
    fade_in_s: float
    fade_out_s: float

    def fade(self, at: F64, rate_hz: int) -> F64:
        """Gain of the fades at samples from the piece's first one on, in the shape of a cosine."""
        rising, falling = max(1.0, self.fade_in_s * rate_hz), max(1.0, self.fade_out_s * rate_hz)
        share = np.clip(np.minimum(at / rising, (self.end - self.start - at) / falling), 0, 1)
        return np.asarray(0.5 - 0.5 * np.cos(np.pi * share))

    def is_faded(self, first: int, frames: int, rate_hz: int) -> bool:
        """Whether a fade touches a stretch of it."""
        ends = self.end - self.start - max(1.0, self.fade_out_s * rate_hz)
        return first < max(1.0, self.fade_in_s * rate_hz) or first + frames > ends


def course_of(desk: Desk, piece: Piece, bus: BusGain, loudness: Loudness, power: TrackPower) -> MixCourse:
    """Tell how a piece went.

    Parameters
    ----------
    desk, piece
        What was mixed.
    bus, loudness
        What the bus did, and what was measured behind it.
    power
        Loudness of all the take's tracks from moment to moment.
    """
    long_s = (piece.end - piece.start) / desk.axis.rate_hz
    tenths = max(1, ceil(long_s / PER_TENTH / STEPS))
    steps = max(1, ceil(long_s / PER_TENTH / tenths - 1e-6))
    taken = -20 * np.log10(np.maximum(bus.course[: ceil(long_s * PER_S)].astype(np.float64), 1e-6))
    limited = _highest(taken, 0, round(tenths * PER_S * PER_TENTH), steps)
    return MixCourse(
        title=piece.title,
        start=piece.start,
        end=piece.end,
        step_s=round(tenths * PER_TENTH, 1),
        momentary_lufs=_said(_highest(loudness.momentary_lufs, MOMENTARY_S, tenths, steps)),
        short_lufs=_said(_highest(loudness.short_lufs, SHORT_S, tenths, steps)),
        limited_db=tuple(round(max(0.0, float(one)), 2) if isfinite(one) else 0.0 for one in limited),
        track=tuple(_shares(desk, piece, bus, power)),
    )


def _highest(values: F64, begin_s: float, per_step: int, steps: int) -> F64:
    """Highest value in each step; the first one is of `begin_s`, in as many steps of a meter as are left out before."""
    before = np.full(max(0, round(begin_s / PER_TENTH) - 1) if begin_s else 0, -np.inf)
    padded = np.concatenate([before, values])[: per_step * steps]
    padded = np.concatenate([padded, np.full(per_step * steps - len(padded), -np.inf)])
    highest: F64 = padded.reshape(steps, per_step).max(axis=1)
    return highest


def _said(values: F64) -> tuple[float | None, ...]:
    return tuple(round(float(one), 1) if isfinite(one) else None for one in values)


def _shares(desk: Desk, piece: Piece, bus: BusGain, power: TrackPower) -> Iterator[TrackShare]:
    """What each track that is heard gives: its measured power with all gains that it gets, but for the limiter's."""
    rate = desk.axis.rate_hz
    grains = power.grains(piece.start, piece.end)
    at = (np.arange(grains.start, grains.stop) + 0.5) * (rate / GRAINS)
    common = ride_course(desk.sheet.ride, at, rate) * piece.fade(at - piece.start, rate)
    places = {track.label: place for place, track in enumerate(desk.axis.track)}
    for strip in desk.strips:
        row = power.power[places[strip.track.label]]
        own = np.clip(np.round(at * GRAINS / rate - 0.5 - strip.sheet.shift * GRAINS / rate), 0, len(row) - 1)
        gains = common * gain_course(desk, strip, piece.song, at) if len(at) else np.empty(0)
        blocks = windows(row[own.astype(np.int64)] * gains**2, BLOCK, HOP)
        heard = integrated_lufs(blocks) + bus.gain_db
        yield TrackShare(
            label=strip.track.label,
            pan=strip.sheet.pan,
            loudness_lufs=round(heard, 1) if isfinite(heard) else None,
            shut=tuple(_shut(strip, grains, rate, piece)),
        )


def _shut(strip: Strip, grains: slice, rate_hz: int, piece: Piece) -> Iterator[tuple[int, int]]:
    """Where its gate is shut, or on its way there."""
    if strip.gate is None:
        return
    down = strip.gate[grains] < 10 ** (-SHUT_DB / 20)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], down.astype(np.int8), [0]]))) + grains.start
    for first, last in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        yield (
            piece.start if first == grains.start else first * rate_hz // GRAINS,
            piece.end if last == grains.stop else last * rate_hz // GRAINS,
        )
