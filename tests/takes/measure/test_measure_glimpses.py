"""Glimpses of the treble: their levels by Parseval, where they are taken, and that memory is bounded."""

from __future__ import annotations

import numpy as np
import pytest
from takes.measure.signals import RATE_HZ, codes, equal, measured, noise, tone

from fieldfare.takes.measure.glimpses import MOST_GLIMPSES, GlimpseKeeper
from fieldfare.takes.measure.grain import BUCKET, GLIMPSE_BUCKETS, GLIMPSE_SAMPLES
from fieldfare.takes.measure.kernels import kernels


def test_white_noise_has_its_share_in_every_band() -> None:
    """Parseval: white noise has the same power in every bin, and 64 bins make all of it."""
    glimpses = measured(codes(noise(-60, 60))).channel[0].glimpses
    power = np.mean(10 ** (glimpses.level.astype(np.float64) / 10), axis=0)
    share_db = 10 * np.log10(np.array(glimpses.widths) / (GLIMPSE_SAMPLES / 2))
    assert 10 * np.log10(power) == pytest.approx(-60.6 + share_db, abs=0.7)  # the quietest of sixteen buckets


def test_a_tone_reads_as_high_as_it_is() -> None:
    level = measured(codes(tone(10_000, -20, 4) + noise(-110, 4))).channel[0].glimpses.level
    assert level[:, 0] == pytest.approx(-20, abs=0.1)
    assert level[:, 3].max() < -100  # and leaks nowhere


def test_it_looks_where_the_treble_is_least() -> None:
    """Noise that stops for one bucket in every sixteen."""
    loud = noise(-30, 10)
    quiet = (np.arange(len(loud)) // BUCKET) % GLIMPSE_BUCKETS == 5
    glimpses = measured(codes(np.where(quiet, noise(-90, 10), loud))).channel[0].glimpses
    assert np.all(glimpses.at // BUCKET % GLIMPSE_BUCKETS == 5)
    assert glimpses.level.max() < -85


@pytest.mark.parametrize("channels", [1, 3])
@pytest.mark.parametrize("cuts", [(), (1, 700_000), (100_000, 100_001, 1_500_000)])
def test_they_do_not_depend_on_how_bytes_are_cut_up_nor_on_what_loops(channels: int, cuts: tuple[int, ...]) -> None:
    sound = np.stack([codes(noise(-40 - c, 20, c)) for c in range(channels)], axis=1)
    whole = measured(sound)
    for other in (measured(sound, cuts=cuts), measured(sound, compiled=False)):
        assert all(equal(a.glimpses, b.glimpses) for a, b in zip(whole.channel, other.channel, strict=True))


def test_of_a_long_recording_the_quieter_ones_are_kept() -> None:
    keeper, rng = GlimpseKeeper(2, RATE_HZ, 1 << 23, kernels()), np.random.default_rng(4)
    per = 512 * GLIMPSE_BUCKETS
    x = rng.normal(0, 3e5, (2, per * BUCKET)).astype(np.int32)
    x[:, 70 * BUCKET : 71 * BUCKET] //= 1000  # one quiet bucket of each round
    bends = np.abs(np.diff(x.astype(np.int64), n=2, prepend=0, append=0)).reshape(2, per, BUCKET).sum(axis=2)
    rounds = 2 * MOST_GLIMPSES // 512 + 3
    for number in range(rounds):
        keeper.look(x, bends, per, 0, number * per * BUCKET)
        keeper.close()
    one, other = keeper.glimpses()
    assert MOST_GLIMPSES // 2 <= len(one.at) <= MOST_GLIMPSES
    assert np.all(np.diff(one.at) > 0)
    assert np.count_nonzero(one.level.max(axis=1) < -60) == pytest.approx(rounds, abs=1)
    assert len(other.at) == len(one.at)


@pytest.mark.parametrize("rate_hz", [8000, 44_100, 96_000, 192_000])
def test_every_rate_has_its_bands(rate_hz: int) -> None:
    glimpses = measured(codes(noise(-60, 4, rate_hz=rate_hz)), rate_hz=rate_hz).channel[0].glimpses
    assert len(glimpses.widths) == 4
    assert min(glimpses.widths) >= 2
    assert len(glimpses.level) >= 3
    assert np.median(glimpses.level) == pytest.approx(-60 + 10 * np.log10(np.mean(glimpses.widths) / 64), abs=3)


def test_what_is_too_short_or_silent() -> None:
    assert measured(codes(noise(-60, 0.1))).channel[0].glimpses.level.shape == (0, 4)
    assert measured(codes(np.zeros(RATE_HZ))).channel[0].glimpses.level.max() == -200
