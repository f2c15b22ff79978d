"""Faults of a document's fields in plain words: what was read, and what would be right."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any, TypeAlias, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from fieldfare.show.expected import Slot, choices, fact_of, is_list, model_of, plain, shown, slot_at, slots, wanted
from fieldfare.show.written import Loc, Written
from fieldfare.units.faults import Blemish
from fieldfare.units.text import listed, nearest

Document = TypeVar("Document", bound=BaseModel)
Said: TypeAlias = tuple[str, str]  # what was read, what to do

_NUMBER = re.compile(r"[-+−]?\d+(?:[.,]\d+)?")
_YES = {"yes": "true", "true": "true", "on": "true", "no": "false", "false": "false", "off": "false"}


def validated(written: Written, model: type[Document]) -> tuple[Document | None, tuple[Blemish, ...]]:
    """Make a document of what was written, or tell every fault of its fields.

    Nothing is guessed: a number in quotes is text, ``true`` is not 1, and 19 is not a time.
    """
    try:
        text = json.dumps(written.data, default=_iso)
        return model.model_validate_json(text, strict=True), ()
    except ValidationError as caught:
        return None, tuple(dict.fromkeys(_blemishes(written, model, caught)))  # two values missing of one list: once


def _iso(moment: dt.date | dt.time) -> str:
    return moment.isoformat()


def _blemishes(written: Written, model: type[BaseModel], caught: ValidationError) -> Iterator[Blemish]:
    errors = caught.errors(include_url=False)
    known = {error["loc"]: _unknown(model, written.data, error["loc"]) for error in errors if _is_unknown(error)}
    meant = {(*loc[:-1], name) for loc, (name, _, _) in known.items()}
    for error in errors:
        loc, slot = error["loc"], slot_at(model, error["loc"]) or Slot(Any)
        if isinstance(error["input"], str):
            error["input"] = _at(written.data, loc, error["input"])  # a date that was written as one, not as text
        if loc in known:
            yield written.blemish(loc, *known[loc][1:])
        elif error["type"] != "missing":
            yield written.blemish(loc, *_SAID.get(error["type"], _does_not_fit)(error, slot))
        elif isinstance(loc[-1], int):
            whole = slot_at(model, loc[:-1]) or slot
            yield written.blemish(loc[:-1], f"has {len(error['input'])} of its values", f"give {wanted(whole)}")
        elif loc not in meant:  # a misspelt field is told once, not as missing as well
            yield written.blemish(loc, *_missing(slot))


def _is_unknown(error: ErrorDetails) -> bool:
    return error["type"] == "extra_forbidden"


def _unknown(model: type[BaseModel], data: object, loc: Loc) -> tuple[str, str, str]:
    """A field that nobody knows: which one was meant, if any, what is wrong, and where it belongs."""
    name, here = str(loc[-1]), slot_at(model, loc[:-1])
    owner = (model_of(here) if here else None) or model
    known, top = slots(owner), slots(model)
    given = _given(data, loc[:-1])
    guess = nearest(name, [one for one in known if one not in given])
    read = "is not a field that is known here"
    if name in top and owner is not model:
        return "", read, "put it at the top of the file, above the first line in [ ]"
    if home := next((field for field, slot in top.items() if name in _fields(slot)), None):
        return "", read, f"put it under [{home}]"
    if guess:
        return guess, read, f"write {guess}"
    return "", read, f"take it out; known here: {listed(known)}"


def _fields(slot: Slot) -> tuple[str, ...]:
    """The fields of a table that stands once in a document."""
    model = None if is_list(slot) or fact_of(slot) else model_of(slot)
    return tuple(model.model_fields) if model else ()


def _given(data: object, loc: Loc) -> set[str]:
    here = _at(data, loc, None)
    return set(here) if isinstance(here, Mapping) else set()


def _at(data: Any, loc: Loc, otherwise: Any) -> Any:
    for step in loc:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return otherwise
    return data


def _missing(slot: Slot) -> Said:
    return "is missing", _explained(slot)


def _explained(slot: Slot) -> str:
    about = f" ({slot.about[:1].lower()}{slot.about[1:]})" if slot.about and slot.about not in wanted(slot) else ""
    return f"give {wanted(slot)}{about}"


def _choice(error: ErrorDetails, slot: Slot) -> Said:
    options = choices(slot)
    read = error["input"]
    right = next((one for one in options if one.strip('"') == shown(read).strip('"')), "")
    if right:
        return f"{shown(read)} is written in the wrong way", f"write {right}"
    guess = nearest(shown(read), options)
    known = f"write one of {', '.join(options)}" if len(options) > 1 else f"write {options[0]}"
    return f"{shown(read)} is not known here", f"write {guess}" if guess else known


def _number(error: ErrorDetails, slot: Slot) -> Said:
    read = error["input"]
    if isinstance(read, str) and _NUMBER.fullmatch(read.strip()):
        right = read.strip().replace(",", ".").replace("−", "-").removeprefix("+")
        return f"{shown(read)} is text", f"write the number without quotes: {right}"
    return f"{shown(read)} is not {_article(slot)}", f"give {wanted(slot)}"


def _article(slot: Slot) -> str:
    return "a whole number" if plain(slot).annotation is int else "a number"


def _text(error: ErrorDetails, slot: Slot) -> Said:
    read = error["input"]
    if isinstance(read, int | float):
        return f"{shown(read)} is not text", f'put it in quotes: "{shown(read)}"'
    return f"{shown(read)} is not text", f"give {wanted(slot)}"


def _truth(error: ErrorDetails, slot: Slot) -> Said:
    meant = _YES.get(str(error["input"]).casefold(), "true or false")
    return f"{shown(error['input'])} is not true or false", f"write {meant}, without quotes"


def _day(error: ErrorDetails, slot: Slot) -> Said:
    return f"{shown(error['input'])} is not a date", "write year, month, day, without quotes: 2026-12-04"


def _time(error: ErrorDetails, slot: Slot) -> Said:
    return f"{shown(error['input'])} is not a time", "write hours, minutes, seconds, without quotes: 19:30:00"


def _limit(error: ErrorDetails, slot: Slot) -> Said:
    return f"{shown(error['input'])} is out of range", f"give {wanted(slot)}"


def _list(error: ErrorDetails, slot: Slot) -> Said:
    read = error["input"]
    if isinstance(read, dict) and model_of(slot):
        return f"stands in single brackets: [{_header(error)}]", f"there may be several: write [[{_header(error)}]]"
    if isinstance(read, str | int | float) and is_list(slot):
        return f"{shown(read)} is not a list", f"put it in square brackets: [{shown(read)}]"
    return f"{shown(read)} is not a list", f"give {wanted(slot)}"


def _header(error: ErrorDetails) -> str:
    return ".".join(step for step in error["loc"] if isinstance(step, str))


def _table(error: ErrorDetails, slot: Slot) -> Said:
    read, fact = error["input"], fact_of(slot)
    if fact and not isinstance(read, list):
        return (
            f"{shown(read)} does not say how sure it is",
            f'write {{ value = {shown(read)}, status = "expected" }}, or "possible", '
            f'or "confirmed" with by = "…" and on = 2026-11-20',
        )
    if isinstance(read, list) and read and isinstance(read[0], dict):
        return f"stands in double brackets: [[{_header(error)}]]", f"there is only one: write [{_header(error)}]"
    return f"{shown(read)} is not a table of fields", f"give {wanted(slot)}"


def _pairs(error: ErrorDetails, slot: Slot) -> Said:
    return f"{shown(error['input'])} is not pairs", f"give {wanted(slot)}"


def _too_many(error: ErrorDetails, slot: Slot) -> Said:
    return f"has {error['ctx']['actual_length']} values", f"give {wanted(slot)}"


def _too_few(error: ErrorDetails, slot: Slot) -> Said:
    least = error["ctx"]["min_length"]
    about = f": {slot.about}" if slot.about else ""
    return "has too few entries" if error["input"] else "is empty", f"give at least {least}{about}"


def _empty(error: ErrorDetails, slot: Slot) -> Said:
    return "is empty", f"write something between the quotes{f': {slot.about}' if slot.about else ''}"


def _too_long(error: ErrorDetails, slot: Slot) -> Said:
    longest = error["ctx"]["max_length"]
    return f"is {len(error['input'])} characters long", f"keep it to {longest}"


def _own_words(error: ErrorDetails, slot: Slot) -> Said:
    """A rule of our own models: its text is already what a person should read."""
    read, _, remedy = str(error["ctx"]["error"]).partition(": ")
    return read, remedy or "change one of the two"


def _does_not_fit(error: ErrorDetails, slot: Slot) -> Said:
    return f"{shown(error['input'])} does not fit here", _explained(slot)


_SAID: dict[str, Callable[[ErrorDetails, Slot], Said]] = {
    "literal_error": _choice,
    "float_type": _number,
    "int_type": _number,
    "int_from_float": _number,
    "string_type": _text,
    "bool_type": _truth,
    "date_type": _day,
    "date_parsing": _day,
    "date_from_datetime_parsing": _day,
    "date_from_datetime_inexact": _day,
    "time_type": _time,
    "time_parsing": _time,
    "greater_than": _limit,
    "greater_than_equal": _limit,
    "less_than": _limit,
    "less_than_equal": _limit,
    "tuple_type": _list,
    "model_type": _table,
    "model_attributes_type": _table,
    "dict_type": _pairs,
    "too_long": _too_many,
    "too_short": _too_few,
    "string_too_short": _empty,
    "string_too_long": _too_long,
    "value_error": _own_words,
}
