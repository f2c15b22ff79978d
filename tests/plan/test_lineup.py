"""What is said on the telephone becomes sources: words of the trade (common practice, no source)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.plan.lineup import MEANT, PLACES, read_lineup
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.show import Source
from fieldfare.show.venue import Stage

RECIPES = own_recipes()
STAGE = Stage(width_m=7.0, depth_m=4.2)


def _recipes(text: str) -> list[str]:
    return [one.recipe for one in read_lineup(text, RECIPES, STAGE).source]


def test_the_words_of_a_phone_call() -> None:
    assert _recipes("drums, bass, two guitars, three vocals") == [
        "drum kit",
        "electric bass",
        "electric guitar",
        "electric guitar",
        "lead vocal",
        "backing vocal",
        "backing vocal",
    ]


@pytest.mark.parametrize("text", ["2 fiddles", "fiddle x2", "2x fiddle", "two fiddles", "fiddle and fiddle"])
def test_every_way_to_say_two(text: str) -> None:
    assert _recipes(text) == ["fiddle", "fiddle"]


def test_what_is_said_besides_is_understood() -> None:
    text = "drums with two toms, bass with amp, perhaps a fiddle with pickup, 2 saxes?, bass di"
    said = [(one.recipe, one.status, one.has, one.counts) for one in read_lineup(text, RECIPES, STAGE).source]
    assert said == [
        ("drum kit", "expected", (), {"toms": 2}),
        ("electric bass", "expected", ("amplifier",), {}),
        ("fiddle", "possible", ("pickup",), {}),
        ("alto saxophone", "possible", (), {}),
        ("alto saxophone", "possible", (), {}),
        ("electric bass", "expected", (), {}),
    ]
    assert read_lineup("fiddle with bells on", RECIPES, STAGE).not_understood == (
        "fiddle with bells on (did you mean fiddle?)",
    )


def test_what_is_not_known_is_told_with_its_nearest() -> None:
    read = read_lineup("fidle; kazoo, 0 drums, 999 drums", RECIPES, STAGE)
    assert read.source == ()
    assert read.not_understood == (
        "fidle (did you mean fiddle?)",
        "kazoo",
        "0 drums (did you mean drums?)",
        "999 drums (did you mean drums?)",
    )


def test_a_second_voice_is_no_second_lead() -> None:
    there = (Source(name="Lead vocal", recipe="lead vocal", at=(0.0, 1.0)),)
    read = read_lineup("two vocals", RECIPES, STAGE, there)
    assert [one.recipe for one in read.source] == ["backing vocal", "backing vocal"]


def test_no_new_source_takes_a_name_that_is_there() -> None:
    there = (Source(name="Fiddle", recipe="fiddle", at=(0.0, 1.0)),)
    assert [one.name for one in read_lineup("fiddle", RECIPES, STAGE, there).source] == ["Fiddle 2"]


def test_every_word_leads_to_a_recipe_and_every_family_has_a_place() -> None:
    assert set(MEANT.values()) <= set(RECIPES)
    assert {recipe.family for recipe in RECIPES.values()} <= set(PLACES)


@given(st.text(max_size=80))
def test_any_text_is_read_and_every_source_stands_on_the_stage(text: str) -> None:
    for source in read_lineup(text, RECIPES, STAGE).source:
        assert abs(source.at[0]) <= STAGE.width_m / 2
        assert 0 <= source.at[1] <= STAGE.depth_m
