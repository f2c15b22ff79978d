"""Draw how the cost of measuring, of the choice and of single failures grows: python tools/docs_growth.py

Pictures stand beside what the benches kept, bench/*.json, and are shown on the pages of the docs.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

from fieldfare.sheets.drawing.curves import Bound, Curve, curves

BENCH = Path(__file__).parent.parent / "bench"
MOST_MB = 400.0  # what four hours of 32 channels may take


def pictures() -> Iterator[tuple[Path, str]]:
    """Make every picture that there are figures for: its file, and its text."""
    for name, draw in (("measure", _measure), ("choice", _choice), ("whatif", _whatif)):
        kept = BENCH / f"{name}.json"
        if kept.is_file():
            for part, drawn in draw(json.loads(kept.read_text("utf-8"))):
                yield BENCH / f"{name}-{part}.svg", drawn


def _measure(kept: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Time and memory by hours, a line for so many channels."""
    for part, key, title, up in (
        ("time", "s", "Measuring: processor time by length of the recording", "processor time [s]"),
        ("memory", "mb", "Measuring: memory by length of the recording", "the process at its largest [MB]"),
    ):
        rows = sorted(kept["memory"], key=lambda row: (row["channels"], row["hours"]))
        drawn = [
            Curve(f"{channels} channels", tuple((row["hours"], row[key]) for row in group))
            for channels, group in groupby(rows, key=lambda row: row["channels"])
        ]
        bound = Bound(f"at most {MOST_MB:.0f} MB", MOST_MB) if part == "memory" else None
        yield part, curves(title, "length [h]", up, drawn, bound)


def _choice(kept: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Time by inputs for so many units, and by units for so many inputs."""
    for part, across, along in (("inputs", "inputs", "units"), ("units", "units", "inputs")):
        rows = sorted(kept["growth"], key=lambda row: (row[along], row[across]))
        cases = [(case, list(group)) for case, group in groupby(rows, key=lambda row: row[along])]
        drawn = [
            Curve(f"{case} {along}", tuple((row[across], row["s"]) for row in group))
            for case, group in cases
            if len(group) > 2
        ]
        yield part, curves(f"The choice, every goal proven, by {across}", across, "processor time [s]", drawn)


def _whatif(kept: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Time by inputs: all single failures of each show."""
    points = tuple(sorted((row["inputs"], row["s"]) for row in kept["growth"]))
    title, across, up = "All single failures, planned again and proven", "inputs of the show", "processor time [s]"
    yield "inputs", curves(title, across, up, [Curve("one show each", points, joined=False)])


if __name__ == "__main__":
    for file, drawn in pictures():
        file.write_text(drawn, encoding="utf-8", newline="\n")
