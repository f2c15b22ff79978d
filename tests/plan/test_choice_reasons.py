"""Every reason given is true: what is named is done, and the plan is made again."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from importlib.resources import as_file, files

import pytest
from plan.little_kit import CONDENSER, DI, DYNAMIC, cable, choice_of, di, kit, mic, pair, recorder, rows_of, stand, want
from plan.little_shows import little_show
from plan.verifier import faults

from fieldfare.plan.boxes import place_boxes
from fieldfare.plan.choice import choose
from fieldfare.plan.choice.case import Asked, prepare
from fieldfare.plan.choice.cures import Cure, cures
from fieldfare.plan.choice.goals import goals_of
from fieldfare.plan.choice.program import program_of
from fieldfare.plan.choice.shop import BOUGHT, shop
from fieldfare.plan.choice.solver import solve_in_order
from fieldfare.plan.choice.tags import picked
from fieldfare.plan.fitness import fitnesses, scores
from fieldfare.plan.ground import ground
from fieldfare.plan.inputs import soundings, wanted_inputs
from fieldfare.plan.recipes import own_recipes
from fieldfare.plan.runs import joins_clear, lengths, needed_m
from fieldfare.plan.spill import air
from fieldfare.plan.wanted import Choice
from fieldfare.show.kit import Kit, Preamp
from fieldfare.show.show import Pin
from fieldfare.show.toml import read_show

LEVELS = ("must inputs kept", "want inputs kept", "nice inputs kept")


@cache
def _demo() -> Asked:
    with as_file(files("fieldfare.show") / "demo") as folder:
        demo = read_show(folder)
    show, venue, recipes = demo.show, demo.venue, own_recipes()
    wanted = wanted_inputs(show, venue, recipes)
    boxes = place_boxes(venue, show, demo.kit, wanted)
    floor = ground(venue, [box.at for box in boxes] + [one.at[:2] for one in wanted])
    reach = lengths(floor, venue, wanted, {box.tag: box.at for box in boxes})
    suits = scores(fitnesses(wanted, demo.kit, soundings(show, venue, recipes), air(venue)))
    return Asked(wanted, demo.kit, needed_m(reach), show, venue, suits, joins_clear(floor, reach))


@cache
def _demo_choice() -> Choice:
    return _chosen(_demo(), explain=True)


def _chosen(asked: Asked, *, explain: bool = False) -> Choice:
    choice = choose(
        asked.wanted, asked.kit, asked.needed_m, show=asked.show, venue=asked.venue, fitness=asked.fitness,
        joins_allowed=asked.joins, explain=explain,
    )  # fmt: skip
    assert faults(choice, asked.wanted, asked.kit, asked.needed_m, asked.show, asked.venue, dict(asked.joins)) == []
    return choice


def _pinned(asked: Asked, *pins: Pin) -> Asked:
    others = tuple(pin for pin in asked.show.pin if pin.input not in {one.input for one in pins})
    return replace(asked, show=asked.show.model_copy(update={"pin": (*others, *pins)}))


def _levels(choice: Choice) -> list[float]:
    return [goal.value for goal in choice.goals if goal.name in LEVELS]


def _fitness(choice: Choice) -> float:
    return next(goal.value for goal in choice.goals if goal.name == "fitness of mics and DIs")


def _kept(choice: Choice) -> set[str]:
    return {row.wanted.id for row in choice.chosen} | {one.wanted.id for one in choice.not_kept if one.shares}


def test_the_demo_fills_its_20_channels_with_every_goal_proven() -> None:
    choice = _demo_choice()
    assert [row.channel for row in choice.chosen] == list(range(1, 21))
    assert all(goal.proven for goal in choice.goals)
    assert {row.wanted.id for row in choice.chosen} >= {"kick", "overhead-left", "lead-vocal", "room-left", "trumpet"}


def test_every_row_of_the_demo_has_a_reason_and_a_next_best_and_every_other_a_cure() -> None:
    choice = _demo_choice()
    assert all(row.reason.endswith(".") and row.next_best.endswith(".") for row in choice.chosen)
    assert all(one.blocks and one.cure for one in choice.not_kept)
    assert all("  " not in row.reason + row.next_best for row in choice.chosen)


def test_what_the_next_best_of_each_row_costs_is_what_forbidding_its_item_costs() -> None:
    """Every unit of the row's item is forbidden to it by pins, and the demo is planned again."""
    asked, choice = _demo(), _demo_choice()
    for row in choice.chosen:
        if not row.unit:
            continue
        tags = next(thing for thing in asked.kit.things if row.unit in thing.tags).good_tags
        other = _chosen(_pinned(asked, Pin(input=row.wanted.id, never=tags)))
        lost = _levels(other) < _levels(choice)
        assert lost == bool(re.search(r"\bgo(es)?\b", row.next_best)), row.next_best
        again = rows_of(other).get(row.wanted.id)
        if not lost and again is not None and _fitness(other) < _fitness(choice):
            assert again.item in row.next_best, row.next_best


def test_what_does_more_good_elsewhere_would_be_taken_if_there_were_one_more_of_it() -> None:
    asked, choice = _demo(), _demo_choice()
    rows = [row for row in choice.chosen if "does more good on" in row.reason]
    assert rows
    for row in rows:
        item = next(
            mic for mic in asked.kit.mic if f"{mic.item[:1].upper()}{mic.item[1:]} would suit better" in row.reason
        )
        more = item.model_copy(update={"tags": ("extra",), "faulty": {}, "pairs": ()})
        bigger = replace(asked, kit=asked.kit.model_copy(update={"mic": (*asked.kit.mic, more)}))
        other = _chosen(_pinned(bigger, Pin(input=row.wanted.id, use="extra")))
        assert _levels(other) == _levels(choice)
        assert _fitness(other) > _fitness(choice)


def _cures(asked: Asked) -> tuple[Choice, dict[str, Cure]]:
    program = program_of(prepare(asked))
    solved = solve_in_order(program.model, goals_of(program))
    assert solved is not None
    told = cures(asked, program, picked(program, solved[0]), solved[0])
    return _chosen(asked), {program.case.inputs[number].wanted.id: cure for number, cure in told.items()}


def _bought(asked: Asked, cure: Cure) -> Kit:
    """Put what the cure names into the kit, and nothing else."""
    stocked = shop(asked.kit, asked.wanted)
    more: dict[str, tuple[object, ...]] = {}
    for kind in ("mic", "di", "splitter", "stand", "cable"):
        things = [thing for thing in getattr(stocked, kind) if not thing.tags[0].startswith(BOUGHT)]
        for thing in getattr(stocked, kind):
            if thing.tags[0].startswith(BOUGHT) and cure.bought.get(thing.item):
                tags = thing.tags[: cure.bought[thing.item]]
                pairs = {"pairs": ()} if kind == "mic" and len(tags) < 2 else {}
                things.append(thing.model_copy(update={"tags": tags, **pairs}))
        more[kind] = tuple(things)
    recorder_, channels = asked.kit.recorder[0], cure.bought.get("recorder", 0)
    grown = {
        "preamps": recorder_.preamps + channels * recorder_.phantom_bank,
        "line_inputs": recorder_.line_inputs + channels,
    }
    if channels:
        more["recorder"] = (recorder_.model_copy(update=grown),)
    twos = tuple(
        Preamp(item=f"pair {n}", tags=(f"pair {n}",), channels=2) for n in range(cure.bought.get("preamps", 0))
    )
    more["preamp"] = (*asked.kit.preamp, *twos)
    lines = cure.bought.get("trunk lines", 0)
    more["trunk"] = tuple(one.model_copy(update={"lines": one.lines + lines}) for one in asked.kit.trunk)
    return asked.kit.model_copy(update=more)


def _brings_back(asked: Asked) -> int:
    """Try every cure, and return how many there were."""
    before, told = _cures(asked)
    tried = 0
    for name, cure in told.items():
        if not cure.bought:
            continue
        tried += 1
        keep = [Pin(input=name, keep=True)]
        keep += [Pin(input=one, keep=True) for one in _kept(before) if one != name and not _has_pin(asked, one)]
        after = _chosen(_pinned(replace(asked, kit=_bought(asked, cure)), *keep))
        assert _kept(before) | {name} <= _kept(after), cure
    return tried


def _has_pin(asked: Asked, name: str) -> bool:
    return any(pin.input == name for pin in asked.show.pin)


def test_every_cure_of_the_demo_brings_its_row_back_and_keeps_the_others() -> None:
    assert _brings_back(_demo()) == 7


@pytest.mark.parametrize("block", range(4))
def test_every_cure_of_little_shows_brings_its_row_back(block: int) -> None:
    tried = 0
    for seed in range(25 * block, 25 * block + 25):
        little = little_show(seed, inputs=4)
        if not little.show.pin:
            tried += _brings_back(
                Asked(
                    little.wanted, little.kit, little.needed_m, little.show, little.venue, little.fitness, little.joins
                )
            )
    assert tried > 5


@pytest.mark.parametrize(
    ("short", "blocks", "cure"),
    [
        (
            {"recorder": [recorder(1)]},
            "no channel of the recorder is left",
            "a recorder with 1 more channel brings it back",
        ),
        (
            {"recorder": [recorder(1, lines=2)]},
            "no preamp is left (1 in the recorder)",
            "one more pair of preamps brings it back",
        ),
        (
            {"mic": [mic("small dynamic", "M-1")]},
            "no mic that suits it is left",
            "one more cardioid small dynamic brings it back",
        ),
        (
            {"stand": [stand("tall boom", "T-1")]},
            "no tall boom is left that holds it there",
            "one more tall boom stand brings it back",
        ),
        (
            {"cable": [cable(5, "C-1")]},
            "no microphone cable that reaches is left",
            "one more microphone cable of 3 m brings it back",
        ),
        (
            {"trunk": [{"item": "trunk", "tags": ["TR"], "lines": 1, "length_m": 20}]},
            "no line of the trunk is left (1)",
            "1 more line of trunk brings it back",
        ),
    ],
)
def test_what_is_short_is_named_with_the_cheapest_cure(short: dict[str, object], blocks: str, cure: str) -> None:
    """Two inputs and one of what they need; everything else is there."""
    plenty = {"mic": [mic("small dynamic", "M-1..M-4")], "stand": [stand("tall boom", "T-1..T-4")]}
    wanted = (want("kick", DYNAMIC, stands=("tall boom",)), want("snare", DYNAMIC, stands=("tall boom",)))
    (left,) = choice_of(wanted, kit(**{**plenty, **short}), explain=True).not_kept
    assert (left.wanted.id, left.blocks, left.cure) == ("snare", blocks, cure)


@pytest.mark.parametrize(
    ("low", "high", "reach"), [(1.2, 3.0, "low"), (0.2, 0.9, "high")], ids=["too high up", "too low down"]
)
def test_stands_that_are_there_and_do_not_reach_are_told_as_that(low: float, high: float, reach: str) -> None:
    """A fourth of the same stand would not help: the height is what is short."""
    height = want("kick").height_m
    stands = [stand("tall boom", "T-1..T-3", low, high)]
    assert not low <= height <= high
    stock = kit(mic=[mic("small dynamic", "M-1")], stand=stands)
    (left,) = choice_of((want("kick", DYNAMIC, stands=("tall boom",)),), stock, explain=True).not_kept
    assert left.blocks == f"no tall boom goes as {reach} as {height:.2f} m"
    assert left.cure == f"one more tall boom stand that goes so {reach} brings it back"


def test_a_pair_is_cured_as_a_pair() -> None:
    (left, right) = choice_of(pair("room", CONDENSER, matched="must"), kit(), explain=True).not_kept
    assert left.cure == right.cure == "2 more cardioid small condensers bring both sides back"


def test_a_stand_that_another_would_rather_have_is_not_bought_for_it() -> None:
    """The singer goes onto the boom that is there: her mic is as good on it, and only cables are short for the pair."""
    singer = want("vocal", DYNAMIC, stands=("straight", "tall boom"))
    mains = pair("main", CONDENSER, stands=("straight", "tall boom"), at=(0.0, 0.0, 1.0))
    stock = kit(
        mic=[mic("small dynamic", "M-1"), mic("small condenser", "M-2..M-3")],
        stand=[stand("straight", "T-1", bar_m=0.5), stand("tall boom", "T-2")],
        cable=[cable(5, "C-1")],
    )
    choice = choice_of((singer, *mains), stock, explain=True)
    assert [row.stand for row in choice.chosen] == ["T-1"]
    assert {one.cure for one in choice.not_kept} == {"2 more microphone cables of 3 m bring both sides back"}
    assert {one.blocks for one in choice.not_kept} == {"no microphone cable that reaches is left"}


def test_what_the_kit_has_not_at_all_is_told() -> None:
    (left,) = choice_of((want("bass", DI),), kit(), explain=True).not_kept
    assert left.blocks == "nothing in the kit suits it and no DI that suits it is left"


def test_a_row_that_nothing_else_would_serve_says_what_goes_without_it() -> None:
    (row,) = choice_of((want("bass", DI),), kit(di=[di("D-1")]), explain=True).chosen
    assert row.next_best == "nothing else would do: without it Bass goes."


def test_a_next_best_tells_its_score_and_whom_it_would_be_taken_from() -> None:
    wanted = (want("kick", DYNAMIC, CONDENSER), want("hat", CONDENSER, replace(DYNAMIC, score=60)))
    stock = kit(mic=[mic("small dynamic", "M-1"), mic("small condenser", "K-1")])
    rows = rows_of(choice_of(wanted, stock, explain=True))
    assert rows["kick"].next_best == "small condenser, 80 instead of 90; then Hat takes small dynamic."


def test_a_pinned_row_says_so() -> None:
    stock = kit(mic=[mic("small dynamic", "M-1")])
    (row,) = choice_of((want("kick"),), stock, Pin(input="kick", use="M-1"), explain=True).chosen
    assert row.reason == "Pinned by hand. It takes the level."
    assert row.next_best == "A pin holds it: nothing else is allowed."
