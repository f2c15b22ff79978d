"""Good style does not stop silent holes; a test of the tests does."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

FILES = sorted(Path(__file__).parent.rglob("test_*.py"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_function_is_a_test_a_fixture_or_private(file: Path) -> None:
    for node in ast.parse(file.read_text("utf-8")).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith(("test_", "_")):
            assert any("fixture" in ast.unparse(mark) for mark in node.decorator_list), f"{node.name} never runs"


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_no_test_hides_another_of_the_same_name(file: Path) -> None:
    names = [node.name for node in ast.parse(file.read_text("utf-8")).body if isinstance(node, ast.FunctionDef)]
    assert len(names) == len(set(names)), [name for name in names if names.count(name) > 1]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_bad_input_is_asserted_not_expected_to_fail(file: Path) -> None:
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Call):
            name = ast.unparse(node.func)
            assert not name.endswith("xfail"), f"line {node.lineno}: assert what happens instead"
            if name == "pytest.raises":
                assert {word.arg for word in node.keywords} & {"match", "check"}, f"line {node.lineno}: say which error"


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_test_can_fail(file: Path) -> None:
    """A test asserts, expects an error, or calls a helper of its own that does."""
    tree = ast.parse(file.read_text("utf-8"))
    helpers = {
        node.name
        for node in tree.body
        if isinstance(node, ast.FunctionDef) and any(isinstance(part, ast.Assert) for part in ast.walk(node))
    }
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            calls = [ast.unparse(part.func) for part in ast.walk(node) if isinstance(part, ast.Call)]
            asserts = any(isinstance(part, ast.Assert) for part in ast.walk(node))
            fails = asserts or any(call in helpers or _demands(call) for call in calls)
            assert fails, f"{node.name} asserts nothing"


def _demands(call: str) -> bool:
    """Whether a call fails by itself when something is not so: pytest.raises, the browser driver's expect."""
    return call.startswith("expect(") or call.split(".")[-1].startswith(("raises", "assert_", "fail", "verify"))
