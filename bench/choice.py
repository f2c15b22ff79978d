"""How long the choice takes, by inputs and units, and against the same question put plainly: a column for every unit.

python bench/choice.py             medians of five shows for each size; bench/choice.json keeps the growth
python bench/choice.py --plain     the plain question as well, for the smaller sizes

The growth is drawn by tools/docs_growth.py, by inputs for two sizes of kit and by units for one length of list. Shows
are drawn from all recipes with a fixed seed; kits are short of something, as kits are. Times are those of the
processor, so that a busy machine does not spoil them; the wall clock of an idle one is within a few hundredths.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from random import Random
from statistics import median
from time import process_time
from unittest.mock import patch

import scipy.optimize  # noqa: F401  (its import is not part of what is measured)

from fieldfare.plan.choice import choose
from fieldfare.plan.choice.stock import Heap, Stock, stock_of
from fieldfare.plan.inputs import wanted_inputs
from fieldfare.plan.recipes import own_recipes
from fieldfare.plan.wanted import Wanted
from fieldfare.show.kit import Kit
from fieldfare.show.show import Act, Show, Source
from fieldfare.show.venue import Venue

SHOWS = 5
PLAIN_UP_TO = 24  # inputs
SIZES = ((12, 100), (24, 300), (36, 500), (48, 700), (64, 1000))  # of shows and the kits that go with them
INPUTS, UNITS = zip(*SIZES, strict=True)
GROWTH = sorted({*SIZES, *((one, units) for one in INPUTS for units in (300, 1000)), *((24, units) for units in UNITS)})
OUT = Path(__file__).parent / "choice.json"
GOALS_S = {(24, 300): 0.5, (64, 1000): 5.0}
RECIPES = own_recipes()
PLACES = {"B-1": (-1.2, 2.0), "B-2": (1.2, 2.0), "B-3": (2.8, 0.5), "B-4": (-2.8, 3.5), "TR": (-3.0, 0.2)}
# What a kit is made of: kind of entry, share of all units, fields. Two entries of each, one of them hired.
ENTRIES = (
    (
        "mic",
        0.10,
        {"kind": "small dynamic", "pattern": "supercardioid", "phantom": "ignored", "sensitivity_mv_pa": 2},
    ),
    ("mic", 0.06, {"kind": "small dynamic", "pattern": "cardioid", "phantom": "ignored", "sensitivity_mv_pa": 2.0}),
    ("mic", 0.06, {"kind": "small condenser", "pattern": "cardioid", "phantom": "needed", "sensitivity_mv_pa": 10.0}),
    ("mic", 0.03, {"kind": "large condenser", "pattern": "cardioid", "phantom": "needed", "sensitivity_mv_pa": 20.0}),
    ("mic", 0.03, {"kind": "large dynamic", "pattern": "cardioid", "phantom": "ignored", "sensitivity_mv_pa": 1.2}),
    ("mic", 0.02, {"kind": "ribbon", "pattern": "figure of eight", "phantom": "harmful", "sensitivity_mv_pa": 1.8}),
    ("di", 0.04, {"active": False, "input_ohm": 50_000, "isolated": True, "phantom": "ignored"}),
    ("di", 0.03, {"active": True, "input_ohm": 1e6, "isolated": False, "phantom": "needed", "channels": 2}),
    ("splitter", 0.02, {"isolation": "transformer"}),
    ("stand", 0.10, {"kind": "tall boom", "lowest_m": 0.9, "highest_m": 2.8}),
    ("stand", 0.08, {"kind": "short boom", "lowest_m": 0.2, "highest_m": 1.2}),
    ("stand", 0.04, {"kind": "clamp", "lowest_m": 0.1, "highest_m": 2.2}),
    ("cable", 0.11, {"signal": "mic", "from_end": "xlr-f", "to_end": "xlr-m", "length_m": 5}),
    ("cable", 0.11, {"signal": "mic", "from_end": "xlr-f", "to_end": "xlr-m", "length_m": 10}),
    ("cable", 0.04, {"signal": "mic", "from_end": "xlr-f", "to_end": "xlr-m", "length_m": 20}),
    ("cable", 0.05, {"signal": "instrument", "from_end": "jack-ts", "to_end": "jack-ts", "length_m": 3}),
)


@dataclass(frozen=True, slots=True)
class Job:
    """One show to choose for."""

    wanted: tuple[Wanted, ...]
    kit: Kit
    needed_m: dict[tuple[str, str], float]
    show: Show


def job(seed: int, inputs: int, units: int) -> Job:
    """Draw a show of so many inputs and a kit of so many units."""
    draw = Random(seed)
    sources: list[Source] = []
    wanted: tuple[Wanted, ...] = ()
    while len(wanted) < inputs:
        name = draw.choice(sorted(RECIPES))
        place = (round(draw.uniform(-2.8, 2.8), 2), round(draw.uniform(0.5, 3.8), 2))
        uses = tuple(word for word in RECIPES[name].uses if draw.random() < 0.7)
        sources.append(Source(name=f"{name} {len(sources)}", recipe=name, at=place, has=uses))
        wanted = wanted_inputs(_show(sources), _venue(), RECIPES)
    wanted = wanted[:inputs]
    ids = {one.id for one in wanted}
    whole = tuple(one for one in wanted if not one.pair or one.pair in ids)
    return Job(whole, _kit(draw, units, inputs), _lengths(whole), _show(sources))


def plainly(kit: Kit, show: Show, alone: frozenset[str] = frozenset()) -> Stock:
    """Put every unit into a heap of its own: the plain way to write the question."""
    stock = stock_of(kit, show, alone)
    return Stock(tuple(Heap(heap.thing, (tag,), heap.entry) for heap in stock.heaps for tag in heap.tags), stock.limits)


def seconds(of: Job, stock: Callable[..., Stock] = stock_of) -> tuple[float, tuple[float, ...]]:
    """Choose, and return the processor's seconds and what the goals came to."""
    start = process_time()
    with patch("fieldfare.plan.choice.case.stock_of", stock):
        choice = choose(of.wanted, of.kit, of.needed_m, show=of.show, venue=_venue(), explain=False)
    spent = process_time() - start
    if not all(goal.proven for goal in choice.goals):
        sys.exit("a goal was not proven")
    counted = {"order of the list", "stereo pairs side by side", "places off the order of the list"}
    return spent, tuple(goal.value for goal in choice.goals if goal.name not in counted)


def _kit(draw: Random, units: int, inputs: int) -> Kit:
    kinds: dict[str, list[dict[str, object]]] = {}
    for number, (kind, share, fields) in enumerate(ENTRIES):
        half = max(1, round(units * share / 2 * draw.uniform(0.8, 1.2)))
        for owner in ("ours", "hired"):
            tags = [f"{owner[0]}{number}-{unit}" for unit in range(half)]
            more = {"impedance_ohm": 200} if kind == "mic" else {}
            kinds.setdefault(kind, []).append(
                {"item": f"{owner} {number}", "tags": tags, "owner": owner, **fields, **more}
            )
    preamps = 4 * round(0.8 * inputs / 4)
    recorder = {"item": "recorder", "tags": ["REC"], "preamps": preamps, "phantom_bank": 4, "line_inputs": 4}
    return Kit.model_validate(
        {
            **kinds,
            "box": [{"item": "box", "tags": ["B-1", "B-2", "B-3", "B-4"], "lines": 8, "tail_m": 8}],
            "trunk": [{"item": "trunk", "tags": ["TR"], "lines": min(256, inputs + 8), "length_m": 25}],
            "recorder": [{**recorder, "max_input_dbu": 10}],
            "preamp": [{"item": "outboard", "tags": ["P-1"], "channels": 2}],
        }
    )


def _lengths(wanted: tuple[Wanted, ...]) -> dict[tuple[str, str], float]:
    return {
        (one.id, tag): round(1.5 + abs(one.at[0] - x) + abs(one.at[1] - y) + max(0.0, one.height_m), 2)
        for one in wanted
        for tag, (x, y) in PLACES.items()
    }


def _show(sources: list[Source]) -> Show:
    base = {"title": "Bench", "date": "2026-12-04", "venue": "v", "kit": ("k",)}
    return Show.model_validate(base).model_copy(update={"act": (Act(name="act", source=tuple(sources)),)})


def _venue() -> Venue:
    room, stage = {"length_m": 20, "width_m": 10, "height_m": 5}, {"width_m": 6, "depth_m": 4}
    return Venue.model_validate({"name": "Bench", "room": room, "stage": stage, "recordist": {"at": (-5, 0, 0)}})


def main() -> None:
    """Measure, print and keep."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--plain", action="store_true", help="also put the question plainly, which takes its time")
    given = asked.parse_args()
    growth = []
    for inputs, units in GROWTH:
        jobs = [job(seed, inputs, units) for seed in range(SHOWS)]
        mine = [seconds(one) for one in jobs]
        spent = [cost for cost, _ in mine]
        told = f"{inputs:3d} inputs, {units:4d} units: {median(spent):6.2f} s, the slowest {max(spent):6.2f} s"
        if (inputs, units) in GOALS_S:
            told += f", to be at most {GOALS_S[inputs, units]:.1f} s"
        if given.plain and inputs <= PLAIN_UP_TO and (inputs, units) in SIZES:
            theirs = [seconds(one, plainly) for one in jobs]
            same = all(a[1] == b[1] for a, b in zip(mine, theirs, strict=True))
            told += f"; put plainly {median(cost for cost, _ in theirs):6.2f} s, {'same' if same else 'OTHER'} goals"
        print(told, flush=True)
        growth.append(
            {"inputs": inputs, "units": units, "s": round(median(spent), 3), "slowest_s": round(max(spent), 3)}
        )
    OUT.write_text(json.dumps({"cores": os.cpu_count(), "shows": SHOWS, "growth": growth}, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
