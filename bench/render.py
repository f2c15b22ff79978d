"""Times the rendered recording of the demo: wall clock, processor time, memory, and audio per second.

python bench/render.py [seconds of take]
"""

from __future__ import annotations

import sys
import tempfile
import time
from importlib.resources import as_file, files
from pathlib import Path

from fieldfare.plan.inputs import soundings
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.toml import read_show
from fieldfare.takes.render.write import render_show


def main(seconds: float) -> None:
    """Plan the demo, render it once, print the figures."""
    with as_file(files("fieldfare.show") / "demo") as documents:
        read = read_show(documents)
    recipes = own_recipes()
    plan = make_plan(read.show, read.venue, read.kit, read.digest, recipes)
    sounding = soundings(read.show, read.venue, recipes)
    with tempfile.TemporaryDirectory() as folder:
        wall, processor = time.perf_counter(), time.process_time()
        truth = render_show(plan, read.show, read.venue, read.kit, sounding, Path(folder), duration_s=seconds)
        wall, processor = time.perf_counter() - wall, time.process_time() - processor
    tracks = len(truth.track)
    print(f"{tracks} tracks of {seconds:.0f} s: {wall:.1f} s by the clock, {processor:.1f} s of processor")
    print(f"{tracks * seconds / wall:.0f} s of track in a second{_memory()}")


def _memory() -> str:
    """Most memory in use, where the system tells."""
    try:
        import resource
    except ImportError:  # Windows
        return ""
    return f", {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB"


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 150.0)
