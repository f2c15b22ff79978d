"""Plans that the program itself makes, of the demo's documents and of poorer ones, against the whole table."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from importlib.resources import as_file, files
from random import Random

import pytest

from fieldfare.plan.checks.table import CHECKS
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.kit import Kit, Thing
from fieldfare.show.plan import Plan
from fieldfare.show.toml import ShowFolder, read_show

OWN_DOING = ("phantom", "doubles", "floor", "things")  # what the choice must never get wrong, whatever the kit
OTHERS = ("PH7", "PH9", "FL6", "FL9", "TH5", "TH7", "TH8", "TH10")  # of these, what kit, stage or house may bring about


@cache
def _demo() -> ShowFolder:
    with as_file(files("fieldfare.show") / "demo") as folder:
        return read_show(folder)


@cache
def _plan(name: str) -> Plan:
    read = _demo()
    return make_plan(read.show, read.venue, KITS[name](read.kit), read.digest, own_recipes(), explain=False)


def _poorer(seed: int, kit: Kit) -> Kit:
    """Mark a quarter of all units but the recorder as faulty."""
    draw = Random(seed)

    def thinned(thing: Thing) -> Thing:
        bad = {tag: "crackles" for tag in thing.tags if draw.random() < 0.25}
        return thing.model_copy(update={"faulty": {**thing.faulty, **bad}})

    names = ("mic", "di", "splitter", "stand", "cable", "adapter", "preamp")
    return kit.model_copy(update={name: tuple(thinned(one) for one in getattr(kit, name)) for name in names})


def _one_switch(kit: Kit) -> Kit:
    return kit.model_copy(
        update={"recorder": tuple(one.model_copy(update={"phantom_bank": 16}) for one in kit.recorder)}
    )


KITS: dict[str, Callable[[Kit], Kit]] = {
    "the demo's kit": lambda kit: kit,
    "one phantom switch for all": _one_switch,
    "no trunk": lambda kit: kit.model_copy(update={"trunk": (), "box": ()}),
    "a quarter faulty": lambda kit: _poorer(1, kit),
    "another quarter faulty": lambda kit: _poorer(2, kit),
}


@pytest.mark.parametrize("name", KITS)
def test_a_plan_never_trips_a_check_of_its_own_doing(name: str) -> None:
    own = {check.id for check in CHECKS if check.find.__module__.rsplit(".", 1)[1] in OWN_DOING} - {*OTHERS}
    assert [hit.says for hit in _plan(name).hit if hit.check in own] == []


@pytest.mark.parametrize("name", KITS)
def test_every_row_has_its_thread_from_source_to_track(name: str) -> None:
    for row in _plan(name).input:
        kinds = [hop.kind for hop in row.thread]
        assert kinds[0] == "source"
        assert kinds[-1] == "track"
        assert [hop.tag for hop in row.thread if hop.kind == "cable"] == [cable.tag for cable in row.cable]


def test_the_demo_is_stopped_by_nothing_and_knows_what_it_does_not_know() -> None:
    hits = _plan("the demo's kit").hit
    assert [hit.says for hit in hits if hit.severity == "stop"] == []
    assert {"SU3", "SP7", "LV7"} <= {hit.check for hit in hits}  # the limiter, whose headset, how loud its receiver
