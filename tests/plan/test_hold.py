"""Holding a plan, and telling what a change did."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from pathlib import Path

from fieldfare.plan.changes import changes
from fieldfare.plan.hold import held
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.plan import Plan
from fieldfare.show.show import Pin, Show
from fieldfare.show.toml import read_show

READ = read_show(Path(str(files("fieldfare.show") / "demo")))


def _plan(show: Show) -> Plan:
    return make_plan(show, READ.venue, READ.kit, "", own_recipes(), explain=False)


@cache
def _demo() -> Plan:
    return _plan(READ.show)


def test_a_plan_that_is_held_stays() -> None:
    again = _plan(held(READ.show, _demo()))
    for before, after in zip(_demo().input, again.input, strict=True):
        assert (before.id, before.number, before.unit, before.stand, before.box) == (
            after.id,
            after.number,
            after.unit,
            after.stand,
            after.box,
        )


def test_what_a_person_pinned_is_kept_through_holding() -> None:
    pin = Pin(input="kick", never=("M-15",), keep=False)
    show = held(READ.show.model_copy(update={"pin": (pin,)}), _demo())
    kept = next(one for one in show.pin if one.input == "kick")
    assert kept.never == ("M-15",)


def test_a_failed_mic_is_swapped_and_no_other_mic_moves() -> None:
    failed = next(row.unit.tag for row in _demo().input if row.id == "kick" and row.unit)
    holding = held(READ.show, _demo())
    dead = {"use": "", "stand": "", "never": (failed,)}
    pins = tuple(pin.model_copy(update=dead) if pin.input == "kick" else pin for pin in holding.pin)
    after = _plan(holding.model_copy(update={"pin": pins}))
    units = {row.id: row.unit.tag for row in _demo().input if row.unit}
    new = {row.id: row.unit.tag for row in after.input if row.unit}
    assert new["kick"] != units["kick"]
    assert {id: tag for id, tag in new.items() if id != "kick"} == {id: t for id, t in units.items() if id != "kick"}
    told = {one.id: one.says for one in changes(_demo(), after)}
    assert f"mic or DI {new['kick']} instead of {units['kick']}" in told["kick"]


def test_what_comes_and_goes_is_told() -> None:
    pins = (Pin(input="kick", keep=False),)
    after = _plan(READ.show.model_copy(update={"pin": pins}))
    told = {one.id: one.says for one in changes(_demo(), after)}
    assert told["kick"] == "is no longer recorded"
    back = {one.id: one.says for one in changes(after, _demo())}
    assert back["kick"].startswith("is recorded now, on ")
    assert changes(_demo(), _demo()) == ()
