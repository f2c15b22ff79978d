"""The last parts of the pages on songs, delays and pictures are made of what the benches kept."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", ["songs", "align", "picture"])
def test_the_page_says_what_the_benches_kept(name: str) -> None:
    spec = importlib.util.spec_from_file_location("docs_takes", ROOT / "tools" / "docs_takes.py")
    assert spec is not None
    assert spec.loader is not None
    tool = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(tool)
    assert (ROOT / "docs" / f"{name}.md").read_text("utf-8") == tool.page(name), "renew it: python tools/docs_takes.py"
