"""What to do when something dies, on the demo: in words, through the verifier, and on the night."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path

import pytest
from plan.whatif.test_fewest import OnTheNight

from fieldfare.plan.choice.solver import Aim, Model, Row, Solution, solve_in_order
from fieldfare.plan.make import Documents, make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.plan.whatif import fewest
from fieldfare.plan.whatif.dead import Dead, dead_of
from fieldfare.plan.whatif.outcome import again, choice_of, outcome_of
from fieldfare.plan.whatif.outside import outside_failures
from fieldfare.plan.whatif.replan import replan
from fieldfare.plan.whatif.single import grouped, singles
from fieldfare.plan.whatif.standing import Standing, at_venue, standing_of
from fieldfare.plan.whatif.whatif import what_if
from fieldfare.show.plan import Goal, Plan
from fieldfare.show.show import Show
from fieldfare.show.toml import read_show
from fieldfare.show.whatif import WhatIf
from fieldfare.units.faults import Fault, NotDone

READ = read_show(Path(str(files("fieldfare.show") / "demo")))
OF = Documents(READ.show, READ.venue, READ.kit, own_recipes())


@cache
def _plan() -> Plan:
    return make_plan(READ.show, READ.venue, READ.kit, READ.digest, own_recipes(), explain=False)


@cache
def _standing() -> Standing:
    return standing_of(OF, _plan())


def _dead(*words: str) -> Dead:
    return dead_of(words, READ.kit, _plan())


def _row(words: str) -> str:
    """The unit that an input uses."""
    return next(row.unit.tag for row in _plan().input if row.id == words and row.unit)


def test_every_single_failure_is_listed_once() -> None:
    words = [dead.words() for _, _, dead in singles(_standing())]
    assert len(set(words)) == len(words)
    used = {tag for row in _plan().input for tag in (row.box, *(c.tag for c in row.cable), *(c.tag for c in row.lead))}
    used |= {unit.tag for row in _plan().input for unit in (row.unit, row.stand, row.splitter) if unit}
    used |= {row.preamp for row in _plan().input}
    assert used == {tag for word in words for tag in word if re.fullmatch(r"[A-Z]+-\d+", tag)}
    lines = {f"line {row.trunk_line}" for row in _plan().input if row.trunk_line}
    assert lines | {f"channel {row.channel}" for row in _plan().input} <= {tag for word in words for tag in word}


@pytest.mark.parametrize(
    "words",
    [
        ("line 5",), ("channel 2",), ("channel 17",), ("P-1",), ("B-01",), ("B-01 socket 2",), ("TR-1",), ("S-01",),
        ("M-10", "C-18"), ("D-03", "line 1", "channel 9"), ("REC-1",), ("P-1 channel 2",),
    ],
)  # fmt: skip
def test_whatever_dies_of_the_demo_the_rest_can_be_rigged(words: tuple[str, ...]) -> None:
    dead, standing = _dead(*words), _standing()
    found = again(standing, dead)
    choice = choice_of(found)
    kit = at_venue(READ.kit, _plan())
    kinds = {
        kind: tuple(
            one.model_copy(update={"faulty": one.faulty | dict.fromkeys(set(one.tags) & dead.tags, "dead")})
            for one in getattr(kit, kind)
        )
        for kind in ("mic", "di", "splitter", "stand", "cable", "box", "preamp")
    }
    gone = "TR-1" in dead.tags
    kit = kit.model_copy(update=kinds | ({"trunk": ()} if gone else {}))
    bare: Show = READ.show.model_copy(update={"pin": ()})
    wanted = standing.laid.all_wanted
    judge = OnTheNight(choice, wanted, kit, standing.needed_m, bare, READ.venue, standing.joins)
    assert judge.faults() == []
    used = {tag for row in choice.chosen for tag in (row.unit, row.stand, row.splitter, *row.lead, *row.cable, row.box)}
    assert not dead.tags & (used | {row.preamp for row in choice.chosen})
    assert not dead.lines & {row.trunk_line for row in choice.chosen}
    assert not dead.channels & {row.channel for row in choice.chosen}
    assert not dead.spots & {(row.preamp, row.preamp_channel) for row in choice.chosen}
    assert not dead.sockets & {(row.box, row.socket) for row in choice.chosen}
    assert all(goal.proven for goal in found.solved.goals)


def test_a_dead_mic_is_told_so_that_it_can_be_followed_in_the_dark() -> None:
    snare = _row("snare-top")
    outcome = outcome_of(_standing(), _dead(snare))
    assert outcome.serves == ("Snare top",)
    assert (outcome.changes, outcome.lost) == (1, ())
    (move,) = outcome.move
    assert re.fullmatch(rf"take M-\d\d \(.+\) instead of {snare}; .*same stand; same line", move.says), move.says


def test_what_is_not_packed_is_not_used_and_what_was_kept_back_is() -> None:
    packed = {tag for line in _plan().pack for tag in line.tags}
    left = {tag for thing in READ.kit.mic for tag in thing.good_tags} - packed
    assert left, "the demo leaves mics at home"
    there = {tag for thing in at_venue(READ.kit, _plan()).mic for tag in thing.tags}
    assert not left & there
    kept = tuple(one.model_copy(update={"keep_back": len(one.tags)}) for one in READ.kit.stand)
    assert all(one.keep_back == 0 for one in at_venue(READ.kit.model_copy(update={"stand": kept}), _plan()).stand)


def test_on_the_night_a_swap_is_saved_so_that_it_stays() -> None:
    snare = _row("snare-top")
    made = replan(OF, _plan(), [snare])
    assert made.proven
    assert made.changes == 1
    before = {row.id: (row.unit, row.stand, row.cable, row.box, row.socket, row.number) for row in _plan().input}
    after = {row.id: (row.unit, row.stand, row.cable, row.box, row.socket, row.number) for row in made.plan.input}
    assert {name for name in before if before[name] != after[name]} == {"snare-top"}
    later = make_plan(made.show, READ.venue, made.kit, "", own_recipes(), explain=False)
    units = {row.id: row.unit for row in made.plan.input}
    assert {row.id: row.unit for row in later.input if row.id in units} == units
    assert any(snare in one.faulty for one in made.kit.mic)


def test_dead_places_stay_dead_in_the_documents_and_in_every_later_plan() -> None:
    words = ("line 5", "channel 2", "B-01 socket 2", "P-1 channel 1")
    made = replan(OF, _plan(), words)
    (box,), (trunk,) = [one for one in made.kit.box if one.dead], [one for one in made.kit.trunk if one.dead]
    assert box.dead == {"B-01": (2,)}
    assert set(trunk.dead.values()) == {(5,)}
    assert [one.dead for one in (*made.kit.recorder, *made.kit.preamp)] == [{"REC-1": (2,)}, {"P-1": (1,)}]
    later = make_plan(made.show, READ.venue, made.kit, "", own_recipes(), explain=False)
    for plan in (made.plan, later):
        for row in plan.input:
            assert (row.trunk_line, row.channel) not in ((5, row.channel), (row.trunk_line, 2))
            assert (row.box, row.socket) != ("B-01", 2)
            assert (row.preamp, row.preamp_channel) != ("P-1", 1)
    again = replan(replace(OF, show=made.show, kit=made.kit), later, [*words, "channel 4"])
    assert not {2, 4} & {row.channel for row in again.plan.input}
    assert len(again.plan.input) >= len(made.plan.input) - 1, "what is dead already is not counted twice"


def _out_of_time(monkeypatch: pytest.MonkeyPatch, standing: Standing) -> None:
    """Let the whole program find nothing within its minute, as on a busy laptop it may."""

    def slow(model: Model, aims: Sequence[Aim]) -> tuple[Solution, tuple[Goal, ...], list[Row]] | None:
        if len(model.least) == len(standing.program.model.least):
            raise NotDone("no plan was found in a minute", "the choice", "pin some inputs by hand")
        return solve_in_order(model, aims)

    monkeypatch.setattr(fewest, "solve_in_order", slow)


def test_where_time_runs_out_who_lost_nothing_stays_and_nothing_is_called_proven(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    standing = _standing()
    _out_of_time(monkeypatch, standing)
    outcome = outcome_of(standing, _dead("channel 2"))
    assert {one.label for one in outcome.lost} == {"Snare top"} or outcome.move
    assert not any(goal.proven for goal in outcome.goal)


def test_where_time_runs_out_who_comes_after_all_takes_what_is_free(monkeypatch: pytest.MonkeyPatch) -> None:
    comes = next(one.source for one in _plan().left_out if not one.shares)
    standing = standing_of(OF, _plan(), come=comes)
    _out_of_time(monkeypatch, standing)
    outcome = outcome_of(standing, Dead())
    theirs = {standing.case.inputs[number].wanted.id for number in standing.come}
    assert theirs
    told = {one.input for one in outcome.lost} | {one.input for one in outcome.move}
    assert told <= theirs | {""}
    assert not any(goal.proven for goal in outcome.goal)


def test_a_channel_that_dies_leaves_the_others_where_they_are() -> None:
    made = replan(OF, _plan(), ["channel 2"])
    before = {row.id: row.channel for row in _plan().input}
    moved = {row.id for row in made.plan.input if row.channel != before[row.id]}
    assert len(moved) + len(made.lost) <= 2
    assert 2 not in {row.channel for row in made.plan.input}
    assert {one.importance for one in made.lost} <= {"want", "nice"}, "a must is saved, whatever moves"


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("M-99", r"nothing is called 'M-99'"),
        ("line 99", r"'line 99' is no line of a trunk; there are 24"),
        ("channel 0", r"'channel 0' is no channel of the recorder; there are 20"),
        ("B-01 socket 7", r"'B-01 socket 7' is no socket of B-01; there are 6"),
        ("", r"nothing is called ''"),
    ],
)
def test_what_is_not_there_cannot_die(word: str, says: str) -> None:
    with pytest.raises(Fault, match=says.replace("; ", r".*")):
        _dead(word)


def test_what_is_dead_reads_back() -> None:
    dead = _dead("m-07", "LINE 5", "channel 3", "b-01 socket 2", "P-1 channel 1")
    assert _dead(*dead.words()) == dead


def test_power_and_media_are_read_off_the_plan() -> None:
    told = {" ".join(one.dead): one for _, _, one in outside_failures(OF, _plan())}
    battery = _plan().power.battery
    assert battery is not None
    circuit = next(one for words, one in told.items() if words.startswith("circuit "))
    assert circuit.minutes == battery
    assert f"about {battery.value:.0f} min" in circuit.note
    assert "put K-02 in" in told["K-01"].note
    assert told["K-01"].stops
    bare = _plan().model_copy(update={"pack": tuple(one for one in _plan().pack if "E-01" not in one.tags)})
    circuit = next(one for _, _, one in outside_failures(OF, bare) if one.dead[0].startswith("circuit "))
    assert circuit.stops, "without the battery the recording stops"
    one_card = tuple(one.model_copy(update={"tags": ("K-01",)}) if "K-01" in one.tags else one for one in _plan().pack)
    told = {
        " ".join(one.dead): one for _, _, one in outside_failures(OF, _plan().model_copy(update={"pack": one_card}))
    }
    assert "K-01" in told


def test_failures_that_are_cured_alike_stand_together_and_the_worst_first() -> None:
    standing = _standing()
    picked = [
        (kind, what, outcome_of(standing, dead)) for kind, what, dead in singles(standing) if kind in ("mic", "line")
    ]
    failures = grouped(picked)
    assert sum(len(one.outcome) for one in failures) == len(picked)
    assert len(failures) < len(picked) / 2
    assert [one.harm for one in failures] == sorted((one.harm for one in failures), reverse=True)


def test_nothing_planned_is_nothing_to_fail() -> None:
    empty = READ.show.model_copy(update={"act": (), "pin": ()})
    plan = make_plan(empty, READ.venue, READ.kit, "", own_recipes(), explain=False)
    found = what_if(Documents(empty, READ.venue, READ.kit, own_recipes()), plan)
    assert isinstance(found, WhatIf)
    assert not found.single_points


@pytest.mark.parametrize(
    ("spare", "stops", "lost"),
    [(False, False, True), (True, True, False)],
)
def test_what_the_recorder_leans_on_dies_with_it_or_is_replaced(spare: bool, stops: bool, lost: bool) -> None:
    sundry = tuple(
        one.model_copy(update={"tags": ("X-01", "X-99")}) if "X-01" in one.tags and spare else one
        for one in READ.kit.sundry
    )
    recorder = tuple(one.model_copy(update={"needs": ("X-01",)}) for one in READ.kit.recorder)
    kit = READ.kit.model_copy(update={"recorder": recorder, "sundry": sundry})
    duo = {"act": tuple(act.model_copy(update={"source": act.source[3:4]}) for act in READ.show.act)}
    show = READ.show.model_copy(update=duo)
    plan = make_plan(show, READ.venue, kit, "", own_recipes(), explain=False)
    found = what_if(Documents(show, READ.venue, kit, own_recipes()), plan)
    outcome = next(one for failure in found.failure for one in failure.outcome if one.dead == ("X-01",))
    assert outcome.stops is stops
    assert bool(outcome.lost) is lost


def test_what_the_recorder_needs_must_be_there() -> None:
    recorder = tuple(one.model_copy(update={"needs": ("X-77",)}) for one in READ.kit.recorder)
    kit = READ.kit.model_copy(update={"recorder": recorder})
    with pytest.raises(Fault, match=r"kit, recorder REC-1, needs: there is no unit 'X-77'"):
        what_if(Documents(READ.show, READ.venue, kit, own_recipes()), _plan())


def test_who_waits_is_told_how_far_it_is_and_can_end_it_between_two_failures() -> None:
    told: list[tuple[str, float]] = []

    def tell(what: str, share: float) -> None:
        told.append((what, share))
        if len(told) == 3:
            raise InterruptedError("stopped by hand")

    with pytest.raises(InterruptedError, match="stopped by hand"):
        what_if(OF, _plan(), tell)
    assert all(what for what, _ in told)
    assert [share for _, share in told] == sorted({share for _, share in told})
    assert told[0][1] == 0.0
    assert told[-1][1] < 1.0
