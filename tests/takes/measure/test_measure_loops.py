"""The compiled loops, the same in arrays, and counting by hand: three roads to one result, however bytes are cut up."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from takes.measure.signals import RATE_HZ, Codes, codes, equal, measured, noise, tone

from fieldfare.takes.measure import gauge
from fieldfare.takes.measure.grain import FLAT_LEAST

FULL_SCALE = 1 << 23
SMALL_SLAB = 8192


def _rich(length: int, channels: int, bits: int, seed: int) -> Codes:
    """Sound with all in it that is looked for: rails, zeros, held samples, repeats, clicks, silence, flat tops."""
    rng = np.random.default_rng(seed)
    swell = np.repeat(rng.uniform(0, 0.5, length // 997 + 1), 997)[:length, np.newaxis]
    low = np.sin(2 * np.pi * 97 * np.arange(length) / RATE_HZ)[:, np.newaxis]
    sound = swell * (low + 0.3 * rng.standard_normal((length, channels)))
    half = 1 << (bits - 1)
    samples = np.clip(np.rint(sound * half * 1.6), -half, half - 1).astype(np.int64)
    samples[:, 0] = np.clip(samples[:, 0], -half // 3, half // 3)
    for _ in range(12):
        at, channel, count = int(rng.integers(3000, length - 9000)), rng.integers(channels), int(rng.integers(16, 700))
        samples[at : at + count, channel] = rng.choice([0, 0, half // 5, samples[at - 1, channel]])
    for lag in (32, 48, 64, 480, 2048):
        at, channel = int(rng.integers(4096, length - 4096)), rng.integers(channels)
        samples[at : at + lag, channel] = samples[at - lag : at, channel]
    samples[rng.integers(0, length, 8), rng.integers(0, channels, 8)] = half // 2
    samples[length // 2 : length // 2 + 9000, channels - 1] = 0
    samples[-40:] = samples[-41]
    return samples.astype(np.int32)


@pytest.mark.parametrize("bits", [8, 16, 24, 32])
@pytest.mark.parametrize("channels", [1, 2, 5, 18])
def test_compiled_loops_and_arrays_give_the_same(channels: int, bits: int) -> None:
    samples = _rich(30_000, channels, bits, seed=channels * bits)
    one, other = (measured(samples, bits, compiled=compiled) for compiled in (True, False))
    assert equal(one, other)
    assert any(channel.flats for channel in one.channel)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 1000), st.lists(st.integers(0, 200_000), max_size=6).map(tuple), st.integers(20_000, 33_000))
def test_it_does_not_matter_how_bytes_are_cut_up(seed: int, cuts: tuple[int, ...], length: int) -> None:
    samples = _rich(length, 2, 24, seed)
    assert equal(measured(samples), measured(samples, cuts=cuts))


@pytest.mark.parametrize(
    "length", [SMALL_SLAB, 3 * SMALL_SLAB - 1, 3 * SMALL_SLAB, 3 * SMALL_SLAB + 1, 5 * SMALL_SLAB + 513]
)
@pytest.mark.parametrize("compiled", [True, False])
def test_it_does_not_matter_how_much_is_measured_at_a_time(
    monkeypatch: pytest.MonkeyPatch, length: int, compiled: bool
) -> None:
    samples = _rich(max(length, 20_000), 3, 24, seed=length)[-length:]
    whole = measured(samples, compiled=compiled)
    monkeypatch.setattr(gauge, "slab_frames", lambda channels: SMALL_SLAB)
    assert equal(whole, measured(samples, compiled=compiled))


@pytest.mark.parametrize("length", [1, 2, 3, 15, 511, 512, 513, 4097])
def test_the_shortest_recordings(length: int) -> None:
    samples = codes(noise(-20, 1))[:length]
    one, other = (measured(samples, compiled=compiled) for compiled in (True, False))
    assert equal(one, other)
    assert one.frames == length
    assert one.channel[0].peak == np.abs(samples).max()


def test_nothing_at_all() -> None:
    found = measured(np.zeros((0, 2), np.int32))
    assert (found.frames, [channel.peak for channel in found.channel]) == (0, [0, 0])


def _stays(row: Codes) -> Iterator[tuple[int, int, int]]:
    """Every run of equal samples: start, end, value."""
    start = 0
    for at in range(1, len(row) + 1):
        if at == len(row) or row[at] != row[start]:
            yield start, at, int(row[start])
            start = at


@pytest.mark.parametrize("seed", range(6))
def test_flat_runs_are_those_that_counting_finds(monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    monkeypatch.setattr(gauge, "slab_frames", lambda channels: SMALL_SLAB)
    samples = _rich(40_000, 2, 24, seed)
    for row, channel in zip(samples.T, measured(samples).channel, strict=True):
        found = {(run.start, run.end, run.value): run for run in channel.flats}
        rail = FULL_SCALE - (FULL_SCALE >> 15)
        loud, jumpy = FULL_SCALE * 10 ** (-66 / 20), FULL_SCALE * 10 ** (-66 / 20) / 8
        for start, end, value in _stays(row):
            beside = (
                np.abs(row[max(0, start - 128) : start]).max(initial=0),
                np.abs(row[end : end + 128]).max(initial=0),
            )
            jumps = (
                abs(int(row[start - 1]) - value) if start else 0,
                abs(int(row[end]) - value) if end < len(row) else 0,
            )
            told = max(beside) >= loud and max(jumps) >= jumpy and abs(value) < rail
            assert ((start, end, value) in found) == (end - start >= FLAT_LEAST and (told or end - start >= 4096))
            if run := found.pop((start, end, value), None):
                assert ((run.before, run.after), (run.jump_in, run.jump_out)) == (beside, jumps)
        assert not found


def test_a_run_that_fills_many_slabs_is_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gauge, "slab_frames", lambda channels: SMALL_SLAB)
    samples = codes(noise(-20, 2))
    samples[5000:90_001] = 0
    (run,) = measured(samples).channel[0].flats
    assert (run.start, run.end, run.jump_in, run.jump_out) == (5000, 90_001, abs(samples[4999]), abs(samples[90_001]))


@pytest.mark.parametrize("lag", [48, 64, 96, 128, 144, 192, 240, 256, 441, 480, 512, 882, 960, 1024, 1920, 2048])
@pytest.mark.parametrize("start", [9000, 24_571])
def test_a_block_that_stands_twice_is_found_to_the_sample(lag: int, start: int) -> None:
    samples = codes(noise(-30, 1) + tone(80, -12, 1))
    samples[start : start + lag] = samples[start - lag : start]
    (found,) = measured(samples).channel[0].repeats
    assert (found.start, found.lag, found.frames) == (start, lag, lag)


def test_clean_noise_and_a_steady_wave_hold_no_block_twice_but_the_wave_s_own() -> None:
    assert measured(codes(noise(-30, 5))).channel[0].repeats == ()
    wave = codes(np.tile(tone(500, -12, 0.002), 500))
    found = measured(wave).channel[0].repeats
    assert all(one.frames > 8 * one.lag for one in found)


@pytest.mark.parametrize("at", [20_000, 24_575, 24_576])
def test_a_click_is_found_to_the_sample(at: int) -> None:
    sound = tone(110, -12, 1)
    spike, jump = codes(sound), codes(sound)
    spike[at] += 1 << 20
    jump[at:] = codes(tone(110, -12, 1, phase=0.6))[at:]
    for samples in (spike, jump):
        (click,) = measured(samples).channel[0].clicks
        assert click.at == at


def test_a_drum_is_no_click() -> None:
    rng = np.random.default_rng(3)
    hits = np.concatenate([rng.normal(0, 1, 6000) * np.exp(-np.arange(6000) / 900) for _ in range(10)])
    assert measured(codes(0.2 * hits)).channel[0].clicks == ()


def test_flat_tops_are_told_from_round_ones() -> None:
    sine = tone(100, -6, 2)
    found = measured(np.stack([codes(sine), codes(np.clip(1.1 * sine, -0.5, 0.5))], axis=1))
    counts = [np.stack([side.counts.sum(axis=0) for side in channel.tops]).sum(axis=0) for channel in found.channel]
    assert counts[0][1] == 0
    assert counts[1][0] == 0
    assert counts[1][1] == counts[0][0]
    assert (found.channel[1].tops[0].cut_width > 40).all()


@pytest.mark.parametrize("compiled", [True, False])
def test_several_short_tops_of_one_height_are_told_from_those_of_noise_and_of_a_wave(compiled: bool) -> None:
    """By hand: of a bucket of 512 samples of noise cut at twice its rms, 2.3 % reach the cut, hardly three in a row."""
    hiss = noise(-20, 2)
    cut = np.clip(hiss, -2 * hiss.std(), 2 * hiss.std())
    wave = tone(4000, -12, 2)  # twelve samples a period: each peak is as high as the last
    found = measured(np.stack([codes(one) for one in (hiss, cut, wave)], axis=1), compiled=compiled)
    counts = [np.stack([side.counts.sum(axis=0) for side in channel.tops]).sum(axis=0) for channel in found.channel]
    assert counts[0][2] <= 1
    assert counts[1][2] > 0.9 * counts[1].sum()
    assert counts[2].tolist() == [counts[2].sum(), 0, 0]
