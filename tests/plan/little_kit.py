"""Short ways to write inputs and kits for the tests of the choice."""

from __future__ import annotations

from typing import Any

from plan.little_shows import plain_show, plain_venue, source
from plan.verifier import faults

from fieldfare.plan.choice import choose
from fieldfare.plan.wanted import Accept, Choice, Chosen, Wanted
from fieldfare.show.kit import Kit, Phantom
from fieldfare.show.show import HouseMic, Pin
from fieldfare.show.venue import HouseBox

DYNAMIC = Accept(taking="mic", kinds=("small dynamic",), score=90, why="it takes the level")
CONDENSER = Accept(taking="mic", kinds=("small condenser",), score=80, why="it has the top")
RIBBON = Accept(taking="mic", kinds=("ribbon",), score=70, why="it is smooth")
DI = Accept(taking="di", score=60, why="it is clean")
LINE = Accept(taking="line", score=50, why="it is at line level already")
SPLIT = Accept(taking="split", score=100, why="the house has a microphone there")
PHANTOM: dict[str, Phantom] = {"small dynamic": "ignored", "small condenser": "needed", "ribbon": "harmful"}


def want(name: str, *accept: Accept, at: tuple[float, float, float] = (0.0, 0.0, 1.0), **more: Any) -> Wanted:
    """Make an input; a mic on no stand unless stands are given."""
    given = {"importance": "want", "order": 0, "spl_db": (90.0, 110.0), "height_m": at[2], "signal_dbu": 0.0}
    of = {key: more.pop(key) for key in ("status", "doubles_with") if key in more}
    of_name = more.pop("of", name)
    return Wanted(
        id=name,
        label=name.capitalize(),
        source=source(of_name, **of),
        part="",
        at=at,
        aim=(0.0, 1.0, 0.0),
        sound_at=(at[0], at[1] + 1.0, at[2]),
        distance_m=1.0,
        accept=accept or (DYNAMIC,),
        **{**given, **more},
    )


def pair(name: str, *accept: Accept, **more: Any) -> tuple[Wanted, Wanted]:
    """Make both sides of a stereo pair."""
    left, right = f"{name}-left", f"{name}-right"
    return want(left, *accept, pair=right, of=name, **more), want(right, *accept, pair=left, of=name, **more)


def split(name: str, **more: Any) -> Wanted:
    """Make a vocal that the house takes."""
    return want(name, SPLIT, house_mic=HouseMic(house_box="House"), **more)


def mic(kind: str, tags: str, **more: Any) -> dict[str, Any]:
    """Write a mic."""
    base = {"item": kind, "kind": kind, "pattern": "cardioid", "phantom": PHANTOM[kind]}
    return {**base, "tags": tags, "sensitivity_mv_pa": 2, "impedance_ohm": 200, **more}


def di(tags: str, **more: Any) -> dict[str, Any]:
    """Write a DI."""
    base = {"item": "DI", "active": False, "input_ohm": 50_000, "isolated": True, "phantom": "ignored"}
    return {**base, "tags": tags, **more}


def stand(kind: str, tags: str, low: float = 0.2, high: float = 2.0, **more: Any) -> dict[str, Any]:
    """Write a stand."""
    return {"item": kind, "kind": kind, "tags": tags, "lowest_m": low, "highest_m": high, **more}


def cable(length_m: float, tags: str, **more: Any) -> dict[str, Any]:
    """Write a microphone cable."""
    base = {"item": f"cable {length_m:g} m", "signal": "mic", "from_end": "xlr-f", "to_end": "xlr-m"}
    return {**base, "tags": tags, "length_m": length_m, **more}


def lead(tags: str, **more: Any) -> dict[str, Any]:
    """Write an instrument lead of 3 m."""
    base = {"item": "lead", "signal": "instrument", "from_end": "jack-ts", "to_end": "jack-ts", "length_m": 3}
    return {**base, "tags": tags, **more}


def recorder(preamps: int = 8, bank: int = 1, lines: int = 0, **more: Any) -> dict[str, Any]:
    """Write a recorder."""
    base = {"item": "recorder", "tags": ["REC"], "max_input_dbu": 10}
    return {**base, "preamps": preamps, "phantom_bank": bank, "line_inputs": lines, **more}


def kit(**kinds: Any) -> Kit:
    """Make a kit; a recorder of eight preamps and plenty of 5 m cables unless given."""
    usual = {"recorder": [recorder()], "cable": [cable(5, "C-01..C-30"), lead("I-01..I-09")]}
    return Kit.model_validate({**usual, **kinds})


def choice_of(
    wanted: tuple[Wanted, ...],
    stock: Kit,
    *pins: Pin,
    needed_m: dict[tuple[str, str], float] | float = 3.0,
    house: tuple[HouseBox, ...] = (),
    explain: bool = False,
    **more: Any,
) -> Choice:
    """Choose, and have the independent verifier look at what was chosen."""
    rows = tuple(_numbered(wanted))
    to = [tag for thing in (*stock.box, *stock.trunk) for tag in thing.good_tags] or ["REC"]
    lengths = needed_m if isinstance(needed_m, dict) else {(one.id, tag): needed_m for one in rows for tag in to}
    show, venue = plain_show(*pins), plain_venue(*house)
    choice = choose(rows, stock, lengths, show=show, venue=venue, explain=explain, **more)
    assert faults(choice, rows, stock, lengths, show, venue, more.get("joins_allowed")) == []
    return choice


def rows_of(choice: Choice) -> dict[str, Chosen]:
    """Look up the rows by id."""
    return {row.wanted.id: row for row in choice.chosen}


def goals_of(choice: Choice) -> dict[str, float]:
    """Look up the goals by name."""
    return {goal.name: goal.value for goal in choice.goals}


def _numbered(wanted: tuple[Wanted, ...]) -> list[Wanted]:
    from dataclasses import replace

    return [replace(one, order=order) for order, one in enumerate(wanted, start=1)]
