from __future__ import annotations

from dataclasses import replace
from math import dist, inf, sqrt

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from plan.inputs import FIDDLE
from plan.stages import FINE_M, cheapest_by_force, rectangle, venue
from shapely.geometry import LineString, Point

from fieldfare.plan.ground import ground
from fieldfare.plan.runs import (
    OPEN_FLOOR,
    Path,
    clear_of,
    joins_clear,
    lengths,
    needed_length,
    needed_m,
    path,
    paths,
    trunk_length,
)
from fieldfare.plan.wanted import Accept
from fieldfare.show.record import Place
from fieldfare.show.show import HouseMic
from fieldfare.show.venue import HouseBox, Venue

BARE = venue()
DRUMS = venue(risers=((0.0, 3.0, 2.0, 2.0),))
FIRE = venue(risers=((0.5, 3.0, 2.0, 2.0),), keep_clear=((-1.8, 4.0, 1.0, 2.4),), kind="fire route")
STEPS = venue(keep_clear=((2.6, 2.0, 1.4, 1.0), (0.0, 2.0, 1.0, 2.0)))
WAY = venue(ways=(((-3.0, 0.6), (-4.5, 0.6), (-4.5, 2.0), (-6.0, 1.0)),))
CORNER = ((-2.5, 3.5), (2.5, 0.5))

SMALL = {
    "bare stage, corner to corner": (BARE, *CORNER),
    "bare stage, side by side": (BARE, (0.0, 1.0), (0.3, 1.2)),
    "bare stage, to the recordist": (BARE, (1.0, 1.0), (-6.0, 1.0)),
    "from the riser": (DRUMS, (0.0, 3.0), (-3.0, 0.0)),
    "past the riser": (DRUMS, (-1.5, 3.9), (1.5, 3.0)),
    "past the fire route": (FIRE, (-2.6, 3.6), (2.9, 3.9)),
    "past steps and a walkway": (STEPS, (2.5, 3.0), (-2.0, 1.0)),
    "into a nook": (STEPS, (2.9, 2.9), (2.9, 1.2)),
    "along a way": (WAY, (0.0, 2.0), (-6.0, 1.0)),
}


@pytest.mark.parametrize("name", SMALL)
def test_a_path_costs_what_exhaustive_search_finds(name: str) -> None:
    """Many points on every edge, every pair joined: dearer than the true path by the gaps between the points only."""
    where, start, end = SMALL[name]
    found = path(ground(where), start, end).weighed_m
    by_force = cheapest_by_force(where, start, end, OPEN_FLOOR, every_m=0.1)
    assert found <= by_force + 0.01
    assert found == pytest.approx(by_force, rel=0.005)


def test_a_joining_point_lies_where_light_would_bend() -> None:
    """1 m from the edge and far along it: cos of the angle to the edge is 1 / OPEN_FLOOR."""
    way = path(ground(BARE), (-1.0, 1.0), (2.9, 0.0))
    slip = 1 / sqrt(OPEN_FLOOR**2 - 1)
    assert (way.points[0], way.points[2]) == ((-1.0, 1.0), (2.9, 0.0))
    assert way.points[1] == pytest.approx((-1.0 + slip, 0.0))
    assert way.weighed_m == pytest.approx(sqrt(OPEN_FLOOR**2 - 1) + 3.9)


def test_the_edge_is_preferred_even_where_it_is_longer() -> None:
    way = path(ground(BARE), (-2.9, 3.9), (2.9, 0.1))
    assert way.floor_m > dist((-2.9, 3.9), (2.9, 0.1)) + 2
    assert (3.0, 4.0) in way.points or (-3.0, 0.0) in way.points


def test_a_riser_is_stepped_down_from_once() -> None:
    assert path(ground(DRUMS), (0.0, 3.0), (-3.0, 0.0)).rise_m == pytest.approx(0.3)


def test_the_stage_edge_is_stepped_down_from_once() -> None:
    assert path(ground(BARE), (0.0, 1.0), (-6.0, 1.0)).rise_m == pytest.approx(0.5)


def test_a_cable_that_passes_a_riser_stays_on_the_floor() -> None:
    assert path(ground(DRUMS), (-1.5, 3.0), (1.5, 3.0)).rise_m == 0


def test_what_stands_on_a_fire_route_is_said_to_cross_it() -> None:
    assert path(ground(FIRE), (-1.8, 3.5), (-3.0, 0.0)).crosses == ("Clear 1",)


def test_a_walkway_right_across_the_floor_is_crossed_and_said() -> None:
    blocked = venue(keep_clear=((0.0, 2.0, 20.0, 1.0),))
    way = path(ground(blocked), (0.0, 3.5), (0.0, 0.5))
    assert way.crosses == ("Clear 1",)


def test_of_two_of_which_one_must_be_crossed_the_fire_route_is_left_free() -> None:
    closed = venue(keep_clear=((-6.5, 2.0, 13.0, 1.0), (6.5, 2.0, 13.0, 1.0)))
    fire = closed.keep_clear[1].model_copy(update={"kind": "fire route"})
    closed = closed.model_copy(update={"keep_clear": (closed.keep_clear[0], fire)})
    assert path(ground(closed), (2.5, 3.5), (2.5, 0.5)).crosses == ("Clear 1",)


def test_nothing_slips_through_the_seam_of_two_pieces_of_one_walkway() -> None:
    seamed = venue(keep_clear=((-6.5, 2.0, 13.0, 1.0), (6.5, 2.0, 13.0, 1.0)))
    assert path(ground(seamed), (0.0, 3.5), (0.0, 0.5)).crosses


def test_paths_agree_with_one_path_at_a_time() -> None:
    starts: dict[str, Place] = {"a": (0.0, 1.0), "b": (-2.0, 3.0)}
    ends: dict[str, Place] = {"left": (3.0, 0.0), "right": (-3.0, 0.0)}
    together = paths(ground(FIRE), starts, ends)
    for (start, end), way in together.items():
        alone = path(ground(FIRE), starts[start], ends[end])
        assert way.weighed_m == pytest.approx(alone.weighed_m)
        assert way.points[0] == starts[start]
        assert way.points[-1] == ends[end]


def test_a_path_to_where_it_starts_is_no_path() -> None:
    way = path(ground(BARE), (1.0, 1.0), (1.0, 1.0))
    assert (way.points, way.floor_m, way.rise_m) == (((1.0, 1.0),), 0.0, 0.0)


def test_the_needed_length_is_the_way_and_a_tenth_and_the_coil() -> None:
    """Common practice: the way, up the stand and along the boom, a tenth more, 2 m to coil."""
    needed = needed_length(Path(((0, 0), (6, 0)), 6.0, 0.5, 6.5), height_m=2.2, boom_m=1.0)
    assert needed.value == pytest.approx(1.1 * (6.0 + 0.5 + 2.2 + 1.0) + 2.0, abs=0.005)
    assert {one.name: one.value for one in needed.given} == {
        "spare": 0.1, "floor": 6.0, "steps": 0.5, "height": 2.2, "boom": 1.0, "coil": 2.0
    }  # fmt: skip


HOUSE = DRUMS.model_copy(update={"house_box": (HouseBox(name="House box", at=(2.8, 0.2), lines=16),)})
VOICE = replace(
    FIDDLE,
    id="voice",
    accept=(Accept(taking="split"), Accept(taking="mic", kinds=("small dynamic",))),
    house_mic=HouseMic(house_box="House box"),
)


def test_a_split_is_run_from_the_house_box_and_a_mic_from_its_stand() -> None:
    found = lengths(ground(HOUSE), HOUSE, (VOICE,), {"B": (-3.0, 0.0)})
    assert found["voice", "split", "B"].path.points[0] == (2.8, 0.2)
    assert found["voice", "mic", "B"].path.points[0] == VOICE.at[:2]
    assert needed_m(found)["voice", "B"] == max(length.needed.value or 0 for length in found.values())


def test_a_mic_on_a_boom_needs_its_height_and_its_boom() -> None:
    found = lengths(ground(BARE), BARE, (FIDDLE,), {"B": FIDDLE.at[:2]})["fiddle", "mic", "B"]
    assert found.needed.value == pytest.approx(1.1 * (1.4 + 1.0) + 2.0)


def test_a_di_lies_on_the_floor_and_does_not_move() -> None:
    bass = replace(FIDDLE, accept=(Accept(taking="di"),))
    assert lengths(ground(BARE), BARE, (bass,), {"B": bass.at[:2]})["fiddle", "di", "B"].needed.value == 1.0


def test_a_mic_that_is_held_by_the_drum_needs_less_slack() -> None:
    tom = replace(FIDDLE, stands=("clamp", "short boom"))
    found = lengths(ground(BARE), BARE, (tom,), {"B": tom.at[:2]})["fiddle", "mic", "B"]
    assert found.needed.value == pytest.approx(1.1 * 1.4 + 1.0)


def test_the_trunk_goes_along_the_way_and_needs_a_tenth_more() -> None:
    length = trunk_length(ground(WAY), WAY, (-3.0, 0.0))
    along_m = 0.6 + 1.5 + 1.4 + dist((-4.5, 2.0), (-6.0, 1.0))
    assert length.path.floor_m == pytest.approx(along_m)
    assert length.needed.value == pytest.approx(1.1 * (along_m + 0.5), abs=0.005)


def test_cables_are_not_joined_where_people_walk() -> None:
    found = lengths(ground(FIRE), FIRE, (FIDDLE, replace(FIDDLE, id="far", at=(-2.8, 3.8, 1.4))), {"B": (2.8, 0.0)})
    assert joins_clear(ground(FIRE), found) == {("fiddle", "B"): True, ("far", "B"): True}
    past = lengths(ground(FIRE), FIRE, (replace(FIDDLE, at=(-2.4, 3.2, 1.4)),), {"B": (0.0, 4.0)})
    assert clear_of(ground(FIRE), past["fiddle", "mic", "B"].path) < 0.001
    assert joins_clear(ground(FIRE), past) == {("fiddle", "B"): False}
    assert clear_of(ground(BARE), path(ground(BARE), (0.0, 1.0), (1.0, 1.0))) == inf


def _spot(low: tuple[float, float], high: tuple[float, float]) -> st.SearchStrategy[Place]:
    tenths = [st.integers(round(10 * a), round(10 * b)).map(lambda n: n / 10) for a, b in zip(low, high, strict=True)]
    return st.tuples(*tenths)


_SIZES = st.integers(4, 25).map(lambda n: n / 10)
_RECTANGLES = st.lists(st.tuples(*[st.integers(-25, 25).map(lambda n: n / 10)] * 2, _SIZES, _SIZES), max_size=2)
_STAGES = st.builds(
    lambda risers, clear: venue(
        risers=tuple((x, y + 2.5, w, d) for x, y, w, d in risers),
        keep_clear=tuple((x, y + 2.5, w, d) for x, y, w, d in clear),
    ),
    _RECTANGLES,
    _RECTANGLES,
)
_ON_STAGE = _spot((-3.0, 0.0), (3.0, 4.0))


@settings(max_examples=40, deadline=None)
@given(_STAGES, _ON_STAGE, _ON_STAGE)
def test_whatever_the_stage_a_path_is_a_path(where: Venue, start: Place, end: Place) -> None:
    way = path(ground(where, (start, end)), start, end)
    back = path(ground(where, (start, end)), end, start)
    length_m = sum(dist(a, b) for a, b in zip(way.points, way.points[1:], strict=False))
    assert way.points[0] == pytest.approx(start)
    assert way.points[-1] == pytest.approx(end)
    assert length_m == pytest.approx(way.floor_m, abs=1e-4)
    assert way.floor_m >= dist(start, end) - 1e-9
    assert way.weighed_m == pytest.approx(back.weighed_m)
    straight = LineString((start, end))
    if not any(straight.intersects(rectangle(clear)) for clear in where.keep_clear):
        steps_m = 2 * sum(riser.height_m for riser in where.riser)
        assert way.weighed_m <= OPEN_FLOOR * straight.length + steps_m + 1e-6
    for clear in where.keep_clear:
        inner = rectangle(clear, -FINE_M)
        stands_in_it = inner.contains(Point(start)) or inner.contains(Point(end))
        if clear.name not in way.crosses and len(way.points) > 1:
            assert not LineString(way.points).relate_pattern(inner, "T********")
            assert not stands_in_it


@settings(max_examples=10, deadline=None)
@given(_STAGES, _ON_STAGE, _ON_STAGE)
def test_whatever_the_stage_no_path_by_exhaustive_search_is_cheaper(where: Venue, start: Place, end: Place) -> None:
    way = path(ground(where, (start, end)), start, end)
    assume(not way.crosses and start != end)
    by_force = cheapest_by_force(where, start, end, OPEN_FLOOR, every_m=0.08)
    assert way.weighed_m <= by_force + 0.01
    assert way.weighed_m == pytest.approx(by_force, rel=0.03)
