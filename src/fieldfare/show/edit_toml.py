"""Changing a document in its hand-written file: what is changed is written anew, every remark beside the rest stays."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import BaseModel
from tomlkit.container import OutOfOrderTableProxy
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Table

from fieldfare.show.files import write_whole
from fieldfare.show.wording import validated
from fieldfare.show.write_toml import to_toml
from fieldfare.show.written import Written

_NAMES = ("name", "input", "box", "text", "title", "take")  # by which the entries of a list are told apart


def edit_toml(path: Path, document: BaseModel) -> bool:
    """Make a file say what a document says, and keep its remarks and its order.

    Parameters
    ----------
    path
        The file, as it is now.
    document
        What it shall say.

    Returns
    -------
    Whether all remarks were kept; where the file could not be changed in place it was written anew without them.

    Raises
    ------
    NotDone
        The file cannot be written; it is as it was.
    """
    before = path.read_text("utf-8-sig")
    text = edited(before, document)
    if text != before:
        write_whole(path, (to_toml(document) if text is None else text).encode(), replace=True)
    return text is not None


def edited(text: str, document: BaseModel) -> str | None:
    """Return a text changed so that it says what a document says; None where that cannot be done in place."""
    try:
        before = _read(text, type(document))
        if before is None:
            return None
        written = tomlkit.parse(text)
        _change(written, tomllib.loads(to_toml(before)), tomlkit.parse(to_toml(document)))
        changed = tomlkit.dumps(written)
        return changed if _read(changed, type(document)) == document else None
    except (TOMLKitError, ValueError, KeyError):
        return None


def with_values(text: str, values: Mapping[tuple[str | int, ...], object]) -> str:
    """Return a text with some values set, each by its place; its remarks stay.

    >>> with_values("[room]  # of the audience\\n", {("room", "length_m"): 20.0})
    '[room]  # of the audience\\nlength_m = 20.0\\n'
    """
    written = tomlkit.parse(text)
    for place, value in values.items():
        here: Any = written
        for step in place[:-1]:
            here = here[step]
        here[place[-1]] = value
    return tomlkit.dumps(written)


def _read(text: str, model: type[BaseModel]) -> BaseModel | None:
    document, faults = validated(Written("", tomllib.loads(text), lambda _: ""), model)
    return None if faults else document


def _change(here: Any, was: Mapping[str, Any], wanted: Any) -> None:
    """Change one table where what is wanted differs from what it said; all else stays as it is written."""
    for key in [key for key in was if key not in wanted]:
        here.pop(key, None)
    for key, item in wanted.items():
        if key in was and was[key] == _plain(item):
            continue
        if key not in here:
            here[key] = item
        elif isinstance(here[key], AoT):
            _change_list(here[key], was.get(key, []), item)
        elif isinstance(here[key], Table | OutOfOrderTableProxy):
            _change(here[key], was.get(key, {}), item)
        else:
            here[key] = item


def _change_list(here: AoT, was: list[dict[str, Any]], wanted: AoT) -> None:
    """Change a list of tables entry by entry: those of the same name stay with their remarks."""
    places = _matched(was, [_plain(one) for one in wanted])
    for place, one in zip(places, wanted, strict=True):
        if place is not None:
            _change(here[place], was[place], one)
    kept = [place for place in places if place is not None]
    if kept == sorted(kept) and places[: len(kept)] == kept:  # nothing moves: take out, then add at the end
        for place in sorted(set(range(len(was))) - set(kept), reverse=True):
            del here[place]
        for one in list(wanted)[len(kept) :]:
            here.append(one)
        return
    old = list(here)
    while len(here):
        del here[len(here) - 1]
    for place, one in zip(places, wanted, strict=True):
        here.append(one if place is None else old[place])


def _matched(was: list[dict[str, Any]], wanted: list[dict[str, Any]]) -> list[int | None]:
    """Say which entry of old each wanted one was: alike, else of the same name, else at the same place."""
    free = dict(enumerate(was))
    places: list[int | None] = [None] * len(wanted)
    alike = (lambda a, b: a == b, lambda a, b: bool(_name(a)) and _name(a) == _name(b))
    for fits in alike:
        for number, value in enumerate(wanted):
            found = next((place for place, one in free.items() if fits(one, value)), None)
            if places[number] is None and found is not None:
                places[number] = found
                del free[found]
    for number in range(len(wanted)):
        if places[number] is None and number in free and len(was) == len(wanted):
            places[number] = number  # renamed where it stands
            del free[number]
    return places


def _name(entry: Mapping[str, Any]) -> str:
    return next((str(entry[key]) for key in _NAMES if key in entry), "")


def _plain(item: Any) -> Any:
    return item.unwrap() if hasattr(item, "unwrap") else item
