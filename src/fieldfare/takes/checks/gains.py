"""Whether a track's gain was changed in the middle of it.

Players get louder and softer, but not at every loudness alike: a gain that is changed shifts pauses, spill, noise, soft
and loud playing by the same figure, at once, and for good, on one track alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from fieldfare.takes.checks import thresholds as limit
from fieldfare.takes.checks.check import Hit, Take, Track
from fieldfare.takes.checks.levels import is_dead
from fieldfare.takes.measure.grain import F64
from fieldfare.units.clock import sample_clock
from fieldfare.units.text import figure

_SHARES = np.array([0.03, 0.10, 0.20, 0.35, 0.50, 0.65, 0.80, 0.90, 0.97])
_SILENT_DB = -125.0
_SIDES_S = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0)
_STEP_S = 0.5  # from one place that is tried to the next
_BINS_DB = np.arange(-130.0, 12.0)
_LEAST = 24  # stretches on each side


class Step(NamedTuple):
    """A place at which everything shifts."""

    at: int  # sample
    by_db: float
    score_db: float  # the shift less how unequal it is


def steps(track: Track) -> list[Step]:
    """Return the places at which all levels of a track shift alike, the clearest of neighbours."""
    strip = track.channel.strip
    per_s = track.rate_hz / strip.frames
    wide = max(_LEAST, round(limit.GAIN_BESIDE_S.value * per_s))
    power = strip.energy[:-1] / (strip.frames * float(track.full_scale) ** 2)
    level = 10 * np.log10(np.maximum(2 * power, 1e-13))
    if len(level) < 2 * wide + 1 or is_dead(track):
        return []
    stride = max(1, round(_STEP_S * per_s))
    shift = _levels(level, wide, stride)
    by = shift[wide // stride :][: len(shift) - wide // stride] - shift[: len(shift) - wide // stride]
    middle = np.median(by, axis=1)
    unequal = np.sort(np.abs(by - middle[:, np.newaxis]), axis=1)[:, -2]
    score = np.abs(middle) - limit.GAIN_UNEQUAL.value * unequal
    wide = wide // stride * stride
    found = []
    alike = (score >= limit.GAIN_ALIKE.value * np.abs(middle)) & (by[:, 0] * np.sign(middle) >= 0.5 * np.abs(middle))
    gain = (np.abs(middle) <= limit.GAIN_MOST_DB.value) & (unequal <= limit.GAIN_UNEQUAL_DB.value)
    score[~(alike & gain)] = 0.0  # pauses, of all, have to shift too
    for place in _peaks(score, wide // stride):
        at, miss_db = _edge(level, place * stride + wide, float(middle[place]), per_s)
        if miss_db <= limit.GAIN_MISS.value * abs(middle[place]):
            found.append(Step(at * strip.frames, float(middle[place]), float(score[place])))
    return found


def _levels(level: F64, wide: int, stride: int) -> F64:
    """Levels that so much of a window stays below, window after window; digital silence does not count."""
    windows = np.sort(sliding_window_view(level, wide // stride * stride)[::stride], axis=1)
    silent = (windows < _SILENT_DB).sum(axis=1, keepdims=True)
    heard = windows.shape[1] - silent
    place = np.minimum(silent + np.floor(_SHARES * heard).astype(np.int64), windows.shape[1] - 1)
    return np.take_along_axis(windows, place, axis=1)


def _peaks(score: F64, apart: int) -> list[int]:
    """Highest places above the threshold, none within reach of a higher one."""
    found: list[int] = []
    for place in np.argsort(-score, kind="stable").tolist():
        if score[place] < limit.GAIN_STEP_DB.value:
            break
        if all(abs(place - other) > apart for other in found):
            found.append(place)
    return sorted(found)


def _edge(level: F64, at: int, by_db: float, per_s: float) -> tuple[int, float]:
    """Where, within reach of a place, levels change by a figure over short and long, and by how much they miss it."""
    reach = round(per_s)
    at = _likeliest(level, at, by_db, round(limit.GAIN_BESIDE_S.value * per_s))
    sizes = sorted({max(2, round(one * per_s)) for one in _SIDES_S})
    begin, end = max(sizes[-1], at - reach), min(len(level) - sizes[-1], at + reach)
    miss = np.zeros(end - begin)
    for size in sizes:
        middle = np.median(sliding_window_view(level[begin - size : end + size], size), axis=1)
        change = middle[size : size + end - begin] - middle[: end - begin]
        miss += np.abs(change - by_db) / len(sizes)
    best = int(miss.argmin())
    return begin + best, float(miss[best])


def _likeliest(level: F64, at: int, by_db: float, wide: int) -> int:
    """Where levels turn from those usual before a step to those usual after it: the likelihoods of both, summed up."""
    part = level[max(0, at - wide) : at + wide]
    usual = np.concatenate([level[max(0, at - wide) : at - wide // 2], level[at + wide // 2 : at + wide] - by_db])
    counts = np.histogram(usual, bins=_BINS_DB)[0] + 0.02 * len(usual) / len(_BINS_DB)
    odds = np.log(np.convolve(counts, np.hanning(7), mode="same"))
    place = np.digitize(np.stack([part, part - by_db]), _BINS_DB[1:-1])
    gain = odds[place[0]] - odds[place[1]]
    return max(0, at - wide) + int(np.argmax(np.cumsum(gain))) + 1


def gain_steps(take: Take) -> Iterator[Hit]:
    """Everything on one track gets louder or softer at once, and stays so."""
    found = [steps(track) for track in take.tracks]
    reach = round(limit.GAIN_NEAR_S.value * max(1, take.rate_hz))
    for place, track in enumerate(take.tracks):
        others = [step for other, every in enumerate(found) if other != place for step in every]
        own = [one for one in found[place] if not any(abs(one.at - other.at) <= reach for other in others)]
        if not own:
            continue
        most = max(own, key=lambda one: abs(one.by_db))
        places = tuple((one.at, one.at + track.channel.strip.frames) for one in own)
        yield Hit(
            "warn",
            f"everything on it gets {figure(abs(most.by_db), 1)} dB {'louder' if most.by_db > 0 else 'softer'} at once "
            f"at {sample_clock(most.at, track.rate_hz)}, noise and spill too{_more(len(own) - 1)}",
            "ride the fader the other way from that place on, and find it by the noise in a pause. Somebody turned the "
            "gain or pressed a pad; before the next take tape the knobs",
            min(0.9, 0.5 + most.score_db / 20),
            own[0].at,
            own[-1].at + track.channel.strip.frames,
            places,
            len(own),
            {"step_db": most.by_db, "steps": float(len(own))},
            track.label,
            track.state.path,
        )


def _more(count: int) -> str:
    return f", and {'once' if count == 1 else f'{count} times'} more" if count else ""
