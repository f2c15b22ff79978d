"""The changeovers of the example of three acts: what is moved, what is told, and whether there is time."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from fieldfare.plan.acts import in_set, sets_of
from fieldfare.plan.changeovers import changeovers
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.plan import Changeover, Plan
from fieldfare.show.show import Show
from fieldfare.show.toml import ShowFolder, read_show

THREE_ACTS = Path(__file__).parents[2] / "examples" / "three-acts"


@cache
def _made() -> tuple[ShowFolder, Plan]:
    read = read_show(THREE_ACTS)
    return read, make_plan(read.show, read.venue, read.kit, read.digest, own_recipes(), explain=False)


def _between(**change: object) -> tuple[Changeover, ...]:
    """Tell the changeovers of the same rows in another evening."""
    read, plan = _made()
    show = Show.model_validate({**read.show.model_dump(), **change})
    return changeovers(plan.input, plan.guest, plan.left_out, show, read.kit)


def test_there_is_one_between_any_two_sets_of_different_acts() -> None:
    read, plan = _made()
    assert [(one.before, one.after) for one in plan.changeover] == [
        ("The songwriter", "The string trio"),
        ("The string trio", "The rock band"),
    ]
    assert [one.there_is_min for one in plan.changeover] == [20, 30]
    assert _between(set=[{**one.model_dump(), "act": ()} for one in read.show.set]) == ()


def test_there_is_none_where_the_same_play_however_the_sets_say_it() -> None:
    """The first names one act, the other nobody: acts that no set names are there all evening, so nobody comes on."""
    first, second, _ = (one.model_dump() for one in _made()[0].show.set)
    assert _between(set=[{**first, "act": ("The songwriter",)}, {**second, "act": ()}]) == ()
    assert len(_between(set=[{**first, "act": ("The songwriter",)}, {**second, "act": ("The rock band",)}])) == 1


def test_the_lines_that_change_are_as_many_as_the_choice_proved_to_be_the_fewest() -> None:
    _, plan = _made()
    told = {goal.name: goal.value for goal in plan.goal}
    changed = [line for one in plan.changeover for line in one.line if line.how in ("carried", "plugged over")]
    assert len(changed) == told["changes from act to act"] > 0
    carried = [line for line in changed if line.how == "carried"]
    assert len(carried) == told["mics carried over between acts"]


def test_a_line_keeps_its_number_and_its_track() -> None:
    _, plan = _made()
    tracks = {row.number: row.label for row in plan.input}
    for one in plan.changeover:
        for line in one.line:
            assert line.track == tracks[line.number]
            row = next(row for row in plan.input if row.number == line.number)
            assert (line.box, line.socket) == (row.box, row.socket)


def test_whoever_comes_on_is_checked_and_whoever_plays_on_is_not_touched() -> None:
    read, plan = _made()
    sets = sets_of(read.show)
    kept = [
        *((row.id, row.source) for row in plan.input),
        *((one.id, one.source) for one in plan.left_out if one.shares),
    ]
    for number, one in enumerate(plan.changeover, start=1):
        comes = {id for id, source in kept if in_set(sets[source], number) and not in_set(sets[source], number - 1)}
        assert {step.input for step in one.step if step.does == "check"} == comes
        assert one.stays == ("Stalls left", "Stalls right")


def test_clips_come_off_before_their_player_leaves_and_before_anything_else() -> None:
    read, plan = _made()
    clips = {tag for mic in read.kit.mic if mic.mount == "clip" for tag in mic.tags}
    to_rock: Changeover = plan.changeover[1]
    off = [step for step in to_rock.step if step.does == "strike" and step.tag in clips]
    assert off
    assert off == list(to_rock.step[: len(off)])
    assert all("before the player leaves" in step.what for step in off)


def test_no_hand_does_two_things_at_once_and_nothing_is_checked_before_all_is_set() -> None:
    for one in _made()[1].changeover:
        done = [
            (hand, step.begins_min, step.begins_min + (step.minutes.value or 0))
            for step in one.step
            for hand in step.hands
        ]
        for hand, begins, _ in done:
            there = [other for other in done if other[0] == hand and other[1] - 0.06 < begins < other[2] - 0.11]
            assert len(there) == 1
        set_by = max(step.begins_min + (step.minutes.value or 0) for step in one.step if step.does != "check")
        assert all(step.begins_min >= set_by - 0.11 for step in one.step if step.does == "check")


def test_the_time_told_is_the_end_of_its_last_step() -> None:
    for one in _made()[1].changeover:
        last = max(step.begins_min + (step.minutes.value or 0) for step in one.step)
        assert one.takes.value == pytest.approx(last, abs=0.15)  # each figure is rounded to a tenth


@pytest.mark.parametrize(("start", "enough"), [("21:30", "yes"), ("21:08", "tight"), ("21:03", "no")])
def test_a_late_start_is_enough_and_an_early_one_is_not(start: str, enough: str) -> None:
    first = [one.model_dump() for one in _made()[0].show.set[:2]]
    between = _between(set=[*first, {"start": start, "minutes": 60, "act": "The rock band"}])
    assert [one.enough for one in between] == ["yes", enough]


def test_more_hands_are_never_slower() -> None:
    takes = [_between(crew=crew)[1].takes.value for crew in (1, 2, 4)]
    assert takes == sorted(takes, key=lambda value: -(value or 0))
    assert takes[0] != takes[-1]


def test_the_day_holds_the_changeovers_between_the_sets() -> None:
    _, plan = _made()
    names = [task.id for task in plan.day]
    for number in (1, 2):
        assert names.index(f"set-{number}") < names.index(f"changeover-{number}") < names.index(f"set-{number + 1}")


def test_what_a_guest_plugs_in_is_packed_and_has_its_own_gain_and_thread() -> None:
    _, plan = _made()
    packed = {tag for line in plan.pack for tag in line.tags}
    for guest in plan.guest:
        assert guest.thread[-1].kind == "track"
        assert guest.gain.value is not None
        assert {unit.tag for unit in (guest.unit, guest.stand, *guest.cable) if unit and unit.owner == "ours"} <= packed
