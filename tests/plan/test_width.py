"""How wide an ensemble is before a stereo pair, against what the pair takes in."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from plan.inputs import SHED
from plan.little_shows import plain_show, plain_venue, source

from fieldfare.plan.inputs import soundings, wanted_inputs
from fieldfare.plan.recipes import own_recipes
from fieldfare.plan.width import widths
from fieldfare.show.kit import Pattern
from fieldfare.show.plan import Aiming
from fieldfare.show.show import Act

Players = list[tuple[str, float, float]]  # name, across the stage, upstage
ACROSS, TOWARDS_US = 0.2, 0.25  # metres from where a fiddler stands to the fiddle


def _advice(
    players: Players, recipe: str = "main pair", y: float = -2.0, pattern: Pattern = "cardioid"
) -> Aiming | None:
    """Put fiddles before a pair at the front of the stage that looks upstage."""
    fiddles = [source(name, recipe="fiddle", at=(x, up)) for name, x, up in players]
    pair = source("Pair", recipe=recipe, at=(0.0, y), facing_deg=90.0)
    show = plain_show().model_copy(update={"act": (Act(name="Band", source=(*fiddles, pair)),)})
    recipes = own_recipes()
    wanted = wanted_inputs(show, plain_venue(), recipes)
    found = widths([(one, pattern) for one in wanted], soundings(show, plain_venue(), recipes), SHED)
    ids = [one.id for one in wanted if one.source.name == "Pair"]
    assert set(found) <= set(ids)
    assert found.get(ids[0]) == found.get(ids[1])
    return found.get(ids[0])


def _row(half_m: float, up: float = 1.0, middle_m: float = 0.0) -> Players:
    return [("Left", middle_m - half_m, up), ("Mid", middle_m, up), ("Right", middle_m + half_m, up)]


def test_a_pair_of_17_cm_and_110_degrees_takes_in_110() -> None:
    advice = _advice(_row(2.0))
    assert advice is not None
    assert advice.covers is not None
    assert advice.covers.value == pytest.approx(110, abs=2)
    given = {one.name: one.value for one in advice.covers.given}
    assert (given["between the axes"], given["spacing"]) == (110, 0.17)
    assert advice.says == (f"What sounds spans 72° from there; the pair takes in about {advice.covers.value:.0f}°.",)


def test_two_omnis_take_in_less() -> None:
    advice = _advice(_row(1.5), "spaced pair", pattern="omni")
    assert advice is not None
    assert advice.covers is not None
    assert advice.covers.value == pytest.approx(57, abs=2)


def test_who_stands_too_wide_is_named_and_how_far_back_takes_all_in() -> None:
    """Seen from the new place, by the arc tangent, the outermost stand just inside."""
    players = _row(5.0)
    said = _advice(players)
    assert said is not None
    assert said.covers is not None
    assert said.covers.value is not None
    words = said.says[0]
    assert "Left and Right would be heard from one loudspeaker alone" in words
    back = float(words.split(" m farther back")[0].split()[-1])
    assert _spans(players, -2.0 - back) <= said.covers.value < _spans(players, -2.0 - back + 0.11)


def _spans(players: Players, y: float) -> float:
    turns = [math.degrees(math.atan2(x + ACROSS, up - TOWARDS_US - y)) for _, x, up in players]
    return max(turns) - min(turns)


def test_a_small_ensemble_wants_the_pair_closer() -> None:
    advice = _advice(_row(0.9))
    assert advice is not None
    assert "the sides stay empty" in advice.says[0]
    closer = float(advice.says[0].split(" m closer it spans ")[0].split()[-1])
    told = float(advice.says[0].split(" m closer it spans ")[1].split("°")[0])
    assert told == pytest.approx(_spans(_row(0.9), -2.0 + closer), abs=0.5)
    assert 1.0 <= 1.0 - TOWARDS_US + 2.0 - closer < 1.1


def test_nobody_is_asked_to_stand_in_the_fiddles() -> None:
    advice = _advice(_row(0.5), y=-0.1)
    assert advice is not None
    assert "closer" not in advice.says[0]


def test_too_wide_for_any_place_wants_spots() -> None:
    advice = _advice(_row(13.0, up=3.0))
    assert advice is not None
    assert "Spots would help" in advice.says[0]


@pytest.mark.parametrize(("middle", "side"), [(-1.5, "left"), (1.5, "right")])
def test_a_pair_that_looks_past_the_middle_is_turned(middle: float, side: str) -> None:
    """It looks upstage, so its left is the audience's left, where x is below 0."""
    advice = _advice(_row(1.5, middle_m=middle))
    assert advice is not None
    assert f"to the {side}, as they look" in advice.says[0]


def test_a_room_pair_has_its_back_to_the_stage_and_no_ensemble() -> None:
    for recipe in ("room pair", "audience pair"):
        players = [("Left", -2.0, 3.0), ("Mid", 0.0, -6.0), ("Right", 2.0, 3.0)]
        assert _advice(players, recipe) is None


def test_one_source_is_no_ensemble() -> None:
    assert _advice([("Left", 0.0, 1.0)]) is None


def test_farther_back_an_ensemble_is_narrower() -> None:
    seen = []
    for y in (-1.5, -2.0, -3.0, -5.0):
        advice = _advice(_row(2.0), y=y)
        assert advice is not None
        seen.append(float(advice.says[0].split("spans ")[1].split("°")[0]))
    assert all(nearer > farther for nearer, farther in pairwise(seen))
