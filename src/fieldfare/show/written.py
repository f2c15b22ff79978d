"""A document as it was written: its plain data, and the place of everything in it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

from fieldfare.show.misprints import misprint
from fieldfare.units.faults import BadDocuments, Blemish

Loc: TypeAlias = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Written:
    """Plain data with the file it came from and a way to tell where a part of it stands."""

    file: str
    data: dict[str, Any]
    place: Callable[[Loc], str]  # "line 12" in TOML, "row 7" in a spreadsheet, "" where only the file is known
    faults: tuple[Blemish, ...] = ()  # what was already wrong in the reading of single cells

    def blemish(self, loc: Loc, read: str, remedy: str) -> Blemish:
        """Say what is wrong at a place of this document."""
        return Blemish(self.file, self.place(loc), _field_name(self.data, loc), read, remedy)


def read_toml(path: Path, name: str = "") -> Written:
    """Read a TOML file as plain data.

    Parameters
    ----------
    path
        The file.
    name
        What to call it in faults; the file's own name where blank.

    Raises
    ------
    BadDocuments
        The file cannot be read, is not UTF-8 text or not TOML; or a number in it is not finite.
    """
    name = name or path.name
    text = _text(path, name)
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as trouble:  # TOMLDecodeError is a ValueError
        line, read, remedy = misprint(text, trouble)
        raise BadDocuments((Blemish(name, f"line {line}" if line else "", "", read, remedy),)) from None
    written = Written(name, data, toml_places(text))
    endless = tuple(written.blemish(loc, "is not a number that can be used", "give a number") for loc in _endless(data))
    if endless:
        raise BadDocuments(endless)
    return written


def toml_places(text: str) -> Callable[[Loc], str]:
    """Return a function that tells the line of a value; that of its table where the value is not written."""
    index: dict[Loc, int] = {}  # filled when it is first asked: a document without faults never pays for it

    def place(loc: Loc) -> str:
        if not index:
            from fieldfare.show.lines import toml_lines

            index[()] = 0
            index.update(toml_lines(text))
        known = next(loc[:length] for length in range(len(loc), -1, -1) if loc[:length] in index)
        return f"line {index[known]}" if known else ""

    return place


def _field_name(data: object, loc: Loc) -> str:
    """Name a place in a document as its writer would: ``cable "mic cable 20 m", length_m``."""
    parts: list[str] = []
    here: object = data
    for step in loc:
        here = _inside(here, step)
        if isinstance(step, str):
            parts.append(step)
        elif called := _called(here):
            parts = [f'{parts[-1]} "{called}"']  # a name of its own says enough without what it is part of
        else:
            parts.append(f"{parts.pop()} {step + 1}" if isinstance(here, dict) else f"entry {step + 1}")
    return ", ".join(parts)


def _inside(here: object, step: str | int) -> object:
    if isinstance(here, dict):
        return here.get(step)
    if isinstance(here, list) and isinstance(step, int) and step < len(here):
        return here[step]
    return None


def _called(entry: object) -> str:
    if not isinstance(entry, dict):
        return ""
    return next((entry[key] for key in ("name", "item", "input", "box") if isinstance(entry.get(key), str)), "")


def _text(path: Path, name: str) -> str:
    try:
        raw = path.read_bytes()
    except (FileNotFoundError, ValueError):  # the second of a name that no file can have, with a zero in it
        raise BadDocuments((Blemish(name, "", "", "there is no such file", "check the name and the folder"),)) from None
    except OSError as trouble:
        read = f"cannot be read: {(trouble.strerror or 'the system refused').lower()}"
        raise BadDocuments((Blemish(name, "", "", read, "check the file and its rights"),)) from None
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        line = raw.count(b"\n", 0, trouble.start) + 1
        what = Blemish(name, f"line {line}", "", "is not UTF-8 text", "save the file as text in UTF-8")
        raise BadDocuments((what,)) from None


def _endless(value: object, loc: Loc = ()) -> Iterator[Loc]:
    if isinstance(value, float) and not math.isfinite(value):
        yield loc
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _endless(inner, (*loc, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _endless(inner, (*loc, number))
