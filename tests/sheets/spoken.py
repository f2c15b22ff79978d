"""Every sentence that a module can say, read from its source: conditions both ways, samples for what is filled in."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path

CLOCK, NAME, NAMES, NUMBER = "0:00:01.500", "Kick", "Kick, Snare and Tom", "12.5"
FILLED = {  # what stands where a value is filled in, by the last name of its expression
    "by": "the plan",
    "doubt": "it is named Kick, and its number is that of Tom",
    "says": "the last frame is not whole",
    "kind": "NONE",
} | dict.fromkeys(("label", "a", "b", "last", "file", "name", "others"), NAME)
MOST = 64  # variants of one sentence


@dataclass(frozen=True)
class Spoken:
    """A sentence with where it stands."""

    line: int
    text: str


def spoken(path: Path, words: int = 3) -> Iterator[Spoken]:
    """Give every variant of every string of a module that has so many words, but for docstrings and faults raised."""
    tree = ast.parse(path.read_text("utf-8"))
    functions = {node.name: node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
    scopes: list[ast.Module | ast.FunctionDef] = [tree, *functions.values()]
    for scope in scopes:
        for node in _outermost(scope):
            for text in dict.fromkeys(_variants(node, scope, functions)):
                if len(text.split()) >= words:
                    yield Spoken(node.lineno, text)


def _outermost(scope: ast.Module | ast.FunctionDef) -> Iterator[ast.expr]:
    """Strings that are no part of a longer one, of this function alone."""
    waiting: list[ast.AST] = list(scope.body)
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.FunctionDef | ast.ClassDef | ast.Raise | ast.Subscript | ast.Compare):
            continue
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            continue  # a docstring
        if isinstance(node, ast.expr) and _is_text(node):
            yield node
            continue
        waiting += ast.iter_child_nodes(node)


def _is_text(node: ast.expr) -> bool:
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str)
    if isinstance(node, ast.IfExp):
        return _is_text(node.body) and _is_text(node.orelse)
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.BinOp) and _is_text(node.left))


def _variants(
    node: ast.expr, scope: ast.Module | ast.FunctionDef, functions: dict[str, ast.FunctionDef]
) -> Iterable[str]:
    def of(part: ast.expr) -> list[str]:
        return list(_variants(part, scope, functions))

    if isinstance(node, ast.Constant):
        return [str(node.value)]
    if isinstance(node, ast.JoinedStr):
        return ["".join(parts) for parts in list(product(*map(of, node.values)))[:MOST]]
    if isinstance(node, ast.BinOp) and _is_text(node.left):
        return ["".join(parts) for parts in product(of(node.left), of(node.right))]
    if isinstance(node, ast.FormattedValue):
        return of(node.value)
    if isinstance(node, ast.IfExp):
        return of(node.body) + of(node.orelse)
    if isinstance(node, ast.Call):
        return _called(node, of, functions)
    if isinstance(node, ast.Name):
        values = [one for one in ast.walk(scope) if isinstance(one, ast.Assign) and _names(one.targets, node.id)]
        texts = [one.value for one in values if _is_text(one.value) and not _names(list(ast.walk(one.value)), node.id)]
        return [text for value in texts for text in of(value)] or [FILLED.get(node.id, NUMBER)]
    return [FILLED.get(node.attr, NUMBER)] if isinstance(node, ast.Attribute) else [NUMBER]


def _names(targets: Sequence[ast.AST], name: str) -> bool:
    return any(isinstance(one, ast.Name) and one.id == name for one in targets)


def _called(node: ast.Call, of: Callable[[ast.expr], list[str]], functions: dict[str, ast.FunctionDef]) -> list[str]:
    name = str(getattr(node.func, "id", getattr(node.func, "attr", "")))
    if name == "get" and isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Dict):
        return [text for one in (*node.func.value.values, node.args[1]) for text in of(one)]
    if name in functions:
        inside = functions[name]
        returned = [one.value for one in ast.walk(inside) if isinstance(one, ast.Return) and one.value]
        return [text for value in returned for text in _variants(value, inside, functions)]
    return [{"clock": CLOCK, "sample_clock": CLOCK, "listed": NAMES}.get(name, NUMBER)]
