"""Results that are made piece by piece: a run puts its rows into a JSON file, and leaves those of other runs alone."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


def keep(file: str, part: str, row: Mapping[str, Any]) -> None:
    """Put what one gig came to beside what is known of it; parts are in the order of their names."""
    path = HERE / file
    parts = json.loads(path.read_text("utf-8")) if path.is_file() else {}
    parts[part] = {**parts.get(part, {}), **row, "measured": f"{date.today():%Y-%m-%d}"}
    ordered = {name: parts[name] for name in sorted(parts)}
    path.write_text(json.dumps(ordered, indent=1, ensure_ascii=False) + "\n", "utf-8")
