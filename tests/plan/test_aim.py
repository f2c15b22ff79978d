from __future__ import annotations

from dataclasses import replace
from math import acos, cos, degrees, dist, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan.inputs import FIDDLE, SHED, sounding
from plan.little_shows import plain_show, plain_venue, source
from sheets import example

from fieldfare.physics.microphones import OMNI_SHARE, null_deg
from fieldfare.plan.aim import OWN_LOSS_DB, TURN_DEG, WORTH_DB, aiming, more_of_its_own, plays_at
from fieldfare.plan.inputs import wanted_inputs
from fieldfare.plan.recipes import own_recipes
from fieldfare.plan.spill import Air, balance, off_axis_rad, pattern_db
from fieldfare.plan.wanted import Sounding
from fieldfare.show.kit import Mic, Pattern
from fieldfare.show.plan import Aiming, UnitUse
from fieldfare.show.record import Place3
from fieldfare.show.show import Act, Wedge

MIC = Mic(
    item="small dynamic", tags=("M-1",), kind="small dynamic", pattern="cardioid", phantom="ignored",
    sensitivity_mv_pa=2.0, impedance_ohm=150.0,
)  # fmt: skip
ROW = example.example(1).plan.input[0].model_copy(
    update={
        "id": "fiddle", "label": "Fiddle", "source": "Fiddle", "taking": "mic", "pattern": "cardioid",
        "unit": UnitUse(tag="M-1", item="small dynamic"), "at": FIDDLE.at, "aim": FIDDLE.aim, "pair": "",
    }
)  # fmt: skip


def _advice(
    pattern: Pattern,
    others: list[Sounding],
    air: Air = SHED,
    mic: Mic = MIC,
    pair: str = "",
    wedge: tuple[Wedge, ...] = (),
) -> Aiming | None:
    row = ROW.model_copy(update={"pattern": pattern, "pair": pair})
    mine = sounding("Fiddle", FIDDLE.sound_at)
    return aiming([row], {"fiddle": FIDDLE}, {"M-1": mic}, (mine, *others), air, wedge).get("fiddle")


def _at(off_deg: float, away_m: float = 1.5) -> Place3:
    """A place so far off the fiddle's axis, to the right."""
    return (away_m * sin(radians(off_deg)), FIDDLE.at[1] + away_m * cos(radians(off_deg)), FIDDLE.at[2])


def test_a_microphone_turns_away_from_what_is_loud_beside_it() -> None:
    advice = _advice("cardioid", [sounding("Drums", _at(80), level_db=112.0)])
    assert advice is not None
    assert advice.turn is not None
    given = {one.name: one.value for one in advice.turn.given}
    assert given["towards"] == "to the left"
    assert float(given["turn"]) <= TURN_DEG
    assert float(given["its own sound loses"]) <= OWN_LOSS_DB
    assert advice.says[0].startswith("Turn it ")
    assert "Drums" in advice.says[0]


@given(
    off=st.floats(40, 180),
    up=st.floats(-0.8, 0.8),
    level=st.floats(95, 120),
    pattern=st.sampled_from(["cardioid", "supercardioid", "hypercardioid"]),
)
def test_what_a_turn_is_said_to_gain_is_what_the_balance_gains(
    off: float, up: float, level: float, pattern: Pattern
) -> None:
    """A second road: no axis on a ring of turns does better by the balance of spill than the one that was found."""
    x, y, z = _at(off)
    everything = [sounding("Fiddle", FIDDLE.sound_at), sounding("Drums", (x, y, z + up), level_db=level)]
    turned = [
        replace(FIDDLE, aim=(sin(a) * cos(b), cos(a), sin(a) * sin(b)))
        for a in (radians(deg) for deg in (5, 10, 15, 20, 25, 30))
        for b in (radians(deg) for deg in range(0, 360, 30))
    ]
    now = balance(FIDDLE, pattern, everything, SHED).ratio_db
    assert now is not None
    own_db = [_own_db(pattern, one.aim) for one in turned]
    ratios = [balance(one, pattern, everything, SHED).ratio_db or 0.0 for one in turned]
    gains = [ratio + own - now for ratio, own in zip(ratios, own_db, strict=True) if own >= -OWN_LOSS_DB]
    advice = _advice(pattern, everything[1:])
    found = advice.turn.value if advice and advice.turn else 0.0
    assert found is not None
    if now < 15:
        assert max(gains) <= max(found, WORTH_DB) + 0.06  # the figure is rounded to 0.1 dB
    else:
        assert found == 0.0


def _own_db(pattern: Pattern, aim: Place3) -> float:
    return pattern_db(pattern, off_axis_rad(FIDDLE.at, aim, FIDDLE.sound_at))


def test_what_cannot_turn_is_not_told_to() -> None:
    loud = [sounding("Drums", _at(80), level_db=112.0)]
    clip = _advice("cardioid", loud, mic=MIC.model_copy(update={"mount": "clip"}))
    assert clip is None or clip.turn is None
    assert _advice("cardioid", loud, pair="other") is None
    omni = _advice("omni", loud)
    assert omni is None or omni.turn is None


def test_a_microphone_that_hears_nothing_else_has_no_advice() -> None:
    assert _advice("cardioid", []) is None


def test_a_wedge_is_sent_to_the_null_of_the_pattern() -> None:
    """[HyperPhysics] the null of a supercardioid lies at 127° off its axis, 53° to either side of straight behind."""
    wedge = Wedge(name="Wedge 1", at=(0.0, -0.3), facing_deg=90.0)
    advice = _advice("supercardioid", [sounding("Drums", _at(90), level_db=115.0)], wedge=(wedge,))
    assert advice is not None
    (words,) = [one for one in advice.says if one.startswith("A wedge")]
    best_deg = int(words.split("quietest in it ")[1].split("°")[0])
    x, y = 1.2 * sin(radians(best_deg)), FIDDLE.at[1] - 1.2 * cos(radians(best_deg))
    off_deg = degrees(acos((y - FIDDLE.at[1]) / dist((x, y, 0.3), FIDDLE.at)))
    assert off_deg == pytest.approx(null_deg(OMNI_SHARE["supercardioid"]), abs=4)
    assert "of the wedges it hears Wedge 1 at" in words


def test_a_wedge_plays_at_what_is_near_and_before_it() -> None:
    wedge = Wedge(name="Wedge 1", at=(0.0, 0.0), facing_deg=90.0)
    assert plays_at(wedge, (0.5, 1.0, 1.5))
    assert not plays_at(wedge, (0.0, -1.0, 1.5))
    assert not plays_at(wedge, (0.0, 3.0, 1.5))


@pytest.mark.parametrize(
    ("recipe", "clips", "wide"),
    [("fiddle", True, False), ("trumpet", True, False), ("choir", False, True), ("lead vocal", False, False)],
)
def test_only_what_can_be_clipped_on_or_multiplied_is_advised(recipe: str, clips: bool, wide: bool) -> None:
    """A clip or a pickup is no cure for a choir or a singer."""
    act = Act(name="act", source=(source("It", recipe=recipe),))
    show = plain_show().model_copy(update={"act": (act,)})
    wanted, *_ = wanted_inputs(show, plain_venue(), own_recipes())
    said = more_of_its_own(wanted, 0.5)
    assert ("clip a mic on" in said, "more mics" in said) == (clips, wide)


def test_nobody_is_told_to_clip_on_what_is_clipped_on_or_to_take_a_pickup_that_is_taken() -> None:
    act = Act(name="act", source=(source("It", recipe="fiddle"),))
    wanted, *_ = wanted_inputs(plain_show().model_copy(update={"act": (act,)}), plain_venue(), own_recipes())
    for clipped in (False, True):
        for pickup in (False, True):
            said = more_of_its_own(wanted, 0.5, clipped=clipped, pickup=pickup)
            assert ("clip a mic on" in said, "take a pickup" in said) == (not clipped, not pickup)
