"""The facts of a document, wherever in it they stand: found, named, and set."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from fieldfare.show.record import Fact
from fieldfare.show.written import Loc
from fieldfare.units.faults import Fault

Document = TypeVar("Document", bound=BaseModel)


def facts_of(document: BaseModel, loc: Loc = ()) -> Iterator[tuple[Loc, Fact[Any], str]]:
    """Walk a document and give every fact with its place and what it is about."""
    for name, field in type(document).model_fields.items():
        value = getattr(document, name)
        for step, one in enumerate(value) if isinstance(value, tuple) else ((None, value),):
            here: Loc = (*loc, name) if step is None else (*loc, name, step)
            if isinstance(one, Fact):
                yield here, one, field.description or ""
            elif isinstance(one, BaseModel):
                yield from facts_of(one, here)


def fact_label(document: BaseModel, loc: Loc) -> str:
    """Name a fact as people do: the thing it belongs to, then what it says."""
    owner = ""
    here: Any = document
    for step in loc[:-1]:
        here = _inside(here, step)
        owner = getattr(here, "name", "") or owner
    words = _plain(str(loc[-1]))
    if not owner:
        return words[:1].upper() + words[1:]
    return f"{owner}: {words}"


def _plain(field: str) -> str:
    for ending in ("_c", "_s", "_w"):
        field = field.removesuffix(ending)
    return field.replace("_", " ")


def _inside(here: Any, step: str | int) -> Any:
    try:
        return here[step] if isinstance(step, int) else getattr(here, step)
    except (IndexError, AttributeError, TypeError):
        raise Fault("there is no such fact", str(step)[:60], "load the page again") from None


def said_value(fact: Fact[Any]) -> str:
    """Write a fact's value as it is typed."""
    if fact.value is None:
        return ""
    if isinstance(fact.value, bool):
        return "yes" if fact.value else "no"
    return f"{fact.value:g}" if isinstance(fact.value, float) else str(fact.value)


def with_fact(document: Document, loc: Loc, said: Mapping[str, str]) -> Document:
    """Return a document in which one fact says something else.

    Raises
    ------
    Fault
        There is no such fact, or it cannot say that.
    """
    here: Any = document
    for step in loc:
        here = _inside(here, step)
    if not isinstance(here, Fact):
        raise Fault("there is no such fact", ".".join(map(str, loc))[:80], "load the page again")
    label = fact_label(document, loc)
    text = said.get("value", "").strip()
    status = said.get("status", "unknown")
    fields: dict[str, object] = {"ask": here.ask, "status": status}
    if status != "unknown":
        fields |= {"value": _value(here, text, label), "by": said.get("by", "").strip()}
        fields["on"] = _date(said.get("on", ""), label)
    try:
        fact = type(here).model_validate(fields)
    except ValidationError as wrong:
        first = wrong.errors()[0]
        what = str(first["msg"]).removeprefix("Value error, ")
        raise Fault(what, label, "put that right and send it again") from None
    changed: Document = _with(document, loc, fact)
    return changed


def _value(fact: Fact[Any], text: str, label: str) -> object:
    wants = type(fact).model_fields["value"].annotation
    kinds = str(wants)
    if "bool" in kinds:
        if text.casefold() not in ("yes", "no", "true", "false"):
            raise Fault(f"{text!r} is neither yes nor no", label, "write yes or no")
        return text.casefold() in ("yes", "true")
    if "float" in kinds:
        try:
            return float(text.replace(",", ".").replace("−", "-"))
        except ValueError:
            raise Fault(f"{text!r} is not a number", label, "write a number, such as 1.4") from None
    return text or None


def _date(text: str, label: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text) if text else None
    except ValueError:
        raise Fault(f"{text!r} is not a date", label, "write it as 2026-11-20") from None


def _with(here: Any, loc: Loc, fact: Fact[Any]) -> Any:
    if not loc:
        return fact
    step = loc[0]
    inner = _with(_inside(here, step), loc[1:], fact)
    if isinstance(step, int):
        return tuple(inner if number == step else one for number, one in enumerate(here))
    return here.model_copy(update={step: inner})
