"""Second looks: what prediction leaves at a jump, blocks that come again, hiss; by both roads and however cut up."""

from __future__ import annotations

import numpy as np
import pytest
from takes.measure.signals import RATE_HZ, Codes, codes, equal, measured, noise, seconds

from fieldfare.takes.measure.again import BUFFERS, buffers_again
from fieldfare.takes.measure.residual import SIDE, looked_at
from fieldfare.takes.measure.shapes import Click

LENGTH_S = 4.0
TICK, AGAIN, BUFFER, HISS = 40_000, 90_000, 441, 140_000


def _hurt() -> Codes:
    """A tone in noise with a tick, a block that is no whole number of cells and comes twice, and a spit of hiss."""
    samples = codes(0.2 * np.sin(2 * np.pi * 220 * seconds(LENGTH_S)) + noise(-60, LENGTH_S))
    samples[TICK] += 400_000
    samples[AGAIN : AGAIN + BUFFER] = samples[AGAIN - BUFFER : AGAIN]
    samples[HISS : HISS + 1500] = codes(noise(-9, 1, 3))[:1500]
    return samples


def _click_at(samples: Codes, at: int) -> Click:
    (found,) = (one for one in measured(samples).channel[0].clicks if abs(one.at - at) <= 2)
    return found


def test_all_are_found_at_their_places() -> None:
    channel = measured(_hurt()).channel[0]
    tick = _click_at(_hurt(), TICK)
    assert tick.over > 12
    assert tick.change < 0.4
    assert [(one.start, one.frames) for one in channel.repeats] == [(AGAIN, BUFFER)]
    (hiss,) = channel.hisses
    assert abs(hiss.start - HISS) <= 64
    assert abs(hiss.end - HISS - 1500) <= 64


@pytest.mark.parametrize("cuts", [(), (1, 500_001), (TICK * 3 + 1, AGAIN * 3, HISS * 3 + 1700)])
def test_both_roads_and_all_cuts_give_the_same(cuts: tuple[int, ...]) -> None:
    samples = np.stack([_hurt(), _hurt()[::-1]], axis=1)
    assert equal(measured(samples), measured(samples, compiled=False, cuts=cuts))


def test_a_note_that_begins_does_not_stand_out_from_what_follows() -> None:
    ring = np.exp(-seconds(LENGTH_S) * 300) * noise(-14, LENGTH_S, 5)
    sound = noise(-40, LENGTH_S)
    sound[TICK:] += ring[:-TICK]
    sound[TICK] += 0.8
    click = _click_at(codes(sound), TICK)
    assert click.over_before > 20
    assert click.over_after < 6


def test_edges_of_a_wave_and_the_ends_of_a_recording_are_not_looked_at() -> None:
    wave = codes(np.where(np.arange(2 * RATE_HZ) % 436 < 218, 0.2, -0.2))
    wave[500] += 900_000
    rows = np.array([[0, 21_800, 3_355_443, 0, 0, 0], [0, 500, 900_000, 0, 0, 0]])
    assert not looked_at(wave[np.newaxis], rows, np.zeros((1, len(wave) // 512), np.int32), 0, 0, len(wave)).any()
    assert SIDE > 500


def test_a_tone_without_any_noise_is_predicted_but_its_tick_is_not() -> None:
    samples = codes(0.5 * np.sin(2 * np.pi * 440 * seconds(LENGTH_S)))
    samples[TICK] += 300_000
    assert _click_at(samples, TICK).over > 100


@pytest.mark.parametrize("lag", BUFFERS)
def test_buffers_that_come_again_in_noise_are_told_once_wherever_scenes_end(lag: int) -> None:
    """Noise shows no jump; each is found from one frame in it, in whichever of two scenes that lies."""
    x = codes(noise(-30, LENGTH_S))[np.newaxis].copy()
    starts = list(range(5000, 170_000, 4999))
    for start in starts:
        x[0, start : start + lag] = x[0, start - lag : start]
    high = x.shape[1]
    for middle in (4096 * 9, starts[7], starts[7] + lag // 2, starts[7] + lag):
        scenes = [(0, middle), (middle, high)]
        rows = np.concatenate([buffers_again(x, *scene, 0, 0, high, 4000) for scene in scenes])
        assert rows[:, 1:4].tolist() == [[start, lag, lag] for start in starts]
    shifted = np.concatenate([buffers_again(x, 0, high, 12_345, 0, high, 4000)])
    assert shifted[:, 1].tolist() == starts


def test_silence_quiet_noise_and_square_waves_hold_no_buffer_twice() -> None:
    square = codes(np.where(np.arange(2 * RATE_HZ) % 441 < 200, 0.2, -0.2))
    x = np.stack([np.zeros_like(square), codes(noise(-120, 2)), square])
    assert not len(buffers_again(x, 0, x.shape[1], 0, 0, x.shape[1], 4000))
