"""How long it takes to plan every single failure of a show again with the fewest changes, and how that grows.

python bench/whatif.py               the demo and the examples; bench/whatif.json keeps the growth
python bench/whatif.py FOLDER …      these shows instead, and nothing is kept

The growth is drawn by tools/docs_growth.py. Times are those of the processor, so that a busy machine does not spoil
them. The plan itself is made before.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from importlib.resources import files
from pathlib import Path
from statistics import median
from time import process_time

import scipy.optimize  # noqa: F401  (its import is not part of what is measured)

from fieldfare.plan.make import Documents, make_plan
from fieldfare.plan.recipes import show_recipes
from fieldfare.plan.whatif.outcome import outcome_of
from fieldfare.plan.whatif.replan import replan
from fieldfare.plan.whatif.single import singles
from fieldfare.plan.whatif.standing import standing_of
from fieldfare.show.toml import read_show

DEMO = Path(str(files("fieldfare.show") / "demo"))
EXAMPLES = Path(__file__).parent.parent / "examples"
OUT = Path(__file__).parent / "whatif.json"
GOAL_S, ONE_GOAL_S = 10.0, 1.0  # all failures of the demo; one on the night


def measure(folder: Path) -> dict[str, object]:
    """Print how long the failures of a show take, and return that."""
    read = read_show(folder)
    of = Documents(read.show, read.venue, read.kit, show_recipes(read.folder))
    plan = make_plan(of.show, of.venue, of.kit, read.digest, of.recipes, explain=False)
    start = process_time()
    standing = standing_of(of, plan)
    spent, words = [], []
    for _, _, dead in singles(standing):
        before = process_time()
        outcome = outcome_of(standing, dead)
        spent.append(process_time() - before)
        words.append(" ".join(dead.words()))
        if not all(goal.proven for goal in outcome.goal):
            print(f"  {words[-1]}: not proven", file=sys.stderr)
    whole = process_time() - start
    before = process_time()
    made = replan(of, plan, words[-1:])
    night = process_time() - before
    goal = f", to be at most {GOAL_S:.0f} s" if folder == DEMO else ""
    print(
        f"{folder.name:14} {len(plan.input):3} inputs, {len(spent):3} failures: {whole:6.2f} s{goal}; "
        f"median {median(spent):.3f} s, slowest {max(spent):.2f} s ({words[spent.index(max(spent))][:24]}); "
        f"one on the night with its plan {night:.2f} s, to be at most {ONE_GOAL_S:.0f} s, {made.changes} changes",
        flush=True,
    )
    row = {"show": folder.name, "inputs": len(plan.input), "failures": len(spent), "s": round(whole, 2)}
    return row | {"slowest_s": round(max(spent), 2), "night_s": round(night, 2)}


def main() -> None:
    """Measure, print and keep."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("folder", nargs="*", type=Path)
    given = asked.parse_args()
    shows = given.folder or [DEMO, *sorted(one for one in EXAMPLES.iterdir() if (one / "show.toml").exists())]
    growth = [measure(folder) for folder in shows]
    if not given.folder:
        OUT.write_text(json.dumps({"cores": os.cpu_count(), "growth": growth}, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
