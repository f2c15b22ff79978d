"""Where songs may begin and end: every moment at which what is played changes, and what speaks for it there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.songs import ListedSong
from fieldfare.takes.songs.activity import FRAME_S, Activity, smoothed
from fieldfare.takes.songs.night import NEVER, Places
from fieldfare.takes.songs.pins import Pin, with_pins
from fieldfare.takes.songs.pulse import Pulse

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]

SURE = 2.5  # log odds beyond which a frame says no more
PER_S = 0.5  # frames that say something of their own, in a second: music goes on as it is
SIDE_S = 2.0  # looked at on each side of a change
LEAST_CHANGE = 0.6  # of the log odds
CHANGE_COUNTS = 0.8  # what a full change adds to a beginning or an end
SEAM_CHANGE, SEAM_COUNTS = 0.5, 18.0  # of the pulse: as likely a seam as not, and what more of it adds
SEAM_MUSIC_S = 3.0  # around a seam in which music has to be heard
MARK_EARLY_S, MARK_LATE_S = 12.0, 4.0  # a mark is made this long after a song began, or before it does, at most
IN_TIME = 0.35  # of a window's own strength: what repeats at a tempo that is not the song's
MARK_COUNTS, TITLE_COUNTS = 2.0, 3.0


@dataclass(frozen=True, slots=True)
class Sign:
    """A mark of the night, on the axis of all takes one after another."""

    at_s: float
    title: int | None  # place in the list, where it names one


def places_of(
    heard_takes: Sequence[tuple[Activity, Pulse]],
    signs: Sequence[Sign] = (),
    listed: Sequence[ListedSong] = (),
    pins: Sequence[Pin] = (),
) -> Places:
    """Gather the places of a night.

    Parameters
    ----------
    heard_takes
        What is played in each take and its pulse, in order.
    signs
        Marks of the night.
    listed
        The set list, in order.
    pins
        What a person set.
    """
    parts = [
        _of_take(activity, pulse, [pin for pin in pins if pin.take == take])
        for take, (activity, pulse) in enumerate(heard_takes)
    ]
    starts_s = np.cumsum([0.0, *(activity.frames * FRAME_S for activity, _ in heard_takes)])
    at_s = np.concatenate([frame * FRAME_S + start for (frame, *_), start in zip(parts, starts_s, strict=False)])
    begins, ends, seams = (np.concatenate([part[row] for part in parts]) for row in (2, 3, 4))
    heard = np.concatenate([part[1] for part in parts])
    part = np.concatenate([np.full(len(frame), number) for number, (frame, *_) in enumerate(parts)])
    titled = np.zeros((len(listed), len(at_s)))
    in_time = [
        _in_time(pulse, activity, frame, listed)
        for (activity, pulse), (frame, *_) in zip(heard_takes, parts, strict=True)
    ]
    for sign in signs:
        near = (at_s >= sign.at_s - MARK_EARLY_S) & (at_s <= sign.at_s + MARK_LATE_S)
        if sign.title is None:
            begins = begins + MARK_COUNTS * near
        else:
            titled[sign.title] += TITLE_COUNTS * near - TITLE_COUNTS * ~near
    frames = np.concatenate([frame for frame, *_ in parts])
    none = np.zeros(len(at_s))
    places = Places(
        at_s, heard, begins, ends, seams, part, titled, np.concatenate(in_time, axis=1), none, none.astype(np.bool_)
    )
    return with_pins(places, frames, pins)


def _in_time(pulse: Pulse, activity: Activity, frames: I64, listed: Sequence[ListedSong]) -> F64:
    """How far each listed tempo is heard in one take, above what is usual, summed up to each place. [s]"""
    sums = np.zeros((len(listed), len(frames)))
    steps = np.arange(activity.frames) * FRAME_S / (pulse.step * pulse.hop_s)
    for row, one in zip(sums, listed, strict=True):
        if one.tempo_bpm is not None and len(pulse.repeats):
            heard = pulse.in_time(one.tempo_bpm)
            by_frame = np.interp(steps, np.arange(len(heard)), heard) - IN_TIME
            row[:] = np.concatenate([[0.0], np.cumsum(by_frame)])[frames] * FRAME_S
    return sums


def _of_take(activity: Activity, pulse: Pulse, pins: Sequence[Pin]) -> tuple[I64, F64, F64, F64, F64]:
    """Frames of one take's places, evidence up to each, and what speaks for a beginning, an end and a seam there."""
    odds = np.clip(activity.evidence, -SURE, SURE)
    for pin in pins:
        if pin.nothing is not None:
            odds[slice(*pin.nothing)] = -SURE
    change = _change(odds)
    rises = _peaks(change, LEAST_CHANGE)
    falls = _peaks(-change, LEAST_CHANGE)
    seams, strength = seams_of(pulse, activity)
    own = [frame for pin in pins for frame in (pin.begin, pin.end) if frame is not None]
    frames = np.unique(np.concatenate([[0], rises, falls, seams, own, [activity.frames]])).astype(np.int64)
    heard = np.concatenate([[0.0], np.cumsum(odds)])[frames] * (PER_S * FRAME_S)
    inside = np.minimum(frames, max(0, activity.frames - 1))
    counts = CHANGE_COUNTS * change[inside] / SURE
    begins = np.where(np.isin(frames, np.append(rises, 0)), counts, NEVER)
    ends = np.where(np.isin(frames, np.append(falls, activity.frames)), -counts, NEVER)
    at_seam = np.full(len(frames), NEVER)
    at_seam[np.searchsorted(frames, seams)] = strength
    return frames, heard, begins, ends, at_seam


def _change(odds: F64) -> F64:
    """By how much the mean of the odds rises from the time before each frame to the time after it."""
    side = round(SIDE_S / FRAME_S)
    sums = np.concatenate([[0.0], np.cumsum(odds)])
    places = np.arange(len(odds))
    before, after = np.maximum(places - side, 0), np.minimum(places + side, len(odds))
    mean_after = (sums[after] - sums[places]) / np.maximum(after - places, 1)
    mean_before = (sums[places] - sums[before]) / np.maximum(places - before, 1)
    change: F64 = np.where(places == 0, 0.0, mean_after - mean_before)
    return change


def _peaks(row: F64, least: float) -> I64:
    """Frames at which a row is highest within half a second and at least so high."""
    reach = round(0.5 / FRAME_S)
    padded = np.pad(row, reach, constant_values=NEVER)
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1).max(axis=1)
    found: I64 = np.flatnonzero((row >= least) & (row == around))
    return found


def seams_of(pulse: Pulse, activity: Activity) -> tuple[I64, F64]:
    """Frames at which one pulse gives way to another while the music goes on, and what speaks for a seam there."""
    change = pulse.change()
    steps = np.arange(activity.frames) * FRAME_S / (pulse.step * pulse.hop_s)
    by_frame = np.interp(steps, np.arange(len(change)), change) if len(change) else np.zeros(activity.frames)
    odds = SEAM_COUNTS * (by_frame - SEAM_CHANGE)
    music = smoothed(np.clip(activity.evidence, -1, 1), round(SEAM_MUSIC_S / FRAME_S)) > 0
    peaks = _peaks(np.where(music, odds, NEVER), 0.0)
    found: list[int] = []
    for frame in sorted(peaks.tolist(), key=lambda one: -odds[one]):
        if all(abs(frame - other) > pulse.window * pulse.hop_s / FRAME_S / 2 for other in found):
            found.append(frame)
    frames = np.array(sorted(found), np.int64)
    return frames, odds[frames]
