from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldfare.sheets.drawing.crossing import crossing, passing
from fieldfare.sheets.drawing.marks import Rect, grown, meets
from fieldfare.sheets.drawing.placer import CLEAR_MM, Ground, Wish, leader, place_labels

FRAME = (0.0, 0.0, 200.0, 120.0)

_points = st.tuples(st.floats(5, 195), st.floats(5, 115))
_wishes = st.lists(
    st.builds(Wish, size=st.tuples(st.floats(8, 40), st.floats(3, 8)), anchor=_points, clear=st.floats(0.5, 3)),
    max_size=25,
)


def _verify_apart(placed: list[Rect | None]) -> None:
    rects = [rect for rect in placed if rect]
    for one, other in combinations(rects, 2):
        assert not meets(one, grown(other, CLEAR_MM - 0.01)), (one, other)


def _holds(outer: Rect, inner: Rect) -> bool:
    return all(outer[i] <= inner[i] and inner[i + 2] <= outer[i + 2] for i in (0, 1))


@settings(max_examples=30, deadline=None)
@given(_wishes, st.lists(_points, max_size=10))
def test_labels_never_cover_one_another_nor_what_is_there(
    wishes: list[Wish], standing: list[tuple[float, float]]
) -> None:
    symbols = tuple((x - 2, y - 2, x + 2, y + 2) for x, y in standing)
    ground = Ground(FRAME, hard=((0, 0, 60, 8),), symbols=symbols)
    placed = place_labels(wishes, ground)
    _verify_apart(placed)
    for rect, wish in zip(placed, wishes, strict=True):
        if rect:
            assert _holds(FRAME, rect)
            assert rect[2] - rect[0] == pytest.approx(wish.size[0], abs=0.002)
            assert not any(meets(rect, grown(taken, -0.01)) for taken in (*symbols, *ground.hard))
    assert place_labels(wishes, ground) == placed


def test_a_lone_label_stands_right_beside_its_anchor() -> None:
    [rect] = place_labels([Wish((20, 5), (100, 60), clear=2.0)], Ground(FRAME))
    assert rect
    (x0, y0), (x1, y1) = leader((100, 60), rect)
    assert np.hypot(x1 - x0, y1 - y0) == pytest.approx(2.0, abs=0.11)


def test_a_label_stays_in_the_part_it_belongs_to() -> None:
    part = (10.0, 90.0, 60.0, 110.0)
    [rect] = place_labels([Wish((20, 5), (150, 20), inside=part)], Ground(FRAME))
    assert rect
    assert _holds(part, rect)


def test_a_page_without_room_gives_no_place_rather_than_a_covered_one() -> None:
    wishes = [Wish((30, 9), (20, 10)) for _ in range(6)]
    placed = place_labels(wishes, Ground((0, 0, 62, 20)))
    assert None in placed
    _verify_apart(placed)


def test_what_should_stay_free_is_covered_only_when_nothing_else_is_near() -> None:
    busy = ((100.0, 40.0, 140.0, 80.0), 5.0)
    [rect] = place_labels([Wish((20, 5), (102, 60))], Ground(FRAME, soft=(busy,)))
    assert rect
    assert not meets(rect, grown(busy[0], -0.5))


# By hand: lines from (0, 0) to (10, 0) and to (0, 10); boxes on the way, beside it, round the start, beyond the end.
def test_lines_pass_through_what_lies_on_their_way() -> None:
    boxes = np.array([[4, -1, 6, 1], [4, 2, 6, 4], [-1, -1, 1, 1], [11, -1, 12, 1]], dtype=float)
    ends = np.array([[10, 0], [0, 10]], dtype=float)
    assert passing(np.zeros(2), ends, boxes).tolist() == [[True, False, False, False], [False] * 4]


def test_lines_cross_where_both_have_the_other_on_two_sides() -> None:
    a, b = np.array([[5.0, -1.0], [5.0, 1.0]]), np.array([[5.0, 1.0], [5.0, 2.0]])
    assert crossing(np.zeros(2), np.array([[10.0, 0.0]]), a, b).tolist() == [[True, False]]
