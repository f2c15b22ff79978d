"""The sources page is made from the bibliography, and nothing in the bibliography is idle."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest

from fieldfare.units.sources import SOURCES, Source

ROOT = Path(__file__).parent.parent
TOOL = ROOT / "tools" / "docs_sources.py"
BIBLIOGRAPHY = ROOT / "src" / "fieldfare" / "units" / "sources.py"


def _page(sources: dict[str, Source]) -> str:
    spec = importlib.util.spec_from_file_location("docs_sources", TOOL)
    assert spec
    assert spec.loader
    tool = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(tool)
    text = tool.page(sources)
    assert isinstance(text, str)
    return text


def _plain(text: str) -> str:
    return re.sub(r"[ .]", "", text).casefold()  # "ITU-R BS.2088" cites BS2088


def _cited() -> str:
    folders = (ROOT / "src", ROOT / "tests")
    files = [file for folder in folders for end in ("*.py", "*.csv", "*.toml") for file in folder.rglob(end)]
    return _plain("\n".join(file.read_text("utf-8") for file in files if file not in (BIBLIOGRAPHY, Path(__file__))))


CITED = _cited()


def test_the_page_is_the_bibliography_of_today() -> None:
    written = (ROOT / "docs" / "sources.md").read_text("utf-8")
    assert written == _page(SOURCES), "renew it: python tools/docs_sources.py"


def test_a_new_source_changes_the_page() -> None:
    more = SOURCES | {"AAA": Source("A | B", "from memory")}
    assert "| AAA | A \\| B | from memory | |\n" in _page(more)
    assert _page(more) != _page(SOURCES)


@pytest.mark.parametrize("key", SOURCES)
def test_every_source_is_cited_somewhere(key: str) -> None:
    assert _plain(key) in CITED, f"nothing rests on {key}: take it out"


@pytest.mark.parametrize("key", SOURCES)
def test_a_source_says_what_it_is(key: str) -> None:
    source = SOURCES[key]
    assert re.fullmatch(r"[A-Za-z][A-Za-z0-9.-]*", key)
    assert len(source.title) > 10
    assert source.note == source.note.strip()
