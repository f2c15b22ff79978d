"""Little evenings of several acts, and the best that can be had of them, found by trying everything.

It shares no code with the program: who uses what is tried piece by piece, and what changes from set to set is counted
by walking through the evening.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass
from itertools import product
from math import dist
from typing import Any

from plan.little_kit import CONDENSER, DYNAMIC, RIBBON, cable, kit, mic, recorder, want

from fieldfare.plan.wanted import Wanted
from fieldfare.show.kit import Kit

NEAR_M = 1.0
STEP = {"must": "want", "want": "nice", "nice": "nice"}
RANK = ("must", "want", "nice")
Taken = tuple[str, ...]  # how an input is taken: (), (kind,), ("as it stands", host), ("carried", host), (kind, host)


@dataclass(frozen=True)
class Evening:
    """The inputs of an evening, and what there is for them."""

    wanted: tuple[Wanted, ...]
    kit: Kit
    mics: dict[str, int]
    channels: int
    bank: int
    sets: int


def little_evening(seed: int, inputs: int) -> Evening:
    """Make an evening of two or three sets; mics and channels are short, and some acts play twice."""
    roll = random.Random(seed)
    sets = roll.choice((2, 3, 3))
    acts = [frozenset({number}) for number in range(sets)] + [frozenset[int]()]
    if sets == 3:
        acts.append(frozenset({0, 2}))
    wanted = tuple(_input(roll, number, roll.choice(acts)) for number in range(inputs))
    mics = {kind: roll.randint(0, 2) for kind in ("small dynamic", "small condenser", "ribbon")}
    channels, bank = roll.randint(1, 3), roll.choice((1, 1, 2))
    tags = {
        kind: f"{kind[:1].upper()}{kind[6:7].upper()}-1..{kind[:1].upper()}{kind[6:7].upper()}-{n}"
        for kind, n in mics.items()
    }
    stock = kit(
        mic=[mic(kind, tags[kind]) for kind, number in mics.items() if number],
        recorder=[recorder(channels, bank=bank if channels % bank == 0 else 1)],
        cable=[cable(5, "C-01..C-09")],
    )  # fmt: skip
    return Evening(wanted, stock, mics, channels, bank if channels % bank == 0 else 1, sets)


def _input(roll: random.Random, number: int, sets: frozenset[int]) -> Wanted:
    accept = tuple(one for one in (DYNAMIC, CONDENSER, RIBBON) if roll.random() < 0.6) or (DYNAMIC,)
    at = (roll.choice((0.0, 0.6, 4.0)), 1.0, 1.0)
    more: dict[str, Any] = {"importance": roll.choice(RANK), "order": number, "sets": sets}
    if roll.random() < 0.2:
        more["status"] = "possible"
    return want(f"input-{number}", *accept, at=at, **more)


def best(evening: Evening) -> tuple[int, ...]:
    """Return the best of each goal: must, want and nice kept, changes, mics carried, fitness; smaller is better."""
    numbers = range(len(evening.wanted))
    ways = [list(_ways(evening, number)) for number in numbers]
    found = [value for taken in product(*ways) if (value := _value(evening, taken)) is not None]
    return min(found)


def _ways(evening: Evening, number: int) -> list[Taken]:
    one = evening.wanted[number]
    kinds = [accept.kinds[0] for accept in one.accept]
    found: list[Taken] = [(), *((kind,) for kind in kinds)]
    for host, other in enumerate(evening.wanted):
        if one.sets and other.sets and not one.sets & other.sets and _after(evening, number, host):
            found.append(("as it stands" if dist(one.at, other.at) <= NEAR_M else "carried", str(host)))
            found += [(kind, str(host)) for kind in kinds]
    return found


def importance(one: Wanted) -> str:
    """A possible source counts a step lower."""
    return STEP[one.importance] if one.source.status == "possible" else one.importance


def _after(evening: Evening, guest: int, host: int) -> bool:
    ranks = [(RANK.index(importance(evening.wanted[number])), number) for number in (guest, host)]
    return ranks[0] > ranks[1]


def _value(evening: Evening, taken: tuple[Taken, ...]) -> tuple[int, ...] | None:
    rows = [number for number, one in enumerate(taken) if len(one) == 1]
    guests = {number: int(one[1]) for number, one in enumerate(taken) if len(one) == 2}
    if len(rows) > evening.channels or any(host not in rows for host in guests.values()):
        return None
    kinds = [
        taken[guests.get(n, n)][0] if one and one[0] in ("as it stands", "carried") else "".join(one[:1])
        for n, one in enumerate(taken)
    ]
    scores = {n: _score(evening.wanted[n], kind) for n, kind in enumerate(kinds) if kind}
    if None in scores.values() or not _there(evening, taken):
        return None
    changes = 0
    for row in rows:
        users = [row, *(guest for guest, host in guests.items() if host == row)]
        counted = _changes(evening, taken, users)
        if counted is None:
            return None
        changes += counted
    kept = Counter(importance(evening.wanted[number]) for number in scores)
    carried = sum(one[0] == "carried" for one in taken if one)
    fitness = sum(score for score in scores.values() if score is not None)
    return (-kept["must"], -kept["want"], -kept["nice"], changes, carried, -fitness)


def _score(one: Wanted, kind: str) -> int | None:
    return next((accept.score for accept in one.accept if accept.kinds == (kind,)), None)


def _there(evening: Evening, taken: tuple[Taken, ...]) -> bool:
    """Whether there are mics enough, and channels whose phantom suits what is plugged into each."""
    used = Counter(one[0] for one in taken if one)
    if any(used[kind] > number for kind, number in evening.mics.items()):
        return False
    asked: dict[int, set[str]] = {}
    for number, one in enumerate(taken):
        if one and one[0] in evening.mics:
            asked.setdefault(int(one[1]) if len(one) == 2 else number, set()).add(one[0])
    if any({"small condenser", "ribbon"} <= kinds for kinds in asked.values()):
        return False
    live = sum("small condenser" in kinds for kinds in asked.values())
    harmed = sum("ribbon" in kinds for kinds in asked.values())
    banks = evening.channels // evening.bank
    return -(-live // evening.bank) + -(-harmed // evening.bank) <= banks


def _changes(evening: Evening, taken: tuple[Taken, ...], users: list[int]) -> int | None:
    """Walk through the evening with one row; none where two want it at once."""
    last, changes = None, 0
    for number in range(evening.sets):
        now = [user for user in users if not evening.wanted[user].sets or number in evening.wanted[user].sets]
        if len(now) > 1:
            return None
        if now:
            state = users[0] if taken[now[0]][0] == "as it stands" else now[0]
            changes += last is not None and state != last
            last = state
    return changes
