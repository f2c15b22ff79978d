"""The fewest changes against trying everything, and every plan made again through the independent verifier."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan.little_shows import LittleShow, little_show
from plan.verifier import Judge
from plan.whatif import every
from plan.whatif.little import chosen, standing

from fieldfare.plan.wanted import Choice
from fieldfare.plan.whatif.dead import Dead
from fieldfare.plan.whatif.outcome import Again, again, choice_of
from fieldfare.plan.whatif.standing import Standing
from fieldfare.units.faults import Fault


class OnTheNight(Judge):
    """The verifier, but for what is only tidy: sockets and channels in order, goals of a fresh choice, and spares."""

    def sockets(self, tag: str, sockets: list[int]):  # type: ignore[no-untyped-def]
        """Let sockets have gaps."""
        return (said for said in super().sockets(tag, sockets) if "do not ascend" not in said)

    def goals(self):  # type: ignore[no-untyped-def]
        """Leave the goals to the other tests."""
        return ()


def _stood(seed: int, inputs: int = 3) -> tuple[LittleShow, Choice, Standing] | None:
    little = little_show(seed, inputs=inputs)
    try:
        choice = chosen(little)
    except Fault:
        return None
    return (little, choice, standing(little, choice)) if choice.chosen else None


def _used(choice: Choice) -> list[str]:
    rows = choice.chosen
    return sorted({tag for row in rows for tag in (row.unit, row.stand, row.splitter, *row.lead, *row.cable) if tag})


def _faults(little: LittleShow, found: Again, dead: set[str]) -> list[str]:
    again_choice = choice_of(found)
    kept = [one.wanted for one in found.way.standing.case.inputs]
    alone = every.without(little, [one.id for one in kept], dead)
    judge = OnTheNight(again_choice, tuple(kept), alone.kit, little.needed_m, alone.show, little.venue, little.joins)
    return judge.faults()


@pytest.mark.parametrize("block", range(6))
def test_no_plan_that_keeps_as_much_has_fewer_changes(block: int) -> None:
    for seed in range(20 * block, 20 * block + 20):
        stood = _stood(seed, inputs=2 if seed % 3 else 3)
        if stood is None or not _used(stood[1]):
            continue
        little, choice, now = stood
        gone = {Random(seed).choice(_used(choice))}
        found = again(now, Dead(tags=frozenset(gone)))
        numbers = {one.wanted.id: number for number, one in enumerate(now.case.inputs)}
        rows = {numbers[row.wanted.id]: row for row in choice.chosen}
        truth = every.fewest(every.without(little, list(numbers), gone), rows, dict(now.guests), gone)
        assert found.rank == truth, (seed, gone)
        assert all(goal.proven for goal in found.solved.goals)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), data=st.data())
def test_whatever_dies_what_is_planned_again_can_be_rigged(seed: int, data: st.DataObject) -> None:
    stood = _stood(seed, inputs=6)
    if stood is None:
        return
    little, choice, now = stood
    recorder = little.kit.recorder[0]
    tags = data.draw(st.sets(st.sampled_from([*_used(choice), "nothing"]), max_size=3)) - {"nothing"}
    channels = data.draw(st.sets(st.integers(1, recorder.preamps + recorder.line_inputs), max_size=2))
    lines = data.draw(st.sets(st.sampled_from(sorted(now.lines)), max_size=2)) if now.lines else set()
    found = again(now, Dead(tags=frozenset(tags), channels=frozenset(channels), lines=frozenset(lines)))
    assert _faults(little, found, tags) == []
    rows = choice_of(found).chosen
    assert not channels & {row.channel for row in rows}
    assert not lines & {row.trunk_line for row in rows}


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_where_nothing_dies_nothing_changes(seed: int) -> None:
    stood = _stood(seed, inputs=5)
    if stood is not None:
        found = again(stood[2], Dead())
        assert found.changes == 0
        before = {
            (row.wanted.id, row.unit, row.stand, row.cable, row.box, row.socket, row.channel) for row in stood[1].chosen
        }
        after = choice_of(found).chosen
        assert before == {(r.wanted.id, r.unit, r.stand, r.cable, r.box, r.socket, r.channel) for r in after}
