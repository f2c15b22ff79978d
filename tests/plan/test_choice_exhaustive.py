"""The choice against trying every plan of little shows, which shares no code with it."""

from __future__ import annotations

from itertools import permutations

import pytest
from plan.exhaustive import best
from plan.little_shows import LittleShow, little_show
from plan.verifier import faults

from fieldfare.plan.choice import choose
from fieldfare.plan.wanted import Choice
from fieldfare.show.kit import Di, Mic
from fieldfare.units.faults import Fault

# Goals in order, and how each is told: "as many as can be" is negative in the exhaustive search, lengths are in dm.
GOALS = (
    ("must inputs kept", -1), ("want inputs kept", -1), ("nice inputs kept", -1), ("fitness of mics and DIs", -1),
    ("hired pieces", 1), ("pieces of the house", 1), ("pieces of the band", 1), ("joins", 1),
    ("metres of cable", 10), ("hops", 1), ("metres on the floor", 10),
)  # fmt: skip


def _choose(little: LittleShow) -> Choice | None:
    try:
        return choose(
            little.wanted, little.kit, little.needed_m, show=little.show, venue=little.venue,
            fitness=little.fitness, joins_allowed=little.joins, explain=False,
        )  # fmt: skip
    except Fault:
        return None


def _agrees(little: LittleShow) -> bool:
    choice, truth = _choose(little), best(little)
    if choice is None or truth is None:
        return choice is None and truth is None
    told = {goal.name: goal.value for goal in choice.goals}
    assert tuple(round(factor * told.get(name, 0)) for name, factor in GOALS) == truth
    assert faults(choice, little.wanted, little.kit, little.needed_m, little.show, little.venue, little.joins) == []
    return True


@pytest.mark.parametrize("block", range(10))
def test_every_goal_of_three_inputs_is_what_trying_everything_finds(block: int) -> None:
    for seed in range(20 * block, 20 * block + 20):
        assert _agrees(little_show(seed, inputs=3)), seed


@pytest.mark.parametrize("seed", range(5000, 5030))
def test_every_goal_of_four_inputs_is_what_trying_everything_finds(seed: int) -> None:
    assert _agrees(little_show(seed, inputs=4))


def test_the_little_shows_are_not_all_alike() -> None:
    """What the comparison above covers: pins that clash, doublings, splits, outboard preamps, joins, matched pairs."""
    shows = [little_show(seed, inputs=3) for seed in range(200)]
    choices = [choice for show in shows if (choice := _choose(show))]
    rows = [row for choice in choices for row in choice.chosen]
    assert sum(bool(choice.not_kept) for choice in choices) > 100
    assert len(choices) < len(shows)
    assert any(row.shared_by for row in rows)
    assert any(row.splitter for row in rows)
    assert any(row.house_split for row in rows)
    assert any(row.preamp == "P-1" for row in rows)
    assert any(len(row.cable) == 2 for row in rows)
    assert any(row.di_channel == 2 for row in rows)
    assert {row.taking for row in rows} == {"mic", "di", "split", "line"}


@pytest.mark.parametrize("block", range(5))
def test_channels_are_as_tidy_as_any_order_of_them_could_be(block: int) -> None:
    for seed in range(40 * block, 40 * block + 40):
        little = little_show(seed, inputs=4)
        choice = _choose(little)
        if choice is not None and choice.chosen:
            told = {goal.name: goal.value for goal in choice.goals}
            pair = (told["stereo pairs side by side"], told["places off the order of the list"])
            assert pair == _tidiest(little, choice), seed


def _tidiest(little: LittleShow, choice: Choice) -> tuple[float, float]:
    """Try every order of channels for the rows as chosen; no more of them outside the recorder than there are."""
    rows = sorted(choice.chosen, key=lambda row: row.wanted.order)
    recorder, pins = little.kit.recorder[0], {pin.input: pin for pin in little.show.pin}
    things = {tag: thing for thing in little.kit.things for tag in thing.tags}
    needs = []
    for row in rows:
        thing = things.get(row.unit)
        needs.append(thing.phantom if isinstance(thing, Mic | Di) else {"line": "line"}.get(row.taking, "harmful"))
    outside = sum(row.preamp == "P-1" for row in rows)
    at = {row.wanted.id: place for place, row in enumerate(rows)}
    found = []
    for seats in permutations(range(1, recorder.preamps + recorder.line_inputs + 1), len(rows)):
        pinned = all(
            (pin := pins.get(r.wanted.id)) is None or pin.channel in (None, c) for r, c in zip(rows, seats, strict=True)
        )
        if pinned and _fits(little, needs, seats, outside):
            beside = sum(
                seats[place] + 1 == seats[at[row.wanted.pair]]
                for place, row in enumerate(rows)
                if row.wanted.pair in at and row.wanted.id < row.wanted.pair
            )
            found.append((-beside, sum(abs(channel - place) for place, channel in enumerate(seats, 1))))
    return -min(found)[0], min(found)[1]


def _fits(little: LittleShow, needs: list[str], seats: tuple[int, ...], outside: int) -> bool:
    recorder = little.kit.recorder[0]
    inside = {channel: need for channel, need in zip(seats, needs, strict=True) if channel <= recorder.preamps}
    out = [need for channel, need in zip(seats, needs, strict=True) if channel > recorder.preamps and need != "line"]
    banks: dict[int, set[str]] = {}
    for channel, need in inside.items():
        banks.setdefault((channel - 1) // recorder.phantom_bank, set()).add(need)
    preamp = little.kit.preamp[0] if little.kit.preamp else None
    return (
        "line" not in inside.values()
        and len(out) <= outside
        and not any({"needed", "harmful"} <= bank for bank in banks.values())
        and not (preamp and preamp.phantom == "none" and "needed" in out)
        and not (preamp and preamp.phantom == "all at once" and {"needed", "harmful"} <= set(out))
    )
