"""How much is played from moment to moment, in frames of 0.1 s, by how loud every track is against its own loud parts.

Each track is judged by itself: a track at its usual loudness is played on, one far under it only hears the others.
Voices count less, because they talk between songs, and rooms do not count, because they hear applause.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.drawn import Role
from fieldfare.takes.songs.levels import Levels

PER_FRAME = 4  # hops
FRAME_S = 0.1
OWN: frozenset[Role] = frozenset(("close", "overhead"))
LOUD_SHARE = 0.95  # of all 0.4 s a track stays under this loudness
QUIET_DB, FULL_DB = 20.0, 8.0  # under a track's loud parts: not played on, played on
SMOOTH_S = 1.5
TOP = 3  # tracks that have to be played on for a song to be sure
FEW_PLAY = 0.45  # least share of the tracks that is taken for the whole band
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]


@dataclass(frozen=True)
class Activity:
    """What is played in a take, frame by frame."""

    playing: F32  # (tracks, frames): 0 where a track only hears the others, 1 where it is played on
    roles: tuple[Role, ...]
    evidence: F64  # (frames,): log odds that a song is played, before anything is known of its neighbours
    loud_db: F64  # (tracks,)

    @property
    def frames(self) -> int:
        """How many there are."""
        return len(self.evidence)


def activity_of(levels: Levels, roles: Sequence[Role]) -> Activity:
    """Tell from levels what is played.

    Parameters
    ----------
    levels
        Of all tracks.
    roles
        What each track is there for.
    """
    power = power_in_frames(levels, 0)
    loud_db = _loud_db(power)
    smooth_db = 10 * np.log10(smoothed(power, round(SMOOTH_S / FRAME_S)))
    playing = np.clip((smooth_db - loud_db[:, np.newaxis] + QUIET_DB) / (QUIET_DB - FULL_DB), 0, 1).astype(np.float32)
    return Activity(playing, tuple(roles), _evidence(playing[own_tracks(roles)]), loud_db)


def own_tracks(roles: Sequence[Role]) -> NDArray[np.bool_]:
    """Which tracks tell whether a song is played: those of instruments, or failing those whatever is there."""
    own: NDArray[np.bool_] = np.array([role in OWN for role in roles], np.bool_)
    other: NDArray[np.bool_] = np.array([role not in ("mix", "talk") for role in roles], np.bool_)
    chosen: NDArray[np.bool_] = own if own.any() else other if other.any() else ~own
    return chosen


def power_in_frames(levels: Levels, band: int, tracks: NDArray[np.bool_] | None = None) -> F64:
    """Average the power of a band of all tracks, or of some, over frames; one at a time, since a night is long."""
    chosen = levels.db if tracks is None else [levels.db[track] for track in np.flatnonzero(tracks)]
    frames = np.empty((len(chosen), max(1, -(-levels.hops // PER_FRAME))))
    for row, db in zip(frames, chosen, strict=True):
        row[:] = to_frames(np.power(10.0, db[np.newaxis, band] / 10))
    return frames


def to_frames(power: F32 | F64) -> F64:
    """Average hops, shape (tracks, hops), to frames; hops at the end that fill no frame go into one more."""
    short = -power.shape[1] % PER_FRAME
    whole = np.pad(power, ((0, 0), (0, short)), mode="edge") if power.shape[1] else np.zeros((len(power), PER_FRAME))
    frames: F64 = whole.reshape(len(power), -1, PER_FRAME).mean(axis=2, dtype=np.float64)
    return frames


def smoothed(power: F64, width: int) -> F64:
    """Average over a window around every frame; at the ends over what there is of it."""
    width = min(width, power.shape[-1])
    sums = np.cumsum(np.pad(power, [(0, 0)] * (power.ndim - 1) + [(1, 0)]), axis=-1)
    places = np.arange(power.shape[-1])
    first = np.maximum(places - width // 2, 0)
    last = np.minimum(places - width // 2 + width, power.shape[-1])
    mean: F64 = (sums[..., last] - sums[..., first]) / (last - first)
    return mean


def _loud_db(power: F64) -> F64:
    """How loud each track is in its loud parts. [dB]"""
    short = smoothed(power, 4)
    loud: F64 = np.asarray(10 * np.log10(np.quantile(short, LOUD_SHARE, axis=1)), np.float64)
    return loud


def _evidence(playing: F32) -> F64:
    """Turn what is played into log odds that it is a song.

    The share of the band that plays counts against the share that usually does, and so do the few that play most: one
    alone may be tuning, three are not. The weights were set so that quiet introductions of rendered shows come out
    above 0 and nine tenths of tuning and talk below.
    """
    share = playing.mean(axis=0, dtype=np.float64)
    usual = max(FEW_PLAY, float(np.quantile(share, 0.8)))
    top = np.sort(playing, axis=0)[::-1][:TOP].mean(axis=0, dtype=np.float64)
    odds: F64 = 5.0 * (share / usual - 0.42) + 4.0 * (top - 0.72)
    return odds
