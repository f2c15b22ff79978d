"""Docs cannot lie: Python examples in them give what they show."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
BLOCK = re.compile(r"^```python\n(>>> .*?)^```", re.MULTILINE | re.DOTALL)


def _examples(page: Path) -> doctest.DocTest:
    """All examples of a page as one run: a name given in one block stands in the next."""
    text = "\n".join(BLOCK.findall(page.read_text("utf-8")))
    return doctest.DocTestParser().get_doctest(text, {}, page.name, str(page), 0)


WITH_EXAMPLES = [page for page in PAGES if page.exists() and _examples(page).examples]


def _run(test: doctest.DocTest) -> list[str]:
    said: list[str] = []
    doctest.DocTestRunner(verbose=False, optionflags=doctest.REPORT_NDIFF).run(test, out=said.append)
    return said


@pytest.mark.parametrize("page", WITH_EXAMPLES, ids=lambda page: page.stem)
def test_the_examples_of_a_page_give_what_they_show(page: Path) -> None:
    assert "".join(_run(_examples(page))) == ""


def test_the_physics_page_is_among_them() -> None:
    assert "physics" in {page.stem for page in WITH_EXAMPLES}


def test_a_wrong_example_is_told(tmp_path: Path) -> None:
    page = tmp_path / "wrong.md"
    page.write_text("# Wrong\n\n```python\n>>> 1 + 1\n3\n\n```\n", encoding="utf-8")
    assert "1 + 1" in "".join(_run(_examples(page)))
