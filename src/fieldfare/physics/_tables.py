"""Tables of standards, as printed: one file each in data/, with the year of the standard in its name."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Read a table when it is first asked for. Lines that start with # say where it is from."""
    text = files("fieldfare.physics").joinpath("data", name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
