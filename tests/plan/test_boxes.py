from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations_with_replacement, product
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan.inputs import FIDDLE
from plan.stages import rectangle, venue
from shapely.geometry import Point

from fieldfare.plan.boxes import BIG_M, FREE_M, Floor, Lot, candidates, place_boxes, solve
from fieldfare.plan.ground import ground
from fieldfare.plan.runs import SPARE_SHARE, path
from fieldfare.plan.wanted import Wanted
from fieldfare.show.kit import Box, Kit, Recorder, Trunk
from fieldfare.show.record import Place
from fieldfare.show.show import Show

ROOM = venue(
    risers=((0.5, 3.0, 2.0, 2.0),), keep_clear=((-1.8, 4.0, 1.0, 2.4),), kind="fire route", recordist=(-6.0, 1.0)
)
KIT = Kit(
    trunk=(Trunk(item="trunk", tags=("T-1",), lines=8, length_m=20),),
    box=(Box(item="drop box", tags=("B-1", "B-2"), lines=3, tail_m=9),),
    recorder=(Recorder(item="recorder", tags=("R-1",), preamps=8, max_input_dbu=10),),
)


def _show(**more: object) -> Show:
    return Show.model_validate({"title": "t", "date": "2026-12-04", "venue": "v", "kit": ("k",), **more})


def _row(name: str, at: Place) -> Wanted:
    return replace(FIDDLE, id=name, at=(*at, 1.4))


DRUMS = [_row(f"drum {n}", (0.2 + n / 5, 2.6)) for n in range(3)]
BAND = (*DRUMS, _row("left", (2.6, 0.4)), _row("right", (-2.6, 0.4)), _row("middle", (0.0, 0.5)))


def _by_force(floor: Floor) -> float:
    """Least metres by trying every place of the head, every set of boxes and everyone in every socket."""
    best = inf
    for head in floor.heads:
        for boxes in _sets_of_boxes(floor, head):
            lines = [floor.head_lines, *(floor.lots[lot].thing.lines for lot, _ in boxes)]
            places = [head, *(place for _, place in boxes)]
            metres = floor.trunk_m[head] + sum(floor.tail_m[place, head] for _, place in boxes)
            best = min(best, metres + _plugged(floor, places, lines))
    return best


def _sets_of_boxes(floor: Floor, head: int) -> Iterator[list[tuple[int, int]]]:
    each = []
    for number, lot in enumerate(floor.lots):
        near = [p for p in range(len(floor.places)) if (1 + SPARE_SHARE) * floor.tail_m[p, head] <= lot.thing.tail_m]
        each.append(
            [
                [(number, place) for place in some]
                for count in range(len(lot.tags) + 1)
                for some in combinations_with_replacement(near, count)
            ]
        )
    for choice in product(*each):
        yield [box for some in choice for box in some]


def _plugged(floor: Floor, places: list[int], lines: list[int]) -> float:
    best = inf
    for seats in product(range(len(places) + 1), repeat=len(floor.inputs)):
        if all(seats.count(seat) <= line for seat, line in enumerate(lines)):
            runs = [
                BIG_M if seat == len(places) else floor.run_m[name, places[seat]]
                for name, seat in zip(floor.inputs, seats, strict=True)
            ]
            best = min(best, sum(runs))
    return best


_METRES = st.integers(1, 120).map(lambda n: n / 10)


@st.composite
def _floors(draw: st.DrawFn) -> Floor:
    inputs = tuple(f"i{n}" for n in range(draw(st.integers(1, 4))))
    places = tuple((float(n), 0.0) for n in range(draw(st.integers(2, 4))))
    heads = tuple(draw(st.lists(st.sampled_from(range(len(places))), min_size=1, max_size=2, unique=True)))
    lots = tuple(
        Lot(Box(item="b", tags=("x",), lines=draw(st.integers(1, 2)), tail_m=draw(_METRES)), ("x", "y")[:units])
        for units in draw(st.lists(st.integers(1, 2), max_size=2))
    )
    spots = range(len(places))
    return Floor(
        inputs=inputs,
        lots=lots,
        places=places,
        heads=heads,
        head_lines=draw(st.integers(0, 3)),
        head_holds=frozenset(),
        run_m={(name, place): draw(_METRES) for name in inputs for place in spots},
        tail_m={(place, head): 0.0 if place == head else draw(_METRES) for place in spots for head in spots},
        trunk_m={head: draw(_METRES) for head in heads},
    )


@settings(max_examples=60, deadline=None)
@given(_floors())
def test_no_other_places_need_fewer_metres(floor: Floor) -> None:
    assert solve(floor).metres == pytest.approx(_by_force(floor), abs=1e-4)


def test_the_drum_box_stands_by_the_riser_and_the_trunk_where_it_reaches() -> None:
    placed = place_boxes(ROOM, _show(), KIT, BAND)
    assert placed[0].tag == "T-1"
    assert placed[0].trunk
    assert any(0.4 < one.at[0] <= 1.5 or one.at[0] == -0.5 for one in placed if one.at[1] == 2.0)


def test_boxes_stand_clear_of_the_fire_route_and_within_their_tail() -> None:
    placed = place_boxes(ROOM, _show(), KIT, BAND)
    for one in placed:
        assert Point(one.at).distance(rectangle(ROOM.keep_clear[0])) >= FREE_M - 1e-6
    for one in placed[1:]:
        way = path(ground(ROOM), one.at, placed[0].at)
        assert (1 + SPARE_SHARE) * (way.floor_m + way.rise_m) <= one.tail_m


def test_a_pinned_box_stands_where_it_was_put_even_where_nobody_needs_it() -> None:
    placed = place_boxes(ROOM, _show(box_place=[{"box": "B-2", "at": (2.0, 1.0)}]), KIT, BAND[:1])
    assert {one.tag: one.at for one in placed}["B-2"] == (2.0, 1.0)


def test_a_pinned_trunk_stands_where_it_was_put() -> None:
    placed = place_boxes(ROOM, _show(box_place=[{"box": "T-1", "at": (2.0, 1.0)}]), KIT, BAND)
    assert (placed[0].tag, placed[0].at) == ("T-1", (2.0, 1.0))


def test_a_pinned_input_brings_its_box() -> None:
    show = _show(pin=[{"input": "middle", "box": "B-2"}])
    assert "B-2" in {one.tag for one in place_boxes(ROOM, show, KIT, BAND[-1:])}
    assert "B-2" not in {one.tag for one in place_boxes(ROOM, _show(), KIT, BAND[-1:])}


def test_without_a_trunk_everything_comes_to_the_recorder_or_to_a_box_on_its_tail() -> None:
    placed = place_boxes(ROOM, _show(), KIT.model_copy(update={"trunk": ()}), BAND)
    assert (placed[0].tag, placed[0].at, placed[0].sockets, placed[0].trunk) == ("R-1", (-6.0, 1.0), 8, False)


def test_a_trunk_that_reaches_no_place_is_put_where_it_comes_nearest() -> None:
    short = KIT.model_copy(update={"trunk": (Trunk(item="trunk", tags=("T-1",), lines=8, length_m=1),), "box": ()})
    placed = place_boxes(ROOM, _show(), short, BAND)
    assert placed[0].at == (-3.0, 2.0) or placed[0].at == (-3.0, 0.0)


def test_no_box_stands_in_the_middle_of_the_front() -> None:
    assert all(x in (-3.0, 3.0) for x, y in candidates(ROOM, ground(ROOM)) if y == 0)


def test_a_kit_with_nothing_to_plug_into_places_nothing() -> None:
    assert place_boxes(ROOM, _show(), Kit(), BAND) == ()
