"""The clock: there and back, fitted through readings of which some are wrong, bent where it was not straight."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.takes.picture.clock import Clock, Readings, fit_clock, shared_ppm, with_corners


def _readings(
    offset: float, ppm: float, length: float, *, bad: float = 0.0, noise_s: float = 1e-4, bend: float = 0.0
) -> Readings:
    rng = np.random.default_rng(3)
    at = np.repeat(np.linspace(4, length - 4, 60), 3)
    track = np.tile(np.arange(3), 60)
    take = (
        offset + at / (1 + ppm * 1e-6) - np.array([0.02, 0.024, 0.031])[track] + noise_s * rng.standard_normal(len(at))
    )
    take += bend * np.sin(np.pi * at / length)
    wrong = rng.random(len(at)) < bad
    take[wrong] += rng.uniform(-0.1, 0.1, int(wrong.sum()))
    return Readings(at, take, track.astype(np.int64), np.full(len(at), 15.0))


@given(st.floats(-1e4, 1e4), st.floats(-300, 300), st.floats(0, 2e4))
def test_there_and_back(offset: float, ppm: float, at: float) -> None:
    clock = Clock(offset, ppm, ((0.0, 0.001), (1e4, -0.002), (2e4, 0.0)))
    assert clock.to_device(clock.to_take(at)) == pytest.approx(at, abs=1e-6)


def test_the_convention_of_sign() -> None:
    """A clock 100 ppm fast counts 36 ms more than an hour in an hour: [definition]."""
    assert Clock(0, 100).to_device(3600) - 3600 == pytest.approx(0.36, abs=1e-6)


@pytest.mark.parametrize("bad", [0.0, 0.2, 0.4])
@pytest.mark.parametrize("ppm", [-90.0, 0.0, 33.0])
def test_wrong_readings_do_not_lead_it_astray(ppm: float, bad: float) -> None:
    fit = fit_clock(_readings(12.0, ppm, 10_800.0, bad=bad), ppm + 4)
    assert fit is not None
    assert fit.clock.ppm == pytest.approx(ppm, abs=0.05)
    late = [fit.late_s[track] - fit.late_s[0] for track in range(3)]
    assert late == pytest.approx([0, -0.004, -0.011], abs=2e-4)


def test_a_clock_that_was_not_straight_gets_corners() -> None:
    readings = _readings(0.0, 20.0, 3600.0, bend=0.0012)
    fit = fit_clock(readings, 20.0)
    assert fit is not None
    clock = with_corners(fit, readings, 3600.0)
    assert clock.corners
    at = np.linspace(100, 3500, 30)
    off = [clock.to_take(t) - (t / (1 + 20e-6) + 0.0012 * np.sin(np.pi * t / 3600)) for t in at.tolist()]
    assert np.ptp(off) < 0.0005
    straight = _readings(0.0, 20.0, 3600.0)
    other = fit_clock(straight, 20.0)
    assert other is not None
    assert not with_corners(other, straight, 3600.0).corners


def test_clips_of_a_device_share_their_drift_by_how_sure_each_is() -> None:
    long, short = fit_clock(_readings(0, 30.0, 7200.0), 30), fit_clock(_readings(9000, 30.0, 60.0), 30)
    assert long is not None
    assert short is not None
    found = shared_ppm([long, short])
    assert found is not None
    assert found[0] == pytest.approx(30.0, abs=0.05)
    assert found[1] <= min(long.ppm_sigma, short.ppm_sigma)
    assert fit_clock(Readings(*(np.zeros(0),) * 2, np.zeros(0, np.int64), np.zeros(0)), 0) is None
