"""The level of microphones that hear the room, by the law of distance and the diffuse field, counted by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from plan.little_kit import want

from fieldfare.plan.recipes import own_recipes
from fieldfare.plan.room_level import with_room_levels
from fieldfare.plan.spill import Air
from fieldfare.plan.wanted import Sounding, Wanted

OUTDOORS = Air(20.0, 1000.0, None)
ROOM = Air(20.0, 1000.0, 1.0)


def _room(name: str = "room-left", pair: str = "", at: tuple[float, float, float] = (0.0, 0.0, 2.0)) -> Wanted:
    one = want(name, at=at)
    source = one.source.model_copy(update={"recipe": "room pair"})
    return replace(one, source=source, part="room", pair=pair, spl_db=(98.0, 114.0))


def _drum(away_m: float, level_db: float = 110.0, source: str = "drum", **more: object) -> Sounding:
    return Sounding(source, "", (away_m, 0.0, 2.0), level_db, 3.0, **more)  # type: ignore[arg-type]


def _levels(
    *sounding: Sounding, air: Air = OUTDOORS, pa: bool = False, rows: tuple[Wanted, ...] = ()
) -> tuple[Wanted, ...]:
    return with_room_levels(rows or (_room(),), sounding, own_recipes(), air, pa)


def test_outdoors_one_source_falls_by_20_db_in_ten_metres() -> None:
    """Inverse square law: 110 dB at 1 m are 90 dB at 10 m; ± 6 dB for the moment."""
    (one,) = _levels(_drum(10.0))
    assert one.spl_db == pytest.approx((84.0, 96.0), abs=0.05)
    assert one.room_spl is not None
    assert one.room_spl.sure == "guess"


def test_two_alike_are_3_db_louder_than_one() -> None:
    one, two = _levels(_drum(10.0)), _levels(_drum(10.0), _drum(-10.0, source="other"))
    assert two[0].spl_db[1] - one[0].spl_db[1] == pytest.approx(10 * math.log10(2), abs=0.1)


def test_in_a_room_the_diffuse_field_is_added() -> None:
    """Lw = Lp(1 m) + 11 dB for Q = 1; diffuse Lp = Lw + 10·lg(4 / A), A = 0.161·V / T (Sabine): 4 / 161 is −16.0 dB.

    110 + 11 − 16.0 = 105.0 dB diffuse, less what has died away in the 29 ms of the way (60 dB a second: 1.7 dB); with
    90 dB direct 103.4 dB. Tolerance for the constants of the two roads.
    """
    (one,) = _levels(_drum(10.0), air=ROOM)
    assert sum(one.spl_db) / 2 == pytest.approx(103.4, abs=0.3)
    assert one.room_spl is not None
    assert one.room_spl.sure == "estimate"


def test_with_a_pa_it_is_no_quieter_than_the_recipe_says_and_a_loud_stage_is_louder() -> None:
    (soft,), (loud,) = _levels(_drum(10.0, 90.0), pa=True), _levels(_drum(10.0, 135.0), pa=True)
    assert soft.spl_db == (98.0, 114.0)
    assert loud.spl_db == pytest.approx((109.0, 121.0), abs=0.05)


def test_acts_that_never_play_together_are_not_added() -> None:
    first, second = _drum(10.0, sets=frozenset({0})), _drum(-10.0, 104.0, "other", sets=frozenset({1}))
    assert _levels(first, second)[0].spl_db == _levels(_drum(10.0))[0].spl_db


def test_both_sides_of_a_pair_expect_the_louder() -> None:
    rows = (_room("room-left", "room-right"), _room("room-right", "room-left", (4.0, 0.0, 2.0)))
    left, right = _levels(_drum(10.0), rows=rows)
    assert (
        left.spl_db
        == right.spl_db
        == pytest.approx((110 - 20 * math.log10(6) - 6, 110 - 20 * math.log10(6) + 6), abs=0.1)
    )


def test_nobody_on_the_stage_leaves_the_recipe_and_other_mics_are_left_alone() -> None:
    assert _levels()[0].spl_db == (98.0, 114.0)
    voice = replace(
        want("voice"), source=want("voice").source.model_copy(update={"recipe": "lead vocal"}), part="voice"
    )
    assert _levels(_drum(10.0), rows=(voice,)) == (voice,)
