"""Nothing is idle: what no part of the program asks is no part of the program."""

from __future__ import annotations

import ast
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from test_docstrings import FUNCTIONS

SOURCE = Path(__file__).parent.parent.parent / "src" / "fieldfare"


def _asked() -> set[str]:
    """Every formula that a module takes from another, or calls in a formula of its own."""
    found: set[str] = set()
    for file in SOURCE.rglob("*.py"):
        for part in ast.parse(file.read_text("utf-8")).body:
            for one in ast.walk(part):
                if isinstance(one, ast.ImportFrom) and (one.module or "").startswith("fieldfare.physics"):
                    found |= {name.name for name in one.names}
                elif isinstance(one, ast.Call) and isinstance(one.func, ast.Name) and file.parent.name == "physics":
                    found |= {one.func.id} - {getattr(part, "name", "")}
    return found


ASKED = _asked()


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda one: f"{one.__module__.rpartition('.')[2]}.{one.__name__}")
def test_every_formula_is_asked_by_the_program(function: Callable[..., Any]) -> None:
    assert function.__name__ in ASKED, "nothing rests on it: take it out, with its table and its source"
