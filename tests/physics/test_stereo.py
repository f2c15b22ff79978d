"""Stereo pairs: level differences reproduce print; recording angles hang on a criterion that print often leaves out."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.physics.stereo import level_difference_db, recording_angle_deg, time_difference_ms

CARDIOID, EIGHT, OMNI = 0.5, 0.0, 1.0


# [StereoPreprint] by 15 dB and 1.12 ms, each printed to about 5°: two crossed pairs, two of both differences.
# Two omnis 50 cm apart: 100.5°, arithmetic.
@pytest.mark.parametrize(
    ("share", "between", "spacing", "angle", "open_deg"),
    [
        (CARDIOID, 90, 0.0, 180, 5),
        (EIGHT, 90, 0.0, 70, 0.5),
        (CARDIOID, 110, 0.17, 110, 5),
        (CARDIOID, 90, 0.30, 90, 5),
        (OMNI, 0, 0.50, 100.5, 0.05),
    ],
)
def test_recording_angle(share: float, between: float, spacing: float, angle: float, open_deg: float) -> None:
    assert recording_angle_deg(share, between, spacing) == pytest.approx(angle, abs=open_deg)


def test_the_trap_of_two_angles_for_one_pair() -> None:
    """Later print has 96, 81 and 102° for the pairs of both differences: narrower by an eighth."""
    earlier = [recording_angle_deg(CARDIOID, *pair) for pair in ((110, 0.17), (90, 0.30), (90, 0.20))]
    assert [later / (one or 0) for one, later in zip(earlier, (96, 81, 102), strict=True)] == pytest.approx(
        [7 / 8] * 3, abs=0.025
    )


def test_crossed_pairs_at_18_db() -> None:
    """[StereoQuestions] prints 196° and 76°: there the level difference is 18 dB."""
    assert level_difference_db(CARDIOID, 90, 196 / 2) == pytest.approx(18, abs=0.1)
    assert level_difference_db(EIGHT, 90, 76 / 2) == pytest.approx(18, abs=0.25)  # a degree is 0.7 dB there


def test_what_a_pair_hears_from_its_edge() -> None:
    """At 48°: 8.20 dB and 0.368 ms, far field, computed apart from this program."""
    assert level_difference_db(CARDIOID, 110, 48.0) == pytest.approx(8.20, abs=0.005)
    assert time_difference_ms(0.17, 48.0) == pytest.approx(0.368, abs=0.0005)


def test_a_pair_without_sides() -> None:
    assert recording_angle_deg(OMNI, 0, 0.2) is None
    assert recording_angle_deg(CARDIOID, 0, 0.0) is None


@given(st.floats(0, 1), st.floats(0, 180), st.floats(1, 179))
def test_left_and_right_are_alike(share: float, between: float, source: float) -> None:
    right, left = level_difference_db(share, between, source), level_difference_db(share, between, -source)
    assert right == -left or math.isclose(right, -left, abs_tol=1e-6, rel_tol=1e-6)


@given(st.floats(1, 100), st.floats(0.05, 2), st.floats(-80, 80))
def test_time_difference_is_that_of_two_paths_from_far_away(far: float, spacing: float, degrees: float) -> None:
    """A second road: two distances from a point 1000 spacings and more away."""
    distance = 1000 * far * spacing
    at = distance * np.array([math.sin(math.radians(degrees)), math.cos(math.radians(degrees))])
    left, right = (float(np.hypot(*(at - [side * spacing / 2, 0]))) for side in (-1, 1))
    assert time_difference_ms(spacing, degrees) == pytest.approx(1000 * (left - right) / 343.2, abs=1e-3)


@given(st.floats(0, 180), st.floats(0.01, 1))
def test_apart_is_narrower(between: float, spacing: float) -> None:
    """The farther apart two microphones are, the sooner a sound is heard from one side."""
    near, far = recording_angle_deg(CARDIOID, between, spacing), recording_angle_deg(CARDIOID, between, 2 * spacing)
    assert near is None or (far is not None and far <= near)
