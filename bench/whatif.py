"""How long it takes to plan every single failure of a show again with the fewest changes, and how that grows.

python bench/whatif.py               the demo and the examples, each with its share and the slowest failure
python bench/whatif.py FOLDER …      these shows instead
python bench/whatif.py --plot FILE   growth by inputs as a picture (needs matplotlib)

Times are those of the processor, so that a busy machine does not spoil them. The plan itself is made before.
"""

from __future__ import annotations

import argparse
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
GOAL_S, ONE_GOAL_S = 10.0, 1.0  # all failures of the demo; one on the night


def measure(folder: Path) -> tuple[int, float]:
    """Print how long the failures of a show take, and return its inputs and the whole time."""
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
    return len(plan.input), whole


def main() -> None:
    """Measure, print and, where asked, plot."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("folder", nargs="*", type=Path)
    asked.add_argument("--plot", type=Path)
    given = asked.parse_args()
    shows = given.folder or [DEMO, *sorted(one for one in EXAMPLES.iterdir() if (one / "show.toml").exists())]
    growth = sorted(measure(folder) for folder in shows)
    if given.plot:
        import matplotlib.pyplot as plt

        figure, axes = plt.subplots()
        axes.plot(*zip(*growth, strict=True), "o")
        axes.set(xlabel="inputs", ylabel="processor time [s]", title="All single failures, planned again and proven")
        figure.savefig(given.plot)


if __name__ == "__main__":
    main()
