from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString

from fieldfare.sheets.drawing.lanes import PITCH_MM, Wall, in_lanes
from fieldfare.sheets.drawing.marks import Point

# Paths along a coarse grid, as cables lie along edges: they share ground all the time.
_corner = st.tuples(st.integers(0, 5), st.integers(0, 4)).map(lambda at: (at[0] * 20.0, at[1] * 20.0))
_paths = st.lists(st.lists(_corner, min_size=2, max_size=5, unique=True), min_size=1, max_size=6)


@settings(max_examples=60, deadline=None)
@given(_paths)
def test_no_two_cables_are_drawn_on_the_same_line(paths: list[list[Point]]) -> None:
    """They may cross; what they share is never longer than the short steps at their ends and corners."""
    drawn = in_lanes(paths)
    for one, other in combinations(drawn, 2):
        if len(one) > 1 and len(other) > 1:
            shared = LineString(one).intersection(LineString(other))
            assert shared.length < 6.0


@given(_paths)
def test_every_cable_still_begins_and_ends_where_it_did(paths: list[list[Point]]) -> None:
    for path, line in zip(paths, in_lanes(paths), strict=True):
        assert line[0] == path[0]
        assert line[-1] == path[-1]


def test_a_cable_alone_in_the_open_is_drawn_where_it_lies() -> None:
    assert in_lanes([[(0, 0), (30, 0), (30, 40)]]) == [((0, 0), (30, 0), (30, 40))]


def test_two_on_the_same_ground_lie_side_by_side() -> None:
    one, other = in_lanes([[(0, 0), (40, 0)], [(10, 0), (30, 0)]])
    gap = abs(LineString(one).interpolate(20).y - LineString(other).interpolate(10).y)
    assert gap == pytest.approx(PITCH_MM)


def test_along_an_edge_every_cable_lies_on_its_inner_side() -> None:
    wall = Wall((0, 50), (100, 50), (0, -1))
    for line in in_lanes([[(0, 50), (90, 50)], [(10, 50), (80, 50)], [(20, 50), (60, 50)]], [wall]):
        assert all(y < 50 for _, y in line[1:-1])


def test_many_on_the_same_ground_stay_within_a_narrow_band() -> None:
    lines = in_lanes([[(0, 0), (100, 0)] for _ in range(20)])
    heights = sorted(LineString(line).interpolate(0.5, normalized=True).y for line in lines)
    assert len(set(heights)) == 20
    assert heights[-1] - heights[0] < 5.0


def test_points_that_fall_together_are_one() -> None:
    assert in_lanes([[(0, 0), (0, 0), (10, 0)], [(5, 5)]]) == [((0, 0), (10, 0)), ((5, 5),)]
