"""Plans of any show and any kit pass the independent verifier; so does one with far too much of everything."""

from __future__ import annotations

from random import Random
from typing import Any

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from plan.little_kit import cable, di, lead, mic, stand
from plan.little_shows import LittleShow, little_show, plain_show, plain_venue, source
from plan.verifier import faults

from fieldfare.plan.choice import choose
from fieldfare.plan.inputs import wanted_inputs
from fieldfare.plan.recipes import own_recipes
from fieldfare.plan.wanted import Choice, Wanted
from fieldfare.show.kit import Kit
from fieldfare.show.show import Act, Show
from fieldfare.show.venue import HouseBox
from fieldfare.units.faults import Fault

RECIPES = own_recipes()
HOUSE = HouseBox(name="House", at=(2.5, 0.2), lines=16, split_outputs=4)


def _choose(little: LittleShow, *, explain: bool) -> Choice:
    return choose(
        little.wanted, little.kit, little.needed_m, show=little.show, venue=little.venue,
        fitness=little.fitness, joins_allowed=little.joins, explain=explain,
    )  # fmt: skip


@settings(max_examples=80, deadline=None)
@given(seed=st.integers(0, 10**6), inputs=st.integers(0, 12), units=st.integers(1, 5))
def test_any_little_show_can_be_rigged_as_planned(seed: int, inputs: int, units: int) -> None:
    little = little_show(seed, inputs, units)
    try:
        choice = _choose(little, explain=False)
    except Fault as clash:
        event(clash.where)  # a pin that cannot hold, or that names a faulty unit
        return
    assert faults(choice, little.wanted, little.kit, little.needed_m, little.show, little.venue, little.joins) == []


def _sources(draw: Random, number: int) -> tuple[Any, ...]:
    found = []
    for place in range(number):
        recipe = RECIPES[draw.choice(sorted(RECIPES))]
        voice = recipe.name in ("lead vocal", "backing vocal")
        found.append(
            source(
                f"{recipe.name} {place}".capitalize(),
                recipe=recipe.name,
                at=(round(draw.uniform(-2.8, 2.8), 2), round(draw.uniform(0.5, 3.8), 2)),
                status=draw.choice(("confirmed", "expected", "possible")),
                has=tuple(word for word in recipe.uses if draw.random() < 0.7),
                house_mic={"house_box": "House"} if voice and draw.random() < 0.7 else None,
            )
        )
    return tuple(found)


def _kit(draw: Random, size: int) -> Kit:
    def tags(letter: str, most: int) -> str:
        return f"{letter}-1..{letter}-{draw.randint(1, max(1, most * size))}"

    bank, lines = draw.choice((1, 4, 8)), draw.choice((0, 2, 4))
    return Kit.model_validate(
        {
            "mic": [
                mic("small dynamic", tags("SD", 5), pattern="supercardioid", keep_back=draw.choice((0, 1))),
                mic("small condenser", tags("SC", 3), owner=draw.choice(("ours", "hired"))),
                mic("small condenser", "SM-1, SM-2", item="matched pair", pairs=[("SM-1", "SM-2")]),
                mic("ribbon", tags("R", 1), pattern="figure of eight"),
                {**mic("small dynamic", tags("LD", 2), item="large dynamic"), "kind": "large dynamic"},
                {
                    **mic("small condenser", tags("CL", 2), item="clip", mount="clip"),
                    "kind": "clip condenser",
                    "faulty": {"CL-1": "dead"},
                },
            ],
            "di": [
                di(tags("DP", 2)),
                di(tags("DA", 1), item="active", active=True, input_ohm=1e6, phantom="needed", channels=2),
            ],
            "splitter": [{"item": "transformer", "tags": tags("S", 2), "isolation": "transformer"}],
            "stand": [
                stand("tall boom", tags("TB", 4), 0.9, 2.8),
                stand("short boom", tags("SB", 3), 0.2, 1.2),
                stand("clamp", tags("CC", 1)),
            ],
            "cable": [
                cable(3, tags("C3", 8)), cable(5, tags("C5", 8)), cable(10, tags("C10", 6)), cable(20, tags("C20", 2)),
                lead(tags("I", 4)),
            ],
            "box": [{"item": "box", "tags": ["B-1", "B-2"], "lines": draw.choice((4, 6, 8)), "tail_m": 8}],
            "trunk": [{"item": "trunk", "tags": ["TR"], "lines": 24 * size, "length_m": 25}],
            "recorder": [
                {
                    "item": "recorder", "tags": ["REC"], "preamps": 8 * draw.randint(1, 3) * size, "phantom_bank": bank,
                    "line_inputs": lines, "max_input_dbu": 10,
                }
            ],
            "preamp": [{"item": "outboard", "tags": ["P-1"], "channels": 2}] if lines else [],
        }
    )  # fmt: skip


def _with_dead_places(kit: Kit, draw: Random) -> Kit:
    """Mark about a fifth of all sockets, lines and channels dead."""
    return kit.model_copy(
        update={
            kind: tuple(
                one.model_copy(
                    update={
                        "dead": {
                            tag: tuple(number for number in range(1, one.size + 1) if draw.random() < 0.2)
                            for tag in one.tags
                        }
                    }
                )
                for one in getattr(kit, kind)
            )
            for kind in ("box", "trunk", "recorder", "preamp")
        }
    )


def _lengths(wanted: tuple[Wanted, ...]) -> dict[tuple[str, str], float]:
    places = {"B-1": (-1.2, 2.0), "B-2": (1.2, 2.0), "TR": (-3.0, 0.2)}
    return {
        (one.id, tag): round(1.5 + abs(one.at[0] - x) + abs(one.at[1] - y) + max(0.0, one.height_m), 2)
        for one in wanted
        for tag, (x, y) in places.items()
    }


def _any_show(seed: int, sources: int, size: int = 1) -> tuple[tuple[Wanted, ...], Kit, Show]:
    draw = Random(seed)
    show = plain_show().model_copy(update={"act": (Act(name="act", source=_sources(draw, sources)),)})
    return wanted_inputs(show, plain_venue(HOUSE), RECIPES), _kit(draw, size), show


@pytest.mark.parametrize("block", range(10))
def test_plans_of_200_random_shows_pass_the_verifier(block: int) -> None:
    for seed in range(20 * block, 20 * block + 20):
        wanted, kit, show = _any_show(seed, sources=3 + seed % 10)
        kit = _with_dead_places(kit, Random(seed)) if seed % 2 else kit
        needed = _lengths(wanted)
        choice = choose(wanted, kit, needed, show=show, venue=plain_venue(HOUSE), explain=False)
        assert faults(choice, wanted, kit, needed, show, plain_venue(HOUSE)) == [], seed


def test_60_inputs_and_300_units_are_planned_and_every_goal_is_proven() -> None:
    wanted, kit, show = _any_show(7, sources=45, size=10)
    assert len(wanted) >= 60
    assert sum(len(thing.tags) for thing in kit.things) >= 300
    choice = choose(wanted, kit, _lengths(wanted), show=show, venue=plain_venue(HOUSE), explain=False)
    assert faults(choice, wanted, kit, _lengths(wanted), show, plain_venue(HOUSE)) == []
    assert all(goal.proven for goal in choice.goals)


def test_the_verifier_itself_sees_what_is_wrong() -> None:
    """Each of these rows was right and is then spoiled in one way."""
    from dataclasses import replace

    wanted, kit, show = _any_show(3, sources=8)
    needed = _lengths(wanted)
    choice = choose(wanted, kit, needed, show=show, venue=plain_venue(HOUSE), explain=False)
    first = next(row for row in choice.chosen if row.taking == "mic" and row.stand)
    other = next(row for row in choice.chosen if row.unit and row.unit != first.unit)
    spoiled = {
        "used more than once": replace(first, unit=other.unit),
        "no cable": replace(first, cable=(first.stand,)),
        "is no stand": replace(first, stand=first.cable[0]),
        "channels": replace(first, channel=other.channel),
        "cannot reach": replace(first, box="B-9"),
        "has 0 cables": replace(first, cable=()),
        "trunk line": replace(first, trunk_line=0),
        "stand": replace(first, stand=""),
        "a socket is used twice": replace(first, box=other.box, socket=other.socket),
        "is not in the kit": replace(first, unit="XX-1"),
        "which is dead": first,
    }
    dead = {"recorder": (kit.recorder[0].model_copy(update={"dead": {"REC": (first.channel,)}}),)}
    for says, row in spoiled.items():
        rows = tuple(row if one is first else one for one in choice.chosen)
        there = kit.model_copy(update=dead) if row is first else kit
        found = faults(replace(choice, chosen=rows), wanted, there, needed, show, plain_venue(HOUSE))
        assert any(says in fault for fault in found), says
