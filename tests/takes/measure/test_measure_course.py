"""The course of a channel in bounded memory, and how alike two channels are."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from takes.measure.signals import RATE_HZ, Floats, codes, measured, noise, tone

from fieldfare.takes.measure import course, lowband
from fieldfare.takes.measure.compare import correlations, likeness
from fieldfare.takes.measure.course import StripKeeper
from fieldfare.takes.measure.grain import BUCKET
from fieldfare.takes.measure.shapes import Low


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 400), st.lists(st.integers(0, 400), max_size=5))
def test_a_strip_that_grew_too_long_is_coarser_and_loses_nothing(count: int, cuts: list[int]) -> None:
    rng = np.random.default_rng(count)
    low, high = -rng.integers(0, 99, (2, count), np.int32), rng.integers(0, 99, (2, count), np.int32)
    energy = rng.integers(0, 1 << 40, (2, count), np.int64)
    bends = rng.integers(0, 1 << 12, (2, count)).astype(np.float32)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(course, "MOST_STRETCHES", 16)
        keeper = StripKeeper(2)
        for begin, end in pairwise(sorted({0, count, *(cut % (count + 1) for cut in cuts)})):
            part = (slice(None), slice(begin, end))
            keeper.add(low[part], high[part], energy[part], bends[part])
        strips = keeper.strips()
    for place, strip in enumerate(strips):
        per = strip.frames // BUCKET
        assert per == next(1 << fold for fold in range(9) if count >> fold <= 16)
        assert len(strip.low) <= 17
        assert strip.energy.sum() == energy[place].sum()
        assert strip.bends.sum() == bends[place].sum()
        starts = np.arange(0, count, per)
        assert strip.low.tolist() == np.minimum.reduceat(low[place], starts).tolist()
        assert strip.high.tolist() == np.maximum.reduceat(high[place], starts).tolist()


def test_four_hours_of_32_channels_stay_in_400_megabytes() -> None:
    """Counted, not run: what every kind of course may hold at most, for one channel."""
    hours_s = 4 * 3600
    strip = course.MOST_STRETCHES * (4 + 4 + 8 + 4)
    levels = hours_s / 0.4 * 8
    mains = hours_s / 2 * (4 + 2 * lowband.HARMONICS * 3 * 4)
    excerpts = lowband.MOST_EXCERPTS * 2 * 1500 * 4
    assert 32 * (strip + levels + mains + excerpts) < 200e6


def test_excerpts_are_thinned_out_evenly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lowband, "MOST_EXCERPTS", 4)
    lows = measured(codes(noise(-30, 41))).channel[0].lows
    assert lows.excerpt_at.tolist() == [0, 8, 16]
    assert len(lows.level) == 20


def _pair(second: Floats, first: Floats) -> list[Low]:
    return [channel.lows for channel in measured(np.stack([codes(first), codes(second)], axis=1)).channel]


@pytest.mark.parametrize("late", [0, 48, 96])
@pytest.mark.parametrize("sign", [1, -1])
def test_lag_and_sign_of_a_copy(late: int, sign: int) -> None:
    """A copy that comes later has a positive lag; reversed, the trough is as deep as the peak was high."""
    sound = noise(-20, 12)
    first, second = _pair(sign * np.roll(sound, late), sound)
    like = likeness(first, second, RATE_HZ, 0.005)
    assert like is not None
    height, lag_s = (like.upright, like.upright_lag_s) if sign > 0 else (like.reversed, like.reversed_lag_s)
    assert height > 0.8  # of white noise, which folds into the low band, a lag between its samples shows less than all
    assert lag_s == pytest.approx(late / RATE_HZ, abs=0.0002)
    assert max(like.upright, like.reversed) == height


@pytest.mark.parametrize("sign", [1, -1])
def test_sign_on_a_low_source(sign: int) -> None:
    """Plain phase weighting locks to lag 0 on a source without treble; this one must not."""
    rng = np.random.default_rng(9)
    spectrum = np.fft.rfft(rng.standard_normal(12 * RATE_HZ))
    spectrum[np.fft.rfftfreq(12 * RATE_HZ, 1 / RATE_HZ) > 150] = 0
    low = np.fft.irfft(spectrum)
    low *= 0.2 / np.abs(low).max()
    first, second = _pair(sign * np.roll(low, 60) + noise(-70, 12, 3), low + noise(-70, 12, 4))
    like = likeness(first, second, RATE_HZ, 0.003)
    assert like is not None
    assert (like.upright > 1.3 * like.reversed) == (sign > 0)
    assert (like.upright_lag_s if sign > 0 else like.reversed_lag_s) == pytest.approx(60 / RATE_HZ, abs=0.0003)


def test_strangers_are_not_alike_and_silence_cannot_be_compared() -> None:
    first, second = _pair(noise(-20, 12, 1), noise(-20, 12, 2))
    like = likeness(first, second, RATE_HZ, 0.005)
    assert like is not None
    assert max(like.upright, like.reversed) < 0.15
    assert abs(like.correlation) < 0.1
    first, second = _pair(np.zeros(12 * RATE_HZ), noise(-20, 12))
    assert likeness(first, second, RATE_HZ, 0.005) is None


def test_correlation_of_all_with_all_is_that_of_the_formula() -> None:
    sounds = [noise(-20, 8, 1), noise(-20, 8, 1) + noise(-26, 8, 2), -noise(-30, 8, 1), tone(97, -20, 8)]
    lows = [channel.lows for channel in measured(np.stack([codes(one) for one in sounds], axis=1)).channel]
    flat = np.stack([low.excerpt.ravel().astype(np.float64) for low in lows])
    direct = flat @ flat.T / np.sqrt(np.outer((flat**2).sum(axis=1), (flat**2).sum(axis=1)))
    assert correlations(lows) == pytest.approx(direct, abs=1e-5)
    assert direct[0, 2] == pytest.approx(-1, abs=1e-4)
