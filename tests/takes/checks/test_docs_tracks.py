"""The page on the track check is made from its tables."""

from __future__ import annotations

import importlib.util
from pathlib import Path

ROOT = Path(__file__).parents[3]


def test_the_page_says_what_the_tables_say() -> None:
    spec = importlib.util.spec_from_file_location("docs_tracks", ROOT / "tools" / "docs_tracks.py")
    assert spec is not None
    assert spec.loader is not None
    tool = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(tool)
    assert tool.PAGE.read_text("utf-8") == tool.page(), "renew it: python tools/docs_tracks.py"
