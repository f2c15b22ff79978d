"""How every command speaks: one exit status, one shape for JSON, text that fits 80 columns."""

from __future__ import annotations

import json
import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Sequence
from enum import IntEnum
from typing import TYPE_CHECKING, NoReturn

import typer

if TYPE_CHECKING:
    from pydantic import BaseModel

WIDTH = 80
_NO_SIGNS = frozenset(("Cc", "Zl", "Zp"))  # what steers a terminal or begins a line: in names of files, mostly


class Status(IntEnum):
    """The exit status of every command."""

    DONE = 0  # as asked
    LOOK = 1  # done, and something needs a person's eye
    WRONG = 2  # the request was wrong
    NOT_DONE = 3  # it could not be done, and nothing was changed


def say(text: str = "", indent: int = 0, hang: int = 0) -> None:
    """Write one paragraph to standard output, broken at 80 columns; following lines hang in by `hang` more."""
    first, rest = " " * indent, " " * (indent + hang)
    for line in text.split("\n"):
        typer.echo("\n".join(textwrap.wrap(line, WIDTH, initial_indent=first, subsequent_indent=rest)) or "")


def say_wrong(text: str) -> None:
    """Write what is wrong to standard error: one line, or on a terminal as many of 80 columns as it takes."""
    line = "".join(ascii(sign)[1:-1] if unicodedata.category(sign) in _NO_SIGNS else sign for sign in text)
    if sys.stderr.isatty():
        line = textwrap.fill(line, WIDTH, subsequent_indent="  ", break_on_hyphens=False)
    typer.echo(line, err=True)


def heading(text: str) -> None:
    """Write a heading with an empty line above it."""
    typer.echo(f"\n{text}")


def show_json(document: BaseModel | dict[str, object]) -> None:
    """Write a document as JSON to standard output."""
    text = document if isinstance(document, dict) else document.model_dump(mode="json")
    typer.echo(json.dumps(text, indent=1, ensure_ascii=False))


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], widths: Sequence[int]) -> None:
    """Write rows in columns of fixed widths (a negative one sets to the right); a cell too long is broken, not cut."""
    for row in (heads, *rows):
        cells = [_broken(cell, abs(width)) for cell, width in zip(row, widths, strict=True)]
        for depth in range(max(len(cell) for cell in cells)):
            parts = [
                _padded(cell[depth] if depth < len(cell) else "", width)
                for cell, width in zip(cells, widths, strict=True)
            ]
            typer.echo("  ".join(parts).rstrip())


def _columns(text: str) -> int:
    """Tell how many columns a text takes on a terminal: marks none, wide signs two (Unicode annex 11)."""
    wide = sum(unicodedata.east_asian_width(sign) in "WF" for sign in text)
    return len(text) + wide - sum(unicodedata.category(sign) in ("Mn", "Me", "Cf") for sign in text)


def _padded(text: str, width: int) -> str:
    space = " " * max(0, abs(width) - _columns(text))
    return space + text if width < 0 else text + space


def _broken(text: str, width: int) -> list[str]:
    """Break a cell into lines; a mark stays with its letter, whatever the script."""
    if text.isascii():
        return textwrap.wrap(text, width) or [""]
    lines = [""]
    for word in text.split():
        if lines[-1] and _columns(f"{lines[-1]} {word}") <= width:
            lines[-1] += f" {word}"
            continue
        lines += [""] if lines[-1] else []
        for sign in word:
            lines += [""] if _columns(lines[-1] + sign) > width else []
            lines[-1] += sign
    return lines


def leave(status: Status) -> NoReturn:
    """End the command with a status."""
    raise typer.Exit(int(status))
