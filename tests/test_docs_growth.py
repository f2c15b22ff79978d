"""The pictures of growth are those that the benches' figures give, and the pages show them."""

from __future__ import annotations

import importlib.util
from pathlib import Path

ROOT = Path(__file__).parent.parent
TOOL = ROOT / "tools" / "docs_growth.py"


def test_pictures_are_drawn_from_what_the_benches_kept_and_are_shown() -> None:
    spec = importlib.util.spec_from_file_location("docs_growth", TOOL)
    assert spec
    assert spec.loader
    tool = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(tool)
    pages = "".join(page.read_text("utf-8") for page in (ROOT / "docs").glob("*.md"))
    drawn = dict(tool.pictures())
    assert sorted(drawn) == sorted((ROOT / "bench").glob("*.svg"))
    for file, text in drawn.items():
        assert file.read_text("utf-8") == text, f"{file.name}: run python tools/docs_growth.py"
        assert f"](../bench/{file.name})" in pages, f"{file.name} is on no page"
