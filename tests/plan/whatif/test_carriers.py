"""A box, trunk or recorder that dies is replaced by the house's own, where it has one: all plugs as before."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from pathlib import Path

import pytest

from fieldfare.plan.make import Documents, make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.plan.whatif.dead import dead_of
from fieldfare.plan.whatif.outcome import outcome_of
from fieldfare.plan.whatif.standing import standing_of
from fieldfare.show.plan import Plan
from fieldfare.show.toml import read_show
from fieldfare.show.whatif import Outcome

READ = read_show(Path(str(files("fieldfare.show") / "demo")))


@cache
def _plan() -> Plan:
    return make_plan(READ.show, READ.venue, READ.kit, READ.digest, own_recipes(), explain=False)


def _outcome(kind: str, dead: str, **spare: object) -> Outcome:
    """What becomes of the demo's plan when a carrier dies, with another of its kind in the house."""
    there = getattr(READ.kit, kind)
    more = (there[0].model_copy(update={"tags": ("H-1",), "owner": "house", **spare}),)
    kit = READ.kit.model_copy(update={kind: (*there, *more)})
    standing = standing_of(Documents(READ.show, READ.venue, kit, own_recipes()), _plan())
    return outcome_of(standing, dead_of((dead,), kit, _plan()))


@pytest.mark.parametrize(("kind", "dead"), [("box", "B-01"), ("trunk", "TR-1"), ("recorder", "REC-1")])
def test_a_spare_that_is_alike_takes_every_plug_where_it_was(kind: str, dead: str) -> None:
    found = _outcome(kind, dead)
    assert [(one.label, one.says) for one in found.move] == [(dead, "put H-1 in its place, every plug where it was")]
    assert not found.lost


def test_sockets_that_a_smaller_spare_does_not_have_are_dead_too() -> None:
    behind = {row.id for row in _plan().input if row.box == "B-01" and row.socket > 2}
    found = _outcome("box", "B-01", lines=2)
    assert found.move[0].says == "put H-1 in its place, every plug where it was"
    assert behind <= {one.input for one in found.move} | {one.input for one in found.lost}


@pytest.mark.parametrize(
    ("kind", "dead", "short"), [("box", "B-01", {"tail_m": 1}), ("trunk", "TR-1", {"length_m": 5})]
)
def test_a_spare_that_does_not_reach_is_none(kind: str, dead: str, short: dict[str, float]) -> None:
    assert not any("H-1" in one.says for one in _outcome(kind, dead, **short).move)
