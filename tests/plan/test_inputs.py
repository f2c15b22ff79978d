"""From sources to inputs and soundings."""

from __future__ import annotations

from importlib.resources import as_file, files
from math import dist, log10
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan.little_shows import plain_show, plain_venue, source

from fieldfare.plan.inputs import BESIDE_SCORE, floor_m, soundings, wanted_inputs
from fieldfare.plan.recipes import own_recipes
from fieldfare.plan.wanted import Wanted
from fieldfare.show.show import Act, HouseMic, Show
from fieldfare.show.toml import read_show
from fieldfare.show.venue import HouseBox, Riser, Venue
from fieldfare.units.faults import BadDocuments

RECIPES = own_recipes()
RISER = Riser(name="riser", at=(0.0, 3.0), size_m=(2.0, 2.0), height_m=0.4)


def _show(*sources: Any) -> Show:
    return plain_show().model_copy(update={"act": (Act(name="act", source=sources),)})


def _wanted(*sources: Any, venue: Venue | None = None) -> dict[str, Wanted]:
    return {one.id: one for one in wanted_inputs(_show(*sources), venue or plain_venue(), RECIPES)}


def test_the_demo_wants_27_inputs_drums_first_voices_and_rooms_last() -> None:
    with as_file(files("fieldfare.show") / "demo") as folder:
        demo = read_show(folder)
    ids = [one.id for one in wanted_inputs(demo.show, demo.venue, RECIPES)]
    assert ids == [
        "kick", "snare-top", "tom-1", "tom-2", "overhead-left", "overhead-right", "hand-percussion", "upright-bass-di",
        "upright-bass-amp", "acoustic-guitar", "bouzouki", "harmonium", "fiddle-mic", "fiddle-di",
        "button-accordion-treble", "button-accordion-bass-side", "clarinet", "alto-saxophone", "trumpet", "lead-vocal",
        "backing-vocal-guitar", "backing-vocal-accordion", "talkback", "room-left", "room-right", "house-mix-left",
        "house-mix-right",
    ]  # fmt: skip


def test_places_are_turned_into_the_stage_s_frame_and_stand_on_the_floor_of_the_source() -> None:
    """The player faces the audience: ahead is downstage, the player's left is to the right as the audience sees it."""
    venue = plain_venue().model_copy(update={"riser": (RISER,)})
    hat = _wanted(source("Kit", recipe="drum kit", at=(0.5, 3.0)), venue=venue)["hat"]
    assert hat.at == (0.5 + 0.72, 3.0 - 0.02, 0.4 + 1.02)
    assert hat.sound_at == (0.5 + 0.60, 3.0 + 0.05, 0.4 + 0.90)


@given(st.floats(0, 360), st.floats(-3, 3), st.floats(0.5, 3.5))
def test_turning_a_source_changes_no_distance(facing_deg: float, x: float, y: float) -> None:
    still = _wanted(source("Kit", recipe="drum kit", at=(0.0, 2.0)))
    turned = _wanted(source("Kit", recipe="drum kit", at=(x, y), facing_deg=facing_deg))
    for name in ("kick", "hat", "ride"):
        assert turned[name].distance_m == pytest.approx(still[name].distance_m, abs=0.002)
        assert dist(turned[name].at, turned["kick"].at) == pytest.approx(
            dist(still[name].at, still["kick"].at), abs=0.003
        )


def test_left_and_right_are_as_the_audience_sees_them_whichever_way_the_source_faces() -> None:
    for facing in (270, 90):
        rows = _wanted(source("Room", recipe="room pair", at=(0.0, 0.0), facing_deg=facing))
        assert rows["room-left"].at[0] < rows["room-right"].at[0]
        assert rows["room-left"].pair == "room-right"
        assert rows["room-right"].pair == "room-left"
        assert rows["room-left"].aim[0] < 0 < rows["room-right"].aim[0]


def test_a_stand_s_height_counts_from_the_floor_it_stands_on() -> None:
    venue = plain_venue().model_copy(update={"riser": (RISER,)})
    rows = _wanted(source("Kit", recipe="drum kit", at=(0.0, 3.0)), venue=venue)
    assert rows["snare-top"].height_m == pytest.approx(0.70)
    assert rows["snare-top"].at[2] == pytest.approx(1.10)


@pytest.mark.parametrize(("x", "y", "height"), [(0, 3, 0.4), (2.9, 1, 0.0), (0, -1, -0.5), (9, 1, -0.5)])
def test_the_floor_is_a_riser_the_stage_or_the_room(x: float, y: float, height: float) -> None:
    venue = plain_venue().model_copy(update={"riser": (RISER,)})
    raised = venue.model_copy(update={"stage": venue.stage.model_copy(update={"height_m": 0.5})})
    assert floor_m(raised, x, y) == height


def test_a_pickup_is_taken_where_there_is_one_and_a_microphone_where_not() -> None:
    with_, without = (
        _wanted(source("Guitar", recipe="acoustic guitar", has=has))["guitar"] for has in (("pickup",), ())
    )
    assert {accept.taking for accept in with_.accept} == {"di"}
    assert {accept.taking for accept in without.accept} == {"mic"}


def test_toms_come_by_count_and_without_one_there_are_none() -> None:
    ids = {
        number: [name for name in _wanted(source("Kit", recipe="drum kit", counts={"toms": number})) if "tom-" in name]
        for number in (0, 1, 3)
    }
    assert ids == {0: [], 1: ["tom-1"], 3: ["tom-1", "tom-2", "tom-3"]}


def test_what_is_left_out_is_not_wanted() -> None:
    assert "hat" not in _wanted(source("Kit", recipe="drum kit", leave_out=("hat",)))


def test_the_show_s_importance_stands_before_the_recipe_s() -> None:
    rows = _wanted(source("Kit", recipe="drum kit", importance="nice"))
    assert {one.importance for one in rows.values()} == {"nice"}


def test_ids_are_unique_and_those_of_the_first_source_stay_when_a_second_comes() -> None:
    first = source("Kit", recipe="drum kit", at=(1.0, 2.0))
    second = source("Second kit", recipe="drum kit", at=(-1.0, 2.0))
    alone, both = _wanted(first), _wanted(first, second)
    assert set(alone) < set(both)
    assert all(both[name].source.name == "Kit" for name in alone)
    assert both["second-kit-kick"].source.name == "Second kit"
    assert both["second-kit-kick"].label == "Second kit kick"
    assert both["kick"].label == "Kick"


def test_two_sources_of_one_name_still_have_ids_of_their_own() -> None:
    rows = _wanted(*(source("Trumpet", recipe="trumpet") for _ in range(3)))
    assert list(rows) == ["trumpet", "trumpet-trumpet", "trumpet-2"]


def test_within_a_family_the_list_goes_from_left_to_right_as_the_audience_sees_it() -> None:
    rows = _wanted(*(source(f"Voice {x}", recipe="backing vocal", at=(x, 1.0)) for x in (1.0, -2.0, 0.0)))
    assert list(rows) == ["voice-2-0", "voice-0-0", "voice-1-0"]
    assert [one.order for one in rows.values()] == [1, 2, 3]


def test_a_house_mic_is_on_the_one_house_box_that_there_is_and_on_none_where_there_are_two() -> None:
    boxes = tuple(HouseBox(name=name, at=(x, 0.0), lines=16) for name, x in (("Left", 2.0), ("Right", -2.0)))
    sung = source("Voice", recipe="lead vocal", house_mic=HouseMic())
    for there, told in ((boxes[:1], "Left"), (boxes, "")):
        mic = _wanted(sung, venue=plain_venue().model_copy(update={"house_box": there}))["voice"].house_mic
        assert mic is not None
        assert mic.house_box == told


def test_a_vocal_that_the_house_takes_is_split_and_never_gets_a_second_microphone() -> None:
    (voice,) = _wanted(source("Voice", recipe="lead vocal", house_mic={"house_box": "House"})).values()
    assert [accept.taking for accept in voice.accept] == ["split"]
    assert voice.house_mic is not None


def test_an_instrument_that_the_house_takes_can_have_our_microphone_beside_it_for_less() -> None:
    (trumpet,) = _wanted(source("Trumpet", recipe="trumpet", house_mic={"house_box": "House"})).values()
    assert trumpet.accept[0].taking == "split"
    assert trumpet.accept[1].score == round(100 * BESIDE_SCORE)


def test_a_known_level_moves_what_is_expected_at_the_microphone_and_what_sounds() -> None:
    given: list[dict[str, float]] = [{"level_db": 118.0}, {}]
    rows = [_wanted(source("Trumpet", recipe="trumpet", **more))["trumpet"] for more in given]
    assert rows[0].spl_db[0] - rows[1].spl_db[0] == pytest.approx(118 - 112)
    shows = [_show(source("Trumpet", recipe="trumpet", **more)) for more in given]
    sounds = [soundings(show, plain_venue(), RECIPES)[0] for show in shows]
    assert [one.level_db for one in sounds] == [118.0, 112.0]


def test_a_level_that_the_recipe_does_not_give_follows_from_the_distance() -> None:
    """Inverse distance, 20·lg r, from the level at 1 m; the pickup's range is what the bass body gives there."""
    row = _wanted(source("Bass", recipe="upright bass", has=("pickup",)))["bass-di"]
    middle = 92 - 20 * log10(row.distance_m)
    assert row.spl_db == pytest.approx((middle - 6, middle + 6), abs=0.06)


def test_doublings_are_silent_for_each_other_whichever_names_the_other() -> None:
    show = _show(
        source("Guitar", recipe="acoustic guitar"), source("Bouzouki", recipe="bouzouki", doubles_with="Guitar")
    )
    silent = {one.source: one.never_with for one in soundings(show, plain_venue(), RECIPES)}
    assert silent == {"Guitar": "Bouzouki", "Bouzouki": "Guitar"}


def test_what_a_microphone_hears_is_named_as_what_sounds() -> None:
    show = _show(source("Kit", recipe="drum kit", counts={"toms": 3}))
    parts = {one.part for one in soundings(show, plain_venue(), RECIPES)}
    heard = {name for one in wanted_inputs(show, plain_venue(), RECIPES) for name in one.hears}
    assert {"tom 1", "tom 2", "tom 3", "kick"} <= heard <= parts


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("recipe", "drumkit", r"there is no recipe 'drumkit'; did you mean 'drum kit'\?"),
        ("has", ("pick-up",), r"the recipe 'drum kit' has no use for 'pick-up'; take it out"),
        ("counts", {"tom": 2}, r".* no use for 'tom'; did you mean 'toms'\?"),
        ("counts", {"toms": 9}, r"9 toms are more than the recipe 'drum kit' has places for; give 0 to 4"),
        ("leave_out", ("hats",), r".* no use for 'hats'; did you mean 'hat'\?"),
    ],
)
def test_what_a_recipe_does_not_know_is_told_with_what_was_meant(field: str, value: object, says: str) -> None:
    with pytest.raises(BadDocuments, match=rf'^show\.toml, source "Kit", {field}: {says}'):
        _wanted(source("Kit", **{"recipe": "drum kit", field: value}))


def test_what_recipes_do_not_know_is_told_of_all_sources_at_once() -> None:
    with pytest.raises(BadDocuments, match="trumpett") as caught:
        _wanted(
            source("Horn", recipe="trumpett"), source("Kit", recipe="drum kit", has=("pick-up",), counts={"toms": 9})
        )
    assert [(one.place, one.field) for one in caught.value.blemishes] == [
        ('source "Horn"', "recipe"),
        ('source "Kit"', "has"),
        ('source "Kit"', "counts"),
    ]
