"""Several acts in one evening on one patch: who never sounds together, what is shared, and the fewest changes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from plan.evenings import best, little_evening
from plan.little_kit import (
    CONDENSER,
    DI,
    RIBBON,
    choice_of,
    di,
    goals_of,
    kit,
    mic,
    pair,
    recorder,
    rows_of,
    split,
    stand,
    want,
)  # fmt: skip

from fieldfare.plan.acts import apart, sets_of
from fieldfare.show.show import Show
from fieldfare.show.venue import HouseBox

FIRST, SECOND, THIRD = frozenset({0}), frozenset({1}), frozenset({2})
GOALS = (
    ("must inputs kept", -1), ("want inputs kept", -1), ("nice inputs kept", -1), ("changes from act to act", 1),
    ("mics carried over between acts", 1), ("fitness of mics and DIs", -1),
)  # fmt: skip


def _show(*sets: str | tuple[str, ...], acts: tuple[str, ...] = ("duo", "trio", "room")) -> Show:
    return Show.model_validate(
        {
            "title": "Night", "date": "2026-11-21", "venue": "venue.toml", "kit": ["kit.toml"],
            "set": [{"start": f"{19 + n}:00", "minutes": 30, "act": one} for n, one in enumerate(sets)],
            "act": [{"name": one, "source": [{"name": f"{one} voice", "recipe": "x", "at": [0, 0]}]} for one in acts],
        }
    )  # fmt: skip


def test_an_act_that_no_set_names_is_there_all_evening() -> None:
    assert sets_of(_show("duo", "trio")) == {"duo voice": {0}, "trio voice": {1}, "room voice": set()}


def test_a_set_that_names_no_act_is_played_by_all() -> None:
    assert sets_of(_show("duo", "trio", ())) == {"duo voice": {0, 2}, "trio voice": {1, 2}, "room voice": set()}
    assert sets_of(_show((), ())) == {"duo voice": set(), "trio voice": set(), "room voice": set()}


def test_a_guest_in_the_encore_plays_with_the_band() -> None:
    sets = sets_of(_show("duo", "trio", ("duo", "trio")))
    assert not apart(sets["duo voice"], sets["trio voice"])


@pytest.mark.parametrize("block", range(6))
def test_no_plan_keeps_more_or_changes_less(block: int) -> None:
    for seed in range(20 * block, 20 * block + 20):
        evening = little_evening(seed, inputs=4)
        choice = choice_of(evening.wanted, evening.kit)
        told = goals_of(choice)
        assert tuple(round(factor * told.get(name, 0)) for name, factor in GOALS) == best(evening), seed


@pytest.mark.parametrize("seed", range(900, 906))
def test_no_plan_of_five_inputs_keeps_more_or_changes_less(seed: int) -> None:
    evening = little_evening(seed, inputs=5)
    told = goals_of(choice_of(evening.wanted, evening.kit))
    assert tuple(round(factor * told.get(name, 0)) for name, factor in GOALS) == best(evening)


def test_the_evenings_are_not_all_alike() -> None:
    values = [best(little_evening(seed, inputs=4)) for seed in range(120)]
    assert {value[3] for value in values} >= {0, 1, 2}
    assert {value[4] for value in values} >= {0, 1}


def test_with_room_enough_nothing_changes_and_one_mic_serves_two_singers_at_one_place() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1..M-4")])
    singers = (
        want("first", sets=FIRST),
        want("second", at=(0.4, 0.0, 1.1), sets=SECOND),
        want("far", at=(5.0, 0.0, 1.0), sets=SECOND),
    )
    choice = choice_of(singers, stock)
    assert rows_of(choice)["first"].shared_by == ("second",)
    assert sorted(rows_of(choice)) == ["far", "first"]
    assert goals_of(choice)["changes from act to act"] == 0


def test_short_of_channels_a_mic_of_its_own_is_plugged_over_rather_than_one_carried() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1..M-4")], recorder=[recorder(1)])
    choice = choice_of((want("left", sets=FIRST), want("right", at=(5.0, 0.0, 1.0), sets=SECOND)), stock)
    (guest,) = choice.guests
    assert (guest.wanted.id, guest.channel) == ("right", 1)
    assert guest.unit != rows_of(choice)["left"].unit
    assert goals_of(choice)["changes from act to act"] == 1


def test_short_of_mics_the_one_there_is_is_carried_with_its_stand_and_cable() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1")], stand=[stand("tall boom", "S-1")])
    inputs = (
        want("left", sets=FIRST, stands=("tall boom",)),
        want("right", at=(5.0, 0.0, 1.0), sets=SECOND, stands=("tall boom",)),
    )
    choice = choice_of(inputs, stock)
    (guest,), host = choice.guests, rows_of(choice)["left"]
    assert (guest.unit, guest.stand, guest.cable) == (host.unit, host.stand, host.cable)
    assert goals_of(choice)["mics carried over between acts"] == 1


def test_a_mic_is_not_carried_beyond_its_cable() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1")])
    inputs = (want("left", sets=FIRST), want("right", at=(5.0, 0.0, 1.0), sets=SECOND))
    choice = choice_of(inputs, stock, needed_m={("left", "REC"): 3.0, ("right", "REC"): 9.0})
    assert [one.wanted.id for one in choice.not_kept if not one.shares] == ["right"]


def test_who_is_on_all_evening_shares_with_nobody() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1..M-4")], recorder=[recorder(1)])
    choice = choice_of((want("room", importance="must"), want("singer", sets=SECOND)), stock)
    assert [one.shares for one in choice.not_kept] == [""]


def test_nothing_that_phantom_harms_is_plugged_over_onto_a_line_that_gives_it() -> None:
    stock = kit(mic=[mic("small condenser", "K-1"), mic("ribbon", "R-1")], recorder=[recorder(1)])
    choice = choice_of((want("choir", CONDENSER, sets=FIRST), want("brass", RIBBON, sets=SECOND)), stock)
    assert [one.shares for one in choice.not_kept] == [""]


def test_a_mic_that_does_not_care_goes_onto_a_line_with_phantom() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1"), mic("small condenser", "K-1")], recorder=[recorder(1)])
    inputs = (want("singer", sets=FIRST, importance="must"), want("choir", CONDENSER, sets=SECOND, at=(4.0, 0.0, 1.0)))
    choice = choice_of(inputs, stock)
    assert rows_of(choice)["singer"].phantom
    assert [row.phantom for row in choice.guests] == [True]


def test_the_next_player_plugs_into_the_di_that_stands_there() -> None:
    stock = kit(di=[di("D-1")])
    choice = choice_of((want("keys", DI, sets=FIRST), want("guitar", DI, at=(0.5, 0.0, 1.0), sets=SECOND)), stock)
    assert rows_of(choice)["keys"].shared_by == ("guitar",)
    assert choice.guests == ()


def test_two_singers_of_two_acts_use_one_split_of_the_house() -> None:
    house = HouseBox.model_validate({"name": "House", "at": [0, 0], "lines": 8, "split_outputs": 1})
    choice = choice_of((split("first", sets=FIRST), split("second", sets=SECOND)), kit(), house=(house,))
    assert rows_of(choice)["first"].shared_by == ("second",)


def test_both_sides_of_a_pair_go_to_both_sides_of_another() -> None:
    stock = kit(mic=[mic("small condenser", "K-1..K-4")], recorder=[recorder(2)])
    wanted = (*pair("choir", CONDENSER, sets=FIRST), *pair("piano", CONDENSER, sets=SECOND, at=(5.0, 0.0, 1.0)))
    choice = choice_of(wanted, stock)
    assert {row.wanted.id: row.channel for row in choice.guests} == {"piano-left": 1, "piano-right": 2}


def test_a_band_between_two_halves_of_another_costs_two_changes() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1..M-2")], recorder=[recorder(1)])
    inputs = (want("host", sets=frozenset({0, 2})), want("between", at=(5.0, 0.0, 1.0), sets=SECOND))
    assert goals_of(choice_of(inputs, stock))["changes from act to act"] == 2


def test_three_acts_on_one_line_change_it_twice() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1..M-3")], recorder=[recorder(1)])
    inputs = tuple(want(f"act-{n}", at=(5.0 * n, 0.0, 1.0), sets=sets) for n, sets in enumerate((FIRST, SECOND, THIRD)))
    choice = choice_of(inputs, stock)
    assert len(choice.guests) == 2
    assert goals_of(choice)["changes from act to act"] == 2


def test_a_cure_of_what_is_left_out_lets_the_guests_keep_their_lines() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1..M-4")], recorder=[recorder(1)])
    inputs = (
        want("a", sets=FIRST),
        want("b", sets=SECOND, at=(5.0, 0.0, 1.0)),
        want("c", sets=FIRST, importance="nice"),
    )
    choice = choice_of(inputs, stock, explain=True)
    cures = {one.wanted.id: (one.shares, one.cure) for one in choice.not_kept}
    assert cures["b"] == ("a", "")
    assert cures["c"][0] == ""
    assert "brings it back" in cures["c"][1]


def test_who_talks_between_the_songs_uses_the_singers_line_and_nothing_is_lost_by_it() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1..M-4")])
    singer, talker = (
        replace(one, source=one.source.model_copy(update={"player": "singer"}))
        for one in (want("singer", importance="must"), want("talk", doubles_with="singer"))
    )
    choice = choice_of((singer, talker), stock)
    assert rows_of(choice)["singer"].shared_by == ("talk",)
    apart_by_choice = replace(talker, source=talker.source.model_copy(update={"doubles_with": ""}))
    assert sorted(rows_of(choice_of((singer, apart_by_choice), stock))) == ["singer", "talk"]


def test_who_talks_into_the_singers_microphone_of_the_house_needs_no_second_split() -> None:
    house = HouseBox.model_validate({"name": "House", "at": [0, 0], "lines": 8, "split_outputs": 4})
    singer, talker = (
        replace(one, source=one.source.model_copy(update={"player": "singer"}))
        for one in (split("singer", importance="must"), split("talk", doubles_with="singer"))
    )
    choice = choice_of((singer, talker), kit(), house=(house,))
    assert rows_of(choice)["singer"].shared_by == ("talk",)
