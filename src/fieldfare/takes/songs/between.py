"""What is heard between songs: applause, talk, tuning, or nothing to speak of."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.drawn import Role
from fieldfare.show.songs import Between
from fieldfare.takes.songs.activity import FRAME_S, Activity, own_tracks, power_in_frames, smoothed
from fieldfare.takes.songs.levels import Levels

APPLAUSE_DB = 12.0  # that the treble of the open microphones rises over what it is when nobody claps
BEFORE_DB = 3.0  # between treble and all else, by which applause differs from music that dies away
TALK_DB, TALK_OVER_DB = 12.0, 6.0  # that a voice rises over its quiet, and over what most other tracks rise
TUNING_SHARE = 0.5  # of being played on
SHORTEST_S = 1.0
SMOOTH_S = 0.8
KINDS: tuple[Between, ...] = get_args(Between)
F64 = NDArray[np.float64]
I64 = NDArray[np.int64]


def kinds_of(levels: Levels, activity: Activity, roles: Sequence[Role]) -> I64:
    """Tell for every frame what it would be if no song were played: places in `KINDS`.

    Parameters
    ----------
    levels
        Of all tracks.
    activity
        What is played.
    roles
        What each track is there for.
    """
    voices = np.array([role == "voice" for role in roles], np.bool_)
    rooms = np.array([role == "room" for role in roles], np.bool_)
    own = own_tracks(roles)
    air = rooms if rooms.any() else own | voices
    clapped = _applause(levels, air, activity.frames)
    rises = _rises(levels, activity.frames)
    voice = rises[voices].max(axis=0, initial=0.0)
    others = np.median(rises[own], axis=0) if own.any() else np.zeros(activity.frames)
    tuned = activity.playing[own & ~voices].max(axis=0, initial=0.0)
    kinds = np.full(activity.frames, KINDS.index("quiet"))
    kinds[(voice > TALK_DB) & (voice > others + TALK_OVER_DB)] = KINDS.index("talk")
    kinds[tuned > TUNING_SHARE] = KINDS.index("tuning")
    kinds[clapped] = KINDS.index("applause")
    return kinds


def _rises(levels: Levels, frames: int) -> F64:
    """By how much every track is louder than in its quietest moments. [dB]"""
    smooth = smoothed(power_in_frames(levels, 0), round(SMOOTH_S / FRAME_S))[:, :frames]
    db = 10 * np.log10(smooth)
    rises: F64 = db - np.quantile(db, 0.02, axis=1, keepdims=True) if frames else db
    return rises


def _applause(levels: Levels, air: NDArray[np.bool_], frames: int) -> NDArray[np.bool_]:
    """Frames in which most open microphones hear much more treble than when nobody claps."""
    high, whole = (power_in_frames(levels, band, air) for band in (2, 0))
    width = round(SMOOTH_S / FRAME_S)
    treble = 10 * np.log10(smoothed(high, width))
    share = treble - 10 * np.log10(smoothed(whole, width))
    usual = np.median(share, axis=1, keepdims=True)
    quiet = np.quantile(treble, 0.02, axis=1, keepdims=True)
    heard = (treble > quiet + APPLAUSE_DB) & (share > usual + BEFORE_DB)
    clapped: NDArray[np.bool_] = heard[:, :frames].mean(axis=0) > 0.5
    return clapped


def stretches_between(kinds: I64, first: int, last: int) -> list[tuple[Between, int, int]]:
    """Part a gap into stretches of one kind: kind, first frame, frame after the last.

    What is shorter than a second goes to what lies before it, or at the start to what comes after.
    """
    edges = [first, *(np.flatnonzero(np.diff(kinds[first:last])) + first + 1).tolist(), last]
    found: list[tuple[Between, int, int]] = []
    for begin, end in pairwise(edges):
        if end <= begin:
            continue
        kind = KINDS[int(kinds[begin])]
        if found and ((end - begin) * FRAME_S < SHORTEST_S or found[-1][0] == kind):
            found[-1] = (found[-1][0], found[-1][1], end)
        else:
            found.append((kind, begin, end))
    if len(found) > 1 and (found[0][2] - first) * FRAME_S < SHORTEST_S:
        found[:2] = [(found[1][0], first, found[1][2])]
    return found
