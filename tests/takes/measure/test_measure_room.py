"""Room for samples: kept for the next recording, never shared by two that are measured at once."""

from __future__ import annotations

import numpy as np
from takes.measure.signals import codes, equal, measured, noise

from fieldfare.takes.measure import Gauge
from fieldfare.takes.measure.room import give_back, take_room
from fieldfare.takes.wave import make_form, pack


def test_what_is_given_back_is_taken_next() -> None:
    one = take_room(2, 7500)
    one[:] = 7
    give_back(one)
    other = take_room(5, 2999)
    assert np.shares_memory(one, other)
    assert other.ctypes.data % 64 == 0
    assert other.shape == (5, 2999)
    assert other.dtype == np.int32
    assert not np.shares_memory(other, take_room(5, 2999))


def test_what_was_measured_before_leaves_no_trace() -> None:
    soft = codes(noise(-60, 1))
    alone = measured(soft)
    measured(np.stack([codes(noise(-1, 2, channel)) for channel in range(3)], axis=1))
    assert equal(measured(soft), alone)


def test_two_recordings_measured_at_once_are_two() -> None:
    sounds = [codes(noise(level, 1))[:, np.newaxis] for level in (-20, -50)]
    form = make_form(1, 48_000, 24)
    gauges = [Gauge(form) for _ in sounds]
    for begin in range(0, len(sounds[0]), 10_000):
        for gauge, sound in zip(gauges, sounds, strict=True):
            gauge.feed(pack(sound[begin : begin + 10_000], form))
    for gauge, sound in zip(gauges, sounds, strict=True):
        assert equal(gauge.result(), measured(sound))
