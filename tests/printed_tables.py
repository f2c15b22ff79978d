"""Published tables as printed, and the tolerance that their digits give."""

from __future__ import annotations

import csv
from pathlib import Path

PRINTED = Path(__file__).parent / "printed"


def printed(name: str) -> list[dict[str, str]]:
    """Rows of a table in tests/printed, every value as text. Lines that start with # say where it is from."""
    lines = (PRINTED / f"{name}.csv").read_text("utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def half_a_digit(text: str) -> float:
    """Half of the last printed digit, exactly half included: "3.07" leaves 0.005 open, "250" 0.5."""
    _, point, decimals = text.partition(".")
    return (0.5 * 10.0 ** -len(decimals) if point else 0.5) + 1e-9
