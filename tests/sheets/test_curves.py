"""Figures of one quantity over another: what is drawn stands where the axes say."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.sheets.drawing.curves import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, Bound, Curve, curves

SVG = "{http://www.w3.org/2000/svg}"
some_values = st.floats(1e-3, 1e6)


def _texts(drawn: ElementTree.Element) -> dict[str, tuple[float, float]]:
    return {
        str(text.text): (float(text.get("x", 0)), float(text.get("y", 0)))
        for text in drawn.iter(f"{SVG}text")
        if text.get("x")
    }


def test_points_stand_where_the_ticks_of_the_axes_say() -> None:
    drawn = ElementTree.fromstring(curves("cost", "hours [h]", "time [s]", [Curve("a & b", ((1, 20), (4, 80)))]))
    said = _texts(drawn)
    dots = [(float(dot.get("cx", 0)), float(dot.get("cy", 0))) for dot in drawn.iter(f"{SVG}circle")]
    assert dots[1] == pytest.approx((said["4"][0], said["80"][1] - 4), abs=0.11)
    assert dots[0] == pytest.approx((said["1"][0], said["20"][1] - 4), abs=0.11)
    assert {"hours [h]", "a & b", "cost"} <= said.keys()


def test_a_bound_is_drawn_with_its_name_even_above_all_points() -> None:
    drawn = ElementTree.fromstring(curves("memory", "h", "MB", [Curve("8", ((1, 90),))], Bound("at most", 400)))
    said = _texts(drawn)
    bound = next(path for path in drawn.iter(f"{SVG}path") if path.get("class") == "bound")
    assert bound.get("d") == f"M{LEFT} {said['400'][1] - 4:.1f}H{RIGHT}"
    assert "at most" in said


def test_cases_of_their_own_are_points_without_a_line() -> None:
    drawn = ElementTree.fromstring(curves("shows", "inputs", "s", [Curve("each", ((1, 2), (3, 1)), joined=False)]))
    assert len(list(drawn.iter(f"{SVG}circle"))) == 2
    assert not list(drawn.iter(f"{SVG}polyline"))


@given(st.lists(st.lists(st.tuples(some_values, some_values), min_size=1, max_size=5), min_size=1, max_size=5))
def test_whatever_is_drawn_stays_on_the_paper_and_names_stand_apart(drawn: list[list[tuple[float, float]]]) -> None:
    made = [Curve(f"case {n}", tuple(sorted(points))) for n, points in enumerate(drawn)]
    svg = ElementTree.fromstring(curves("any", "x", "y", made))
    for dot in svg.iter(f"{SVG}circle"):
        assert LEFT - 0.1 <= float(dot.get("cx", 0)) <= RIGHT + 0.1
        assert TOP - 0.1 <= float(dot.get("cy", 0)) <= BOTTOM + 0.1
    said = _texts(svg)
    heights = sorted(said[curve.name][1] for curve in made)
    assert all(b - a >= 14.8 for a, b in pairwise(heights))
    assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT + 80 for x, y in said.values())
