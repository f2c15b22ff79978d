"""Where in the take a clip lies, to a twenty-fifth of a second: its changes of level against those of the take.

A clip is cut into chunks short enough that clocks drift little within one; each votes for places in the take,
and the place wins that most chunks agree on within what a clock can drift from one to the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.picture.clock import Clock
from fieldfare.takes.picture.novelty import PER_S

MOST_PPM = 300.0  # no clock of a camera is further off
VOTES = 8  # places that each chunk may name
NEARLY, MOST_PLACES, APART_S = 0.6, 4, 0.5  # PRACTICE: how likely others are, against the likeliest, to be tried too
_ASIDE = PER_S // 5  # votes nearer to one another than this are one
_SLACK = 3  # stretches by which chunks may differ beyond drift
_LEAST_BLOCK = 1 << 13  # stretches of the take that are correlated at once
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
C64 = NDArray[np.complex64]


@dataclass(frozen=True)
class Chunk:
    """A part of a clip: its novelty, with zeros where nothing was read."""

    start_s: float  # device time of its first stretch
    novelty: F32  # (bands, stretches)


@dataclass(frozen=True)
class Place:
    """Where a clip lies."""

    offset_s: float  # take time of device time 0, as the middle of the clip has it
    ppm: float
    score: float  # height of the chunks' peaks against the rest of their correlation, summed
    chunks: int  # that agree
    middle_s: float  # device time for which the offset holds best

    def clock(self, ppm: float) -> Clock:
        """A clock of some drift that is right in the middle of the clip. [ppm]"""
        return Clock(self.offset_s + self.middle_s * ppm * 1e-6, ppm)


def find_places(take: F32, chunks: Sequence[Chunk]) -> tuple[Place, ...]:
    """Find where in a take a clip may lie.

    Parameters
    ----------
    take
        Novelty of the take, shape (bands, stretches).
    chunks
        The parts of the clip.

    Returns
    -------
    The place, and those that are nearly as likely, as where a tune comes round again; none where no chunk has anything
    to tell.
    """
    longest = max((chunk.novelty.shape[1] for chunk in chunks), default=0)
    if not longest or not take.shape[1]:
        return ()
    blocks = _blocks_of(take, longest)
    courses = [one for chunk in chunks if (one := _course(blocks, chunk)) is not None]
    found = [_agreed(courses, course, lag) for course in courses for lag in course.votes]
    places: list[Place] = []
    for place in sorted(found, key=lambda place: -place.score):
        if len(places) == MOST_PLACES or (places and place.score < NEARLY * places[0].score):
            break
        if all(abs(place.offset_s - other.offset_s) > APART_S for other in places):
            places.append(place)
    return tuple(places)


@dataclass(frozen=True)
class _Course:
    """The correlation of a chunk with the take, over all places of its first stretch."""

    middle_s: float
    start: int  # stretches of device time at its first stretch
    low: int  # place of the first value
    values: F64  # re their own unrest
    votes: tuple[int, ...]


@dataclass(frozen=True)
class _Blocks:
    """A take in blocks that overlap by the longest chunk, transformed once for all chunks."""

    length: int  # stretches of the take
    size: int  # of a transform
    longest: int  # chunk
    rms: F64  # of each band
    lines: tuple[C64, ...]  # of each block, (bands, lines)


def _blocks_of(take: F32, longest: int) -> _Blocks:
    from scipy.fft import next_fast_len, rfft

    bands, length = take.shape
    size = next_fast_len(max(2 * longest, _LEAST_BLOCK), real=True)
    step = size - longest + 1
    padded = np.concatenate([np.zeros((bands, longest - 1), np.float32), take], axis=1)
    lines = tuple(rfft(padded[:, start : start + size], size, axis=1) for start in range(0, padded.shape[1], step))
    power = np.array([float(np.mean(np.square(band), dtype=np.float64)) for band in take])
    return _Blocks(length, size, longest, np.sqrt(power), lines)


def _course(blocks: _Blocks, chunk: Chunk) -> _Course | None:
    from scipy.fft import irfft, rfft

    part = chunk.novelty.shape[1]
    scale = blocks.rms * np.sqrt(np.sum(chunk.novelty.astype(np.float64) ** 2, axis=1))
    told = scale > 0
    if not told.any():
        return None
    mine = (chunk.novelty[told] / scale[told, np.newaxis]).astype(np.float32)
    turned = np.conj(rfft(mine, blocks.size, axis=1))
    step, longest = blocks.size - blocks.longest + 1, blocks.longest
    rows = [irfft(np.einsum("bl,bl->l", lines[told], turned), blocks.size)[:step] for lines in blocks.lines]
    low = -(part - 1)
    values = np.concatenate(rows).astype(np.float64)[longest - part :][: blocks.length + part - 1]
    unrest = 1.4826 * float(np.median(np.abs(values - np.median(values))))
    values = values / max(unrest, 1e-12)
    start = round(chunk.start_s * PER_S)
    return _Course(chunk.start_s + part / PER_S / 2, start, low, values, tuple(_highest(values, low)))


def _highest(values: F64, low: int) -> list[int]:
    left = values.copy()
    found = []
    for _ in range(VOTES):
        top = int(np.argmax(left))
        found.append(top + low)
        left[max(0, top - _ASIDE) : top + _ASIDE + 1] = -np.inf
    return found


def _agreed(courses: Sequence[_Course], course: _Course, lag: int) -> Place:
    """What all chunks say of one vote: each may be off it by what a clock can drift in between."""
    offset = lag - course.start
    at, found, heights = [], [], []
    for other in courses:
        reach = _SLACK + int(abs(other.middle_s - course.middle_s) * PER_S * MOST_PPM * 1e-6)
        if other is course:
            reach = 0
        first = offset + other.start - reach - other.low
        near = other.values[max(0, first) : max(0, first + 2 * reach + 1)]
        if len(near):
            top = int(np.argmax(near))
            at.append(other.middle_s)
            found.append((max(0, first) + top + other.low - other.start) / PER_S)
            heights.append(float(near[top]))
    clear = np.array(heights) >= max(5.0, 0.4 * max(heights))
    if not clear.any():
        clear = np.array(heights) == max(heights)
    times, offsets = np.array(at)[clear], np.array(found)[clear]
    middle = float(times.mean())
    slope = 0.0
    if len(times) > 1 and np.ptp(times) * MOST_PPM * 1e-6 > 2 / PER_S:
        slope = float(np.polyfit(times - middle, offsets, 1)[0])
    ppm = float(np.clip(-slope * 1e6, -MOST_PPM, MOST_PPM))
    return Place(float(offsets.mean()), ppm, float(np.sum(heights)), int(clear.sum()), middle)
