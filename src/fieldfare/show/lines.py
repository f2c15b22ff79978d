"""The line of every key, table and value of a TOML text, by its place in the data."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import TYPE_CHECKING

import tree_sitter_toml
from tree_sitter import Language, Parser

if TYPE_CHECKING:
    from tree_sitter import Node

Loc = tuple[str | int, ...]


def toml_lines(text: str) -> dict[Loc, int]:
    """Return the line, from 1, of everything that a TOML text says.

    >>> toml_lines('title = "Dance"\\n[[cable]]\\nlength_m = 5')[("cable", 0, "length_m")]
    3
    """
    tree = Parser(Language(tree_sitter_toml.language())).parse(text.encode())
    lines: dict[Loc, int] = {}
    counts: dict[Loc, int] = {}  # how many tables each array of tables has so far
    for node in tree.root_node.named_children:
        if node.type == "pair":
            _note_pair(node, (), lines)
        elif node.type in ("table", "table_array_element"):
            head, *rest = node.named_children
            loc = _table_loc(_keys(head), counts, another=node.type == "table_array_element")
            _note(loc, node, lines)
            for pair in rest:
                if pair.type == "pair":
                    _note_pair(pair, loc, lines)
    return lines


def _table_loc(keys: tuple[str, ...], counts: dict[Loc, int], *, another: bool) -> Loc:
    """Follow a header's keys through the latest entry of every array of tables on the way."""
    loc: Loc = ()
    for key in keys[:-1]:
        loc = (*loc, key)
        if loc in counts:
            loc = (*loc, counts[loc] - 1)
    loc = (*loc, keys[-1])
    if another:
        counts[loc] = counts.get(loc, 0) + 1
        loc = (*loc, counts[loc] - 1)
    return loc


def _note_pair(pair: Node, table: Loc, lines: dict[Loc, int]) -> None:
    key, value = (node for node in pair.named_children if node.type != "comment")
    loc = (*table, *_keys(key))
    _note(loc, key, lines, from_length=len(table) + 1)
    _note_value(value, loc, lines)


def _note_value(value: Node, loc: Loc, lines: dict[Loc, int]) -> None:
    if value.type == "inline_table":
        for pair in value.named_children:
            if pair.type == "pair":
                _note_pair(pair, loc, lines)
    elif value.type == "array":
        for number, inner in enumerate(_values(value)):
            _note((*loc, number), inner, lines, from_length=len(loc) + 1)
            _note_value(inner, (*loc, number), lines)


def _values(array: Node) -> Iterator[Node]:
    return (node for node in array.named_children if node.type != "comment")


def _note(loc: Loc, node: Node, lines: dict[Loc, int], *, from_length: int = 1) -> None:
    """Note the line of a place, and of the tables above it that no header of their own names."""
    for length in range(from_length, len(loc) + 1):
        lines.setdefault(loc[:length], node.start_point.row + 1)


def _keys(node: Node) -> tuple[str, ...]:
    """Return a key's parts as TOML itself reads them, quotes and escapes taken off."""
    text = (node.text or b"").decode()
    keys: list[str] = []
    here: object = tomllib.loads(f"{text} = 0")
    while isinstance(here, dict):
        ((key, here),) = here.items()
        keys.append(key)
    return tuple(keys)
