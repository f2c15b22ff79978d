"""The map of rooms in CONTRIBUTING.md leads to files and folders that are there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MAP = (ROOT / "CONTRIBUTING.md").read_text("utf-8")
PLACES = sorted(set(re.findall(r"`([\w.*-]+(?:/[\w.*-]*)+)`", MAP)))
FLOORS = [path.name for path in sorted((ROOT / "src" / "fieldfare").iterdir()) if (path / "__init__.py").is_file()]


@pytest.mark.parametrize("place", PLACES)
def test_every_place_is_there(place: str) -> None:
    under = [found for root in (ROOT, ROOT / "src" / "fieldfare") for found in root.glob(place.rstrip("/"))]
    assert under, f"{place} is no longer there: say where it went"


@pytest.mark.parametrize("package", FLOORS)
def test_every_package_is_on_the_map(package: str) -> None:
    assert re.search(rf"^\| \d \| `{package}` \|", MAP, re.MULTILINE)
