"""The choice, one rule of the trade at a time. Every plan here is looked at by the independent verifier as well."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from plan.little_kit import (
    CONDENSER,
    DI,
    DYNAMIC,
    LINE,
    RIBBON,
    cable,
    choice_of,
    di,
    goals_of,
    kit,
    lead,
    mic,
    pair,
    recorder,
    rows_of,
    split,
    stand,
    want,
)  # fmt: skip

from fieldfare.plan.wanted import Choice
from fieldfare.show.kit import Kit
from fieldfare.show.record import Fact
from fieldfare.show.show import Pin
from fieldfare.show.venue import HouseBox
from fieldfare.units.faults import Fault


def test_a_pair_stands_on_one_stand_where_its_bar_is_wide_enough() -> None:
    near = pair("room", CONDENSER, stands=("tall boom", "straight"))
    near = (near[0], replace(near[1], at=(0.17, 0.0, 1.0)))
    stock = kit(
        mic=[mic("small condenser", "K-1..K-2")],
        stand=[stand("straight", "S-1", bar_m=0.3), stand("tall boom", "T-1..T-2")],
    )
    assert {row.stand for row in choice_of(near, stock).chosen} == {"S-1"}
    wide = (near[0], replace(near[1], at=(0.8, 0.0, 1.0)))
    assert {row.stand for row in choice_of(wide, stock).chosen} == {"T-1", "T-2"}
    short = kit(mic=[mic("small condenser", "K-1..K-2")], stand=[stand("straight", "S-1", bar_m=0.3)])
    assert len(choice_of(near, short).chosen) == 2
    assert choice_of(wide, short).chosen == ()


def test_with_nothing_everything_is_left_out_with_a_reason_and_no_row_is_made_up() -> None:
    choice = choice_of((want("kick"), *pair("room", CONDENSER)), Kit(), explain=True, needed_m={})
    assert choice.chosen == ()
    assert [one.wanted.id for one in choice.not_kept] == ["kick", "room-left", "room-right"]
    assert {one.blocks for one in choice.not_kept} == {"there is no recorder in the kit"}


def test_nothing_wanted_is_nothing_chosen() -> None:
    assert choice_of((), kit()).chosen == ()


def test_must_goes_before_any_number_of_want_and_want_before_nice() -> None:
    wanted = (
        *pair("nice", importance="nice"), want("one", importance="want"), *pair("must", importance="must"),
    )  # fmt: skip
    short = choice_of(wanted, kit(mic=[mic("small dynamic", "M-1..M-9")], recorder=[recorder(2)]))
    assert set(rows_of(short)) == {"must-left", "must-right"}
    longer = choice_of(wanted, kit(mic=[mic("small dynamic", "M-1..M-9")], recorder=[recorder(4)]))
    assert set(rows_of(longer)) == {"must-left", "must-right", "one"}


def test_a_possible_source_counts_a_step_lower() -> None:
    wanted = (want("harmonium", status="possible"), want("fiddle"))
    choice = choice_of(wanted, kit(mic=[mic("small dynamic", "M-1")]))
    assert set(rows_of(choice)) == {"fiddle"}
    assert goals_of(choice)["nice inputs kept"] == 0


def test_fitness_goes_before_owners_and_owners_before_metres() -> None:
    mics = [
        mic("small dynamic", "M-1", item="worse, ours"),
        mic("small dynamic", "M-2", item="better, hired", owner="hired"),
        mic("small dynamic", "M-3", item="better, of the band", owner="band"),
        mic("small dynamic", "M-4", item="better, of the house", owner="house"),
    ]
    suits = {("kick", one["item"]): 90 if one["item"].startswith("better") else 80 for one in mics}
    assert rows_of(choice_of((want("kick"),), kit(mic=mics), fitness=suits))["kick"].unit == "M-3"
    cables = [cable(5, "C-1", owner="hired"), cable(20, "C-2")]
    long_but_ours = choice_of((want("kick"),), kit(mic=mics, cable=cables), fitness=suits)
    assert rows_of(long_but_ours)["kick"].cable == ("C-2",)


def test_an_item_that_is_worth_nothing_to_an_input_is_never_used_for_it() -> None:
    choice = choice_of((want("kick"),), kit(mic=[mic("small dynamic", "M-1")]), fitness={("kick", "small dynamic"): 0})
    assert choice.chosen == ()


def test_a_mic_that_even_the_softest_player_overloads_is_not_used() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1", max_spl_db=120)])
    assert choice_of((want("kick", spl_db=(128.0, 146.0)),), stock).chosen == ()
    assert len(choice_of((want("kick", spl_db=(118.0, 146.0)),), stock).chosen) == 1


def test_faulty_units_and_spares_that_are_kept_back_stay_in_the_bin() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1..M-4", faulty={"M-1": "dead"}, keep_back=1)])
    choice = choice_of(tuple(want(f"i{n}") for n in range(4)), stock)
    assert [row.unit for row in choice.chosen] == ["M-2", "M-3"]


def test_the_band_s_phantom_switches_keep_a_ribbon_away_from_condensers() -> None:
    """Four preamps in two banks: two condensers and a ribbon fit only if the condensers share one bank."""
    wanted = (want("hat", CONDENSER), want("trumpet", RIBBON), want("room", CONDENSER), want("kick", DYNAMIC))
    mics = [mic("small condenser", "M-1, M-2"), mic("ribbon", "M-3"), mic("small dynamic", "M-4")]
    choice = choice_of(wanted, kit(mic=mics, recorder=[recorder(4, bank=2)]))
    rows = rows_of(choice)
    assert len(rows) == 4
    assert {rows["hat"].channel, rows["room"].channel} in ({1, 2}, {3, 4})
    assert not rows["trumpet"].phantom
    assert rows["hat"].phantom


def test_where_banks_do_not_suffice_an_input_goes_rather_than_a_ribbon_gets_phantom() -> None:
    wanted = (want("hat", CONDENSER, importance="must"), want("trumpet", RIBBON), want("kick", DYNAMIC))
    mics = [mic("small condenser", "M-1"), mic("ribbon", "M-3"), mic("small dynamic", "M-4")]
    choice = choice_of(wanted, kit(mic=mics, recorder=[recorder(4, bank=4)]))
    assert set(rows_of(choice)) == {"hat", "kick"}


def test_line_channel_and_track_wear_one_number_in_the_order_of_the_list() -> None:
    wanted = tuple(want(f"i{n}") for n in range(6))
    stock = kit(
        mic=[mic("small dynamic", "M-1..M-9")],
        trunk=[{"item": "trunk", "tags": ["TR"], "lines": 8, "length_m": 20}],
        box=[{"item": "box", "tags": ["B"], "lines": 4, "tail_m": 5}],
    )
    near = {(one.id, tag): 3.0 if tag == "B" or n > 3 else 5.0 for n, one in enumerate(wanted) for tag in ("B", "TR")}
    choice = choice_of(wanted, stock, needed_m=near)
    assert [(row.wanted.id, row.channel, row.trunk_line) for row in choice.chosen] == [
        (f"i{n}", n + 1, n + 1) for n in range(6)
    ]
    assert goals_of(choice)["places off the order of the list"] == 0


def test_both_sides_of_a_pair_take_lines_side_by_side_where_their_channels_have_none() -> None:
    wanted = (want("kick"), *pair("mix", LINE, lead_end="xlr-f"))
    line_lead = {**cable(5, "L-1..L-2"), "item": "line lead", "signal": "line", "to_end": "jack-trs"}
    stock = kit(
        mic=[mic("small dynamic", "M-1")],
        cable=[cable(5, "C-01..C-09"), line_lead],
        trunk=[{"item": "trunk", "tags": ["TR"], "lines": 5, "length_m": 20}],
        recorder=[recorder(4, lines=2)],
    )
    choice = choice_of(wanted, stock, Pin(input="kick", line=2))
    assert [(row.wanted.id, row.channel, row.trunk_line) for row in choice.chosen] == [
        ("kick", 2, 2),
        ("mix-left", 5, 3),
        ("mix-right", 6, 4),
    ]


def test_a_stereo_pair_stays_together_and_side_by_side() -> None:
    wanted = (want("a"), *pair("oh", CONDENSER, importance="must"), want("b"))
    mics = [mic("small dynamic", "M-1..M-4"), mic("small condenser", "K-1")]
    assert set(rows_of(choice_of(wanted, kit(mic=mics)))) == {"a", "b"}
    two = choice_of(wanted, kit(mic=[mics[0], mic("small condenser", "K-1, K-2")]))
    assert [row.wanted.id for row in two.chosen] == ["a", "oh-left", "oh-right", "b"]
    assert goals_of(two)["stereo pairs side by side"] == 1


@pytest.mark.parametrize(("matched", "units"), [("must", set()), ("rather", {"K-1", "K-2"})])
def test_a_pair_that_must_be_matched_is_left_out_without_matched_units(matched: str, units: set[str]) -> None:
    stock = kit(mic=[mic("small condenser", "K-1, K-2")])
    choice = choice_of(pair("room", CONDENSER, matched=matched), stock)
    assert {row.unit for row in choice.chosen} == units


def test_a_matched_pair_is_taken_whole_and_singles_take_other_units() -> None:
    stock = kit(mic=[mic("small condenser", "K-1..K-3", pairs=[("K-2", "K-3")])])
    rows = rows_of(choice_of((want("hat", CONDENSER), *pair("room", CONDENSER, matched="rather")), stock))
    assert (rows["hat"].unit, rows["room-left"].unit, rows["room-right"].unit) == ("K-1", "K-2", "K-3")


def test_a_pair_that_need_only_be_alike_leaves_the_matched_units_to_one_that_would_rather_have_them() -> None:
    matched = mic("small condenser", "K-1, K-2", item="matched", pairs=[("K-1", "K-2")])
    stock = kit(mic=[matched, mic("small condenser", "K-3, K-4", item="other")])
    two = (*pair("room", CONDENSER, matched="alike"), *pair("oh", CONDENSER, matched="rather"))
    rows = rows_of(choice_of(two, stock))
    assert {rows["oh-left"].unit, rows["oh-right"].unit} == {"K-1", "K-2"}
    assert {rows["room-left"].unit, rows["room-right"].unit} == {"K-3", "K-4"}


def test_a_pair_of_which_one_unit_is_faulty_is_no_pair() -> None:
    stock = kit(mic=[mic("small condenser", "K-1..K-3", pairs=[("K-2", "K-3")], faulty={"K-3": "hums"})])
    assert choice_of(pair("room", CONDENSER, matched="must"), stock).chosen == ()


def test_a_stand_must_be_of_a_kind_that_suits_and_reach_the_height() -> None:
    overhead = want("oh", at=(0.0, 0.0, 2.2), stands=("tall boom", "clamp"))
    mics = [mic("small dynamic", "M-1")]
    short = [stand("short boom", "T-1", 0.2, 3.0), stand("tall boom", "T-2", 0.9, 2.0)]
    assert choice_of((overhead,), kit(mic=mics, stand=short)).chosen == ()
    rows = rows_of(choice_of((overhead,), kit(mic=mics, stand=[*short, stand("clamp", "T-3", 0.2, 2.5)])))
    assert rows["oh"].stand == "T-3"


def test_what_clips_or_lies_needs_no_stand() -> None:
    one = want("oh", CONDENSER, stands=("tall boom",))
    rows = rows_of(choice_of((one,), kit(mic=[mic("small condenser", "K-1", mount="clip")])))
    assert rows["oh"].stand == ""


def test_two_cables_are_joined_only_where_one_does_not_reach_and_a_join_may_lie() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1")], cable=[cable(3, "C-1, C-2"), cable(5, "C-3")])
    far = {("kick", "REC"): 7.5}
    assert rows_of(choice_of((want("kick"),), stock, needed_m=far))["kick"].cable == ("C-1", "C-3")
    barred = choice_of((want("kick"),), stock, needed_m=far, joins_allowed={("kick", "REC"): False})
    assert barred.chosen == ()
    assert choice_of((want("kick"),), stock, needed_m={("kick", "REC"): 8.5}).chosen == ()


def test_a_longer_cable_is_rather_used_than_two_joined() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1")], cable=[cable(3, "C-1, C-2"), cable(20, "C-3")])
    assert rows_of(choice_of((want("kick"),), stock, needed_m={("kick", "REC"): 5.5}))["kick"].cable == ("C-3",)


def test_a_di_takes_a_lead_from_the_instrument_unless_the_player_brings_it() -> None:
    stock = kit(di=[di("D-1")])
    assert rows_of(choice_of((want("bass", DI),), stock))["bass"].lead == ("I-01",)
    assert rows_of(choice_of((want("bass", DI, own_lead=True),), stock))["bass"].lead == ()
    no_lead = kit(di=[di("D-1")], cable=[cable(5, "C-1")])
    assert choice_of((want("bass", DI),), no_lead).chosen == ()


def test_a_lead_must_fit_the_instrument_and_reach() -> None:
    far = want("keys", DI, lead_end="jack-trs", at=(0.0, 0.0, 0.0))
    for one, kept in (
        (lead("I-1"), 0),
        (lead("I-1", from_end="jack-trs"), 1),
        (lead("I-1", from_end="jack-trs", length_m=1), 0),
    ):
        assert len(choice_of((far,), kit(di=[di("D-1")], cable=[cable(5, "C-1"), one])).chosen) == kept


def test_a_di_of_two_channels_serves_two_neighbours_but_not_two_ends_of_the_stage() -> None:
    stock = kit(di=[di("D-1", channels=2)])
    near = rows_of(choice_of((want("left", DI), want("right", DI, at=(2.0, 0.0, 1.0))), stock))
    assert {(row.unit, row.di_channel) for row in near.values()} == {("D-1", 1), ("D-1", 2)}
    assert len(choice_of((want("left", DI), want("right", DI, at=(4.0, 0.0, 1.0))), stock).chosen) == 1


def test_a_di_that_the_signal_would_overload_or_that_loads_the_pickup_is_not_used() -> None:
    hot = want("keys", DI, signal_dbu=12.0)
    assert choice_of((hot,), kit(di=[di("D-1", max_input_dbu=10)])).chosen == ()
    piezo = want("bass", DI.__class__(taking="di", least_input_ohm=1e6))
    assert choice_of((piezo,), kit(di=[di("D-1")])).chosen == ()


def test_line_level_goes_into_line_inputs_and_never_into_a_preamp() -> None:
    wanted = (want("kick"), *pair("mix", LINE, lead_end="xlr-f"))
    mics = [mic("small dynamic", "M-1")]
    rows = rows_of(choice_of(wanted, kit(mic=mics, recorder=[recorder(4, lines=2)])))
    assert [(rows[name].channel, rows[name].preamp_channel) for name in ("mix-left", "mix-right")] == [(5, 0), (6, 0)]
    assert set(rows_of(choice_of(wanted, kit(mic=mics, recorder=[recorder(4, lines=1)])))) == {"kick"}


def test_a_preamp_outside_the_recorder_takes_line_inputs_when_the_recorder_s_own_are_full() -> None:
    wanted = tuple(want(f"i{n}") for n in range(4))
    outboard = [{"item": "two-channel preamp", "tags": ["P-1"], "channels": 2}]
    stock = kit(mic=[mic("small dynamic", "M-1..M-9")], recorder=[recorder(2, lines=2)], preamp=outboard)
    rows = choice_of(wanted, stock).chosen
    assert [(row.preamp, row.preamp_channel, row.channel) for row in rows] == [
        ("REC", 1, 1), ("REC", 2, 2), ("P-1", 1, 3), ("P-1", 2, 4),
    ]  # fmt: skip
    few = choice_of(wanted[:2], stock).chosen
    assert {row.preamp for row in few} == {"REC"}


def test_a_preamp_with_one_switch_for_all_is_not_shared_by_ribbon_and_condenser() -> None:
    wanted = (want("a", CONDENSER), want("b", RIBBON))
    outboard = [{"item": "preamp", "tags": ["P-1"], "channels": 2, "phantom": "all at once"}]
    mics = [mic("small condenser", "M-1"), mic("ribbon", "M-2")]
    stock = kit(mic=mics, recorder=[recorder(0, lines=2)], preamp=outboard)
    assert len(choice_of(wanted, stock).chosen) == 1


def test_a_house_mic_is_split_by_our_transformer_with_a_lead_back_into_the_house_box_and_no_phantom_of_ours() -> None:
    stock = kit(splitter=[{"item": "transformer", "tags": ["S-1"], "isolation": "transformer"}])
    row = rows_of(choice_of((split("vocal"),), stock))["vocal"]
    assert (row.taking, row.splitter, len(row.lead), len(row.cable), row.phantom) == ("split", "S-1", 1, 1, False)


def test_a_transformer_goes_before_a_house_split_that_nobody_knows_and_that_before_a_plain_y() -> None:
    splitters = [
        {"item": "plain Y", "tags": ["Y-1"], "isolation": "none"},
        {"item": "transformer", "tags": ["S-1"], "isolation": "transformer"},
    ]
    unknown = HouseBox(name="House", at=(0.0, 0.0), lines=8, split_outputs=1)
    wanted = (split("a", importance="must"), split("b", importance="must"), split("c", importance="must"))
    for number, taken in ((1, {"S-1"}), (2, {"S-1", "House"}), (3, {"S-1", "House", "Y-1"})):
        choice = choice_of(wanted[:number], kit(splitter=splitters), house=(unknown,))
        assert {row.splitter or row.house_split for row in choice.chosen} == taken


def test_a_house_split_that_is_known_to_be_isolated_saves_our_splitter_and_its_lead() -> None:
    sure = HouseBox(
        name="House", at=(0.0, 0.0), lines=8, split_outputs=1, splits_isolated=Fact[bool](value=True, status="expected")
    )
    stock = kit(splitter=[{"item": "transformer", "tags": ["S-1"], "isolation": "transformer"}])
    row = rows_of(choice_of((split("vocal"),), stock, house=(sure,)))["vocal"]
    assert (row.house_split, row.splitter, row.lead) == ("House", "", ())


def test_sockets_of_a_box_and_lines_of_the_trunk_are_not_used_twice() -> None:
    wanted = tuple(want(f"i{n}") for n in range(8))
    stock = kit(
        mic=[mic("small dynamic", "M-1..M-9")],
        box=[{"item": "box", "tags": ["B-1", "B-2"], "lines": 2, "tail_m": 5}],
        trunk=[{"item": "trunk", "tags": ["TR"], "lines": 5, "length_m": 20}],
    )
    choice = choice_of(wanted, stock)
    assert len(choice.chosen) == 5
    boxes_only = {(one.id, tag): 3.0 for one in wanted for tag in ("B-1", "B-2")}
    assert len(choice_of(wanted, stock, needed_m=boxes_only).chosen) == 4


def test_dead_sockets_lines_and_channels_are_never_used() -> None:
    """The verifier knows of them; here, that what is left is used to the last place."""
    wanted = tuple(want(f"i{n}") for n in range(6))
    stock = kit(
        mic=[mic("small dynamic", "M-1..M-9")],
        trunk=[{"item": "trunk", "tags": ["TR"], "lines": 6, "length_m": 20, "dead": {"TR": [1, 4]}}],
        box=[{"item": "box", "tags": ["B"], "lines": 4, "tail_m": 5, "dead": {"B": [2]}}],
        recorder=[recorder(8, bank=4, dead={"REC": [1, 6]})],
    )
    lengths = {(one.id, tag): 3.0 for one in wanted for tag in ("B", "TR")}
    rows = choice_of(wanted, stock, needed_m=lengths).chosen
    assert sorted(row.trunk_line for row in rows) == [2, 3, 5, 6]
    assert [row.channel for row in rows] == [2, 3, 4, 5]
    assert {row.socket for row in rows if row.box == "B"} <= {1, 3, 4}


def test_a_bank_with_a_dead_channel_keeps_one_phantom_switch() -> None:
    wanted = (want("hat", CONDENSER), want("trumpet", RIBBON), want("room", CONDENSER), want("kick", DYNAMIC))
    mics = [mic("small condenser", "M-1, M-2"), mic("ribbon", "M-3"), mic("small dynamic", "M-4")]
    whole = choice_of(wanted, kit(mic=mics, recorder=[recorder(6, bank=3, dead={"REC": [2, 5]})]))
    assert {row.channel for row in whole.chosen} == {1, 3, 4, 6}
    assert not rows_of(whole)["trumpet"].phantom
    one_bank = choice_of(wanted[:2], kit(mic=mics, recorder=[recorder(3, bank=3, dead={"REC": [2]})]))
    assert len(one_bank.chosen) == 1, "the dead channel does not part the bank in two"


def test_a_preamp_outside_the_recorder_is_used_round_its_dead_channel() -> None:
    preamp = {"item": "preamp", "tags": ["P-1", "P-2"], "channels": 2, "dead": {"P-1": [1], "P-2": [1, 2]}}
    wanted = tuple(want(f"i{n}") for n in range(4))
    stock = kit(
        mic=[mic("small dynamic", "M-1..M-9")], preamp=[preamp], recorder=[recorder(1, lines=4, dead={"REC": [2]})]
    )
    spots = [(row.preamp, row.preamp_channel, row.channel) for row in choice_of(wanted, stock).chosen]
    assert spots == [("REC", 1, 1), ("P-1", 2, 3)]


def test_a_pin_on_a_dead_line_or_channel_is_told() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1")], recorder=[recorder(4, dead={"REC": [3]})])
    with pytest.raises(Fault, match="I0 is on channel 3"):
        choice_of((want("i0"),), stock, Pin(input="i0", channel=3))


@pytest.mark.parametrize("seed", range(30))
def test_dead_places_cost_no_more_than_places_that_are_not_there(seed: int) -> None:
    """As much is kept as with a smaller box, trunk and recorder, wherever the dead places lie."""
    draw = random.Random(seed)
    kinds = [(DYNAMIC, "must"), (CONDENSER, "want"), (RIBBON, "nice")]
    wanted = tuple(want(f"i{n}", kind, importance=rank) for n in range(5) for kind, rank in [draw.choice(kinds)])
    mics = [mic("small dynamic", "M-1..M-5"), mic("small condenser", "K-1..K-5"), mic("ribbon", "B-1..B-5")]
    gone = tuple(sorted(draw.sample(range(1, 7), draw.randint(1, 4))))
    with_dead = kit(mic=mics, recorder=[recorder(6, dead={"REC": gone})])
    without = kit(mic=mics, recorder=[recorder(6 - len(gone))])
    told = [goals_of(choice_of(wanted, one)) for one in (with_dead, without)]
    assert [told[0][f"{rank} inputs kept"] for rank in ("must", "want", "nice")] == [
        told[1][f"{rank} inputs kept"] for rank in ("must", "want", "nice")
    ]


def test_two_sources_of_one_player_share_a_row_when_channels_are_short_and_not_otherwise() -> None:
    wanted = (want("guitar", DI), want("bouzouki", DI, doubles_with="guitar"), want("fiddle"))
    stock = {"di": [di("D-1, D-2")], "mic": [mic("small dynamic", "M-1")]}
    short = choice_of(wanted, kit(recorder=[recorder(2)], **stock), explain=True)
    assert rows_of(short)["guitar"].shared_by == ("bouzouki",)
    (guest,) = short.not_kept
    assert guest.shares == "guitar"
    assert guest.blocks == "shares line 1 with Guitar; never both at once"
    assert goals_of(short)["want inputs kept"] == 3
    assert len(choice_of(wanted, kit(recorder=[recorder(3)], **stock)).chosen) == 3


def test_a_clip_mic_is_never_shared_for_it_stays_on_its_instrument() -> None:
    wanted = (want("clarinet", CONDENSER), want("sax", CONDENSER, doubles_with="clarinet"))
    for mount, kept in (("clip", 1), ("stand", 2)):
        choice = choice_of(wanted, kit(mic=[mic("small condenser", "K-1", mount=mount)]))
        assert goals_of(choice)["want inputs kept"] == kept


def test_pins_are_kept_whatever_they_cost() -> None:
    wanted = (want("kick", DYNAMIC, CONDENSER), want("vocal", DYNAMIC, CONDENSER), want("room", CONDENSER))
    stock = kit(mic=[mic("small dynamic", "M-1..M-3"), mic("small condenser", "K-1, K-2")])
    rows = rows_of(
        choice_of(wanted, stock, Pin(input="vocal", use="K-2", channel=1), Pin(input="kick", never=("M-1",)))
    )
    assert (rows["vocal"].unit, rows["vocal"].channel) == ("K-2", 1)
    assert rows["kick"].unit == "M-2"
    assert rows["room"].unit == "K-1"


def test_a_pinned_line_is_line_channel_and_number() -> None:
    stock = kit(
        mic=[mic("small dynamic", "M-1..M-3")],
        trunk=[{"item": "trunk", "tags": ["TR"], "lines": 8, "length_m": 20}],
    )
    rows = rows_of(choice_of((want("kick"), want("snare")), stock, Pin(input="kick", line=5)))
    assert (rows["kick"].trunk_line, rows["kick"].channel, rows["kick"].socket) == (5, 5, 5)


def test_a_pinned_unit_is_used_even_where_no_recipe_would_take_it() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1"), mic("ribbon", "R-1")])
    rows = rows_of(choice_of((want("kick", DYNAMIC),), stock, Pin(input="kick", use="R-1")))
    assert (rows["kick"].unit, rows["kick"].accept.why) == ("R-1", "chosen by hand")


def test_what_is_pinned_out_stays_out_and_says_so() -> None:
    choice = choice_of(
        (want("hat"),), kit(mic=[mic("small dynamic", "M-1")]), Pin(input="hat", keep=False), explain=True
    )
    assert [(one.blocks, one.cure) for one in choice.not_kept] == [("left out by hand", "take the pin out")]


@pytest.mark.parametrize(
    ("pins", "says"),
    [
        (
            (Pin(input="kick", use="M-1"), Pin(input="snare", use="M-1"), Pin(input="hat", channel=3)),
            r"pins of the show: Kick uses M-1 and Snare uses M-1: that cannot all be done; take one of these pins out",
        ),
        (
            (Pin(input="kick", channel=1), Pin(input="hat", channel=1)),
            r"Kick is on channel 1 and Hat is on channel 1: that cannot all",
        ),
        ((Pin(input="kick", channel=99),), r"Kick is on channel 99: that cannot be done; take the pin out"),
        (
            (Pin(input="kick", channel=1, use="R-1"), Pin(input="hat", channel=2, use="K-1")),
            r"Kick uses R-1, Kick is on channel 1, Hat uses K-1 and Hat is on channel 2: that cannot all be done",
        ),
        (
            (Pin(input="snare", use="K-1", keep=True, never=("K-1",)),),
            r"Snare uses K-1 and Snare never uses K-1:",
        ),
    ],
)
def test_pins_that_cannot_hold_together_are_named_and_no_others(pins: tuple[Pin, ...], says: str) -> None:
    mics = [mic("small dynamic", "M-1..M-3"), mic("small condenser", "K-1"), mic("ribbon", "R-1")]
    stock = kit(mic=mics, recorder=[recorder(4, bank=2)])
    with pytest.raises(Fault, match=says):
        choice_of((want("kick"), want("snare"), want("hat")), stock, *pins)


@pytest.mark.parametrize(
    ("pin", "says"),
    [
        (Pin(input="kik", keep=True), r"pin of kik: there is no input 'kik'; did you mean 'kick'\?"),
        (Pin(input="kick", use="M-1x"), r"pin of kick: there is no unit 'M-1x'; did you mean 'M-1'\?"),
        (Pin(input="kick", use="M-2"), r"pin of kick: M-2 is marked faulty: dead; pin another unit"),
    ],
)
def test_a_pin_that_names_nothing_usable_is_told(pin: Pin, says: str) -> None:
    with pytest.raises(Fault, match=says):
        choice_of((want("kick"),), kit(mic=[mic("small dynamic", "M-1, M-2", faulty={"M-2": "dead"})]), pin)


def test_two_pins_of_one_input_are_told() -> None:
    with pytest.raises(Fault, match="pin of kick: there are two pins of it; write everything"):
        choice_of((want("kick"),), kit(), Pin(input="kick", keep=True), Pin(input="kick", channel=1))


def test_the_largest_recorder_is_used_and_a_faulty_one_never() -> None:
    small, large = recorder(2), recorder(8, item="large", tags=["BIG"])
    mics = [mic("small dynamic", "M-1..M-9")]
    wanted = tuple(want(f"i{n}") for n in range(4))
    needs = {(one.id, tag): 3.0 for one in wanted for tag in ("REC", "BIG")}
    assert len(choice_of(wanted, kit(mic=mics, recorder=[small, large]), needed_m=needs).chosen) == 4
    broken = kit(mic=mics, recorder=[small, {**large, "faulty": {"BIG": "dead"}}])
    assert len(choice_of(wanted, broken, needed_m=needs).chosen) == 2


def _mixed(order: random.Random | None = None) -> Choice:
    wanted = (
        want("kick"),
        want("hat", CONDENSER),
        *pair("oh", CONDENSER, matched="rather"),
        want("bass", DI),
        split("vocal"),
    )
    kinds = {
        "mic": [mic("small dynamic", "M-1..M-4"), mic("small condenser", "K-1..K-3", pairs=[("K-2", "K-3")]),
                mic("small dynamic", "N-1", item="another dynamic")],
        "di": [di("D-1"), di("D-2", item="other DI")],
        "splitter": [{"item": "transformer", "tags": ["S-1"], "isolation": "transformer"}],
        "cable": [cable(3, "C-1..C-4"), cable(5, "C-5..C-9"), cable(10, "C-10..C-12"), lead("I-1, I-2")],
    }  # fmt: skip
    if order:
        for entries in kinds.values():
            order.shuffle(entries)
    return choice_of(wanted, kit(**kinds), explain=True)


def test_the_same_documents_give_the_same_choice() -> None:
    assert repr(_mixed()) == repr(_mixed())


@pytest.mark.parametrize("seed", range(5))
def test_the_order_of_the_kit_s_rows_changes_nothing(seed: int) -> None:
    assert repr(_mixed(random.Random(seed))) == repr(_mixed())
