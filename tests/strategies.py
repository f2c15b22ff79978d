"""Documents of any content, made from the models' own fields."""

from __future__ import annotations

import datetime as dt
from types import UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le
from hypothesis import strategies as st
from pydantic import BaseModel

from fieldfare.show.expected import Slot, plain, slots
from fieldfare.show.record import Fact
from fieldfare.show.show import Question

Document = TypeVar("Document", bound=BaseModel)

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
names = texts.map(str.strip).filter(bool)
tags = st.from_regex(r"[A-Z]{1,3}-[0-9]{1,3}", fullmatch=True)


_OTHERS: dict[Any, st.SearchStrategy[Any]] = {
    dt.date: st.dates(),
    dt.time: st.times(),
    dt.datetime: st.datetimes(timezones=st.just(dt.UTC)),
}


def documents(model: type[Document]) -> st.SearchStrategy[Document]:
    """Any document of a model, as reading it would give it."""
    return _data(model).map(model.model_validate)


def _data(model: type[BaseModel]) -> st.SearchStrategy[dict[str, Any]]:
    if issubclass(model, Fact):
        return _fact(slots(model)["value"])
    if issubclass(model, Question):
        return _question()
    required = {name: _slot(slot) for name, slot in slots(model).items() if slot.required}
    optional = {name: _slot(slot) for name, slot in slots(model).items() if not slot.required}
    return st.fixed_dictionaries(required, optional=optional)


def _fact(value: Slot) -> st.SearchStrategy[dict[str, Any]]:
    asked = st.sampled_from(["venue", "house", "band"])
    unknown = st.fixed_dictionaries({"ask": asked})
    likely = st.fixed_dictionaries({"value": _slot(value), "status": st.sampled_from(["expected", "possible"])})
    sure = st.fixed_dictionaries(
        {"value": _slot(value), "status": st.just("confirmed"), "by": names, "on": st.dates(), "ask": asked}
    )
    return unknown | likely | sure


def _question() -> st.SearchStrategy[dict[str, Any]]:
    asked = {"ask": st.sampled_from(["venue", "house", "band"]), "text": names}
    answered = {"answer": names, "by": names, "on": st.dates()}
    return st.fixed_dictionaries(asked) | st.fixed_dictionaries({**asked, **answered})


def _slot(slot: Slot) -> st.SearchStrategy[Any]:
    if slot.name == "tags":
        return st.lists(tags, min_size=1, max_size=6, unique=True)
    slot = plain(slot)
    kind, items = slot.annotation, get_args(slot.annotation)
    if get_origin(kind) is Literal:
        return st.sampled_from(items)
    if get_origin(kind) in (Union, UnionType):
        return st.one_of(*(_slot(Slot(item)) for item in items))
    if get_origin(kind) is dict:
        return st.dictionaries(names, _slot(Slot(items[1])), max_size=3)
    if get_origin(kind) is tuple and items[-1] is Ellipsis:
        least = next((bound.min_length for bound in slot.bounds if hasattr(bound, "min_length")), 0)
        return st.lists(_slot(Slot(items[0])), min_size=least, max_size=least + 2)
    if get_origin(kind) is tuple:
        return st.tuples(*(_slot(Slot(item)) for item in items))
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return _data(kind)
    return _single(slot)


def _single(slot: Slot) -> st.SearchStrategy[Any]:
    low = next((bound.ge for bound in slot.bounds if isinstance(bound, Ge)), None)
    above = next((bound.gt for bound in slot.bounds if isinstance(bound, Gt)), None)
    high = next((bound.le for bound in slot.bounds if isinstance(bound, Le)), None)
    if slot.annotation is bool:
        return st.booleans()
    if slot.annotation is int:
        least_int: Any = low if above is None else int(str(above)) + 1
        most_int: Any = high
        return st.integers(least_int, most_int)
    if slot.annotation is float:
        least: Any = above if above is not None else low
        return st.floats(least, high, allow_nan=False, allow_infinity=False, exclude_min=above is not None)  # type: ignore[arg-type]
    if slot.annotation in _OTHERS:
        return _OTHERS[slot.annotation]
    if slot.annotation is not str:
        raise TypeError(f"no strategy for {slot.annotation} of {slot.name}")
    if slot.name == "source":
        return st.just("definition")  # where a figure names its source, one that is in the bibliography
    return names if any(hasattr(bound, "min_length") for bound in slot.bounds) else texts
