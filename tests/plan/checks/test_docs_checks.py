"""The page of checks is made from the table."""

from __future__ import annotations

import importlib.util
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from fieldfare.plan.checks.check import Check
from fieldfare.plan.checks.table import CHECKS

ROOT = Path(__file__).parents[3]


def _page(checks: Iterable[Check]) -> str:
    spec = importlib.util.spec_from_file_location("docs_checks", ROOT / "tools" / "docs_checks.py")
    assert spec
    assert spec.loader
    tool = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(tool)
    text = tool.page(checks)
    assert isinstance(text, str)
    return text


def test_the_page_is_the_table_of_today() -> None:
    written = (ROOT / "docs" / "checks.md").read_text("utf-8")
    assert written == _page(CHECKS), "renew it: python tools/docs_checks.py"


def test_every_check_stands_on_the_page_once() -> None:
    lines = _page(CHECKS).splitlines()
    assert [check.id for check in CHECKS if sum(line.startswith(f"| {check.id} |") for line in lines) != 1] == []


def test_a_changed_check_changes_the_page() -> None:
    harsher = replace(CHECKS[-1], severity="stop")
    assert _page((*CHECKS[:-1], harsher)) != _page(CHECKS)
