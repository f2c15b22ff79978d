"""Writing a document as TOML that a person goes on with: what differs from the default, tags as ranges."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from pathlib import Path

from pydantic import BaseModel

from fieldfare.show.expected import model_of, slots
from fieldfare.show.files import write_whole
from fieldfare.show.kit import spread_tags
from fieldfare.show.record import Fact

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPES = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"}


def write_toml(document: BaseModel, path: Path, remark: str = "", *, replace: bool = False) -> None:
    """Write a document to a file, whole or not at all.

    Parameters
    ----------
    document
        A kit, a venue or a show.
    path
        The file.
    remark
        What stands above it all, one line or several.
    replace
        Whether a file that is there may be replaced.

    Raises
    ------
    NotDone
        The file is there already, or cannot be written; nothing was changed.
    """
    head = "".join(f"# {line}".rstrip() + "\n" for line in remark.splitlines())
    text = to_toml(document)
    write_whole(path, (f"{head}\n{text}" if head else text).encode(), replace=replace)


def to_toml(document: BaseModel) -> str:
    """Return a document as TOML; read again it gives an equal one."""
    return "\n".join(_table(document, ())).strip("\n") + "\n"


def _table(table: BaseModel, path: tuple[str, ...]) -> Iterator[str]:
    """Write the lines of one table: values first, then the tables and lists of tables within it."""
    below: list[tuple[str, BaseModel | tuple[BaseModel, ...]]] = []
    for name, slot in slots(type(table)).items():
        value = getattr(table, name)
        if not slot.required and value == slot.default:
            continue
        inside = model_of(slot)
        if inside is not None and not issubclass(inside, Fact):
            below.append((name, value))
        elif value is not None:
            yield f"{_key(name)} = {_tags(value) if name == 'tags' else _value(value)}"
    for name, value in below:
        header = ".".join((*path, _key(name)))
        for one in value if isinstance(value, tuple) else (value,):
            yield ""
            yield f"[[{header}]]" if isinstance(value, tuple) else f"[{header}]"
            yield from _table(one, (*path, _key(name)))


def _value(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return f"{value:_}" if abs(value) >= 10_000 else str(value)
    if isinstance(value, float):
        return _value(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, dt.time):
        return _text(value.isoformat()) if value.tzinfo else value.isoformat()
    if isinstance(value, tuple):
        return _list([_value(one) for one in value])
    if isinstance(value, BaseModel):
        said = {name: one for name, one in value if one is not None and one != type(value).model_fields[name].default}
        return _braces(said or {"status": getattr(value, "status", "")})
    if isinstance(value, dict):
        return _braces(value)
    raise TypeError(f"no way to write {type(value).__name__} in TOML")


def _list(items: list[str]) -> str:
    line = f"[{', '.join(items)}]"
    return line if len(line) <= 100 else "[\n" + "".join(f"  {item},\n" for item in items) + "]"


def _braces(pairs: dict[str, object]) -> str:
    inside = ", ".join(f"{_key(name)} = {_value(value)}" for name, value in pairs.items())
    return f"{{ {inside} }}" if inside else "{}"


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _text(name)


def _text(text: str) -> str:
    signs = (_ESCAPES.get(sign, f"\\u{ord(sign):04x}" if ord(sign) < 32 or ord(sign) == 127 else sign) for sign in text)
    return f'"{"".join(signs)}"'


def short_tags(tags: tuple[str, ...]) -> list[str]:
    """Write three or more tags that follow one another as a range.

    >>> short_tags(("C-08", "C-09", "C-10", "C-12"))
    ['C-08..C-10', 'C-12']
    """
    short: list[str] = []
    at = 0
    while at < len(tags):
        end = at + 1
        while end < len(tags) and spread_tags(f"{tags[at]}..{tags[end]}") == tags[at : end + 1]:
            end += 1
        short += [f"{tags[at]}..{tags[end - 1]}"] if end - at > 2 else tags[at:end]
        at = end
    return short


def _tags(tags: tuple[str, ...]) -> str:
    short = short_tags(tags)
    return _value(short[0]) if len(short) == 1 and len(tags) > 1 else _list([_value(one) for one in short])
