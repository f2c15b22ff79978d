"""Where level and treble of a track jump by one and the same factor: what a knob does, and a note hardly ever.

A note that begins brings treble that dies away before the rest; one that ends loses its treble first. A knob that is
turned moves both alike, at once or within the second that a hand takes, and neither comes back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fieldfare.takes.checks.check import Track
from fieldfare.takes.measure.grain import F64

_LEAST_DB = -130.0
_USUAL = 900  # stretches on both sides that tell how much levels jump by themselves
_REACH = 120  # stretches that are looked at to either side of a place
_LEAST_USUAL_DB = 1.0
_FREEDOM = 3.0  # of Student's distribution: large jumps are rare, but not as rare as normal ones
# Stretches that are left out while a knob is turned, and how many are compared before and after.
_TURNS: tuple[tuple[int, tuple[int, ...]], ...] = ((1, (1, 2, 6, 24, 94)), (12, (2, 6, 24, 94)), (48, (6, 24, 94)))


@dataclass(frozen=True, slots=True)
class Course:
    """Level and treble of a track from stretch to stretch, by mean squares and by mean bends. [dBFS]"""

    frames: int  # of a stretch
    level_db: F64
    treble_db: F64

    @classmethod
    def of(cls, track: Track) -> Course:
        """Return the course of a track; the last stretch, which may be shorter, is left out."""
        strip, scale = track.channel.strip, float(track.full_scale)
        power = strip.energy[:-1] / (strip.frames * scale**2)
        bend = strip.bends[:-1] / (strip.frames * scale)
        least = 10 ** (_LEAST_DB / 10)
        return cls(
            strip.frames,
            10 * np.log10(np.maximum(2 * power, least)),
            20 * np.log10(np.maximum(bend.astype(np.float64), least**0.5)),
        )


def nats(course: Course, by_db: float | F64, first: int, last: int) -> F64:
    """How much likelier than none a gain that changes by `by_db` is at the start of each stretch from first to last.

    It changes by as much everywhere, or at each of these stretches by an amount of its own.
    Level and treble are compared over several lengths, and the speed of the turn that fits best; what a jump has to
    stand out from is how much both jump nearby.
    """
    count = len(course.level_db)
    begin, end = max(0, first - _USUAL), min(count, last + _USUAL)
    far_begin, far_end = max(0, begin - _REACH), min(count, end + _REACH)
    both = [one[far_begin:far_end] for one in (course.level_db, course.treble_db)]
    near, here = slice(begin - far_begin, end - far_begin), slice(first - far_begin, last + 1 - far_begin)
    best = np.full(last + 1 - first, -np.inf)
    for gap, sizes in _TURNS:
        score = np.zeros(last + 1 - first)
        for size in sizes:
            turned, still = np.zeros_like(score), np.zeros_like(score)
            for level_db in both:
                jump = _jump(level_db, size, gap)
                usual = max(_LEAST_USUAL_DB, 1.2 * float(np.median(np.abs(jump[near]))))
                turned += ((jump[here] - by_db) / usual) ** 2
                still += (jump[here] / usual) ** 2
            score += (_FREEDOM + 2) / 2 * (np.log1p(still / _FREEDOM) - np.log1p(turned / _FREEDOM))
        best = np.maximum(best, score)
    return best


def _jump(level_db: F64, size: int, gap: int) -> F64:
    """By how much the level rises at the start of each stretch."""
    sums, count = np.concatenate([[0.0], np.cumsum(level_db)]), len(level_db)
    edges = np.arange(count + 1)
    end, begin = edges - -(-gap // 2), edges + gap // 2
    a, b, c, d = (np.clip(one, 0, count) for one in (end - size, end, begin, begin + size))
    before, after = (sums[b] - sums[a]) / np.maximum(b - a, 1), (sums[d] - sums[c]) / np.maximum(d - c, 1)
    rise: F64 = np.where((b > a) & (d > c), after - before, 0.0)
    return rise
