"""What a field of a document wants, in plain words: for faults, for the page of fields and for the kit's columns."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from fieldfare.show.record import Fact
from fieldfare.units.text import listed

UNITS = (  # by the end of a field's name
    ("_mv_pa", "mV/Pa"),
    ("_pf_m", "pF/m"),
    ("_mb_s", "MB/s"),
    ("_dbfs", "dBFS"),
    ("_dba", "dB(A)"),
    ("_dbu", "dBu"),
    ("_spl_db", "dB SPL"),
    ("_mm2", "mm²"),
    ("_ohm", "Ω"),
    ("_deg", "degrees"),
    ("_db", "dB"),
    ("_gb", "GB"),
    ("_wh", "Wh"),
    ("_hz", "Hz"),
    ("_kg", "kg"),
    ("_m", "metres"),
    ("_s", "seconds"),
    ("_w", "W"),
    ("_a", "A"),
    ("_v", "V"),
    ("_c", "°C"),
)


_COUNTS = ("no", "one", "two", "three")


@dataclass(frozen=True, slots=True)
class Slot:
    """One place of a document: what may stand there and what it is about."""

    annotation: Any
    name: str = ""
    about: str = ""
    required: bool = True
    default: Any = None
    bounds: tuple[object, ...] = ()


def slots(model: type[BaseModel]) -> dict[str, Slot]:
    """Return the fields of a model, in the order in which they are written."""
    return {
        name: Slot(
            field.annotation,
            name,
            field.description or "",
            field.is_required(),
            None if field.is_required() else field.get_default(call_default_factory=True, validated_data={}),
            tuple(field.metadata),
        )
        for name, field in model.model_fields.items()
    }


def slot_at(model: type[BaseModel], loc: tuple[str | int, ...]) -> Slot | None:
    """Follow a place through a model to what may stand there; None where nothing may."""
    here: Slot | None = Slot(model)
    for step in loc:
        here = _step(here, step) if here else None
    return here


def _step(slot: Slot, step: str | int) -> Slot | None:
    slot = plain(slot)
    kind = slot.annotation
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        inner = slots(kind).get(str(step))
        return replace(inner, name=slot.name) if inner and step == "value" and issubclass(kind, Fact) else inner
    if get_origin(kind) is tuple and isinstance(step, int):
        items = get_args(kind)
        inner = items[0] if len(items) == 2 and items[1] is Ellipsis else items[step] if step < len(items) else None
        return None if inner is None else Slot(inner, slot.name, slot.about)
    if get_origin(kind) is dict:
        return Slot(get_args(kind)[1], slot.name, slot.about)
    return None


def plain(slot: Slot) -> Slot:
    """Take off what only qualifies a slot: optional, annotated; bounds and descriptions are kept."""
    while True:
        origin = get_origin(slot.annotation)
        if origin is Annotated:
            inner, *extras = get_args(slot.annotation)
            fields = [extra for extra in extras if isinstance(extra, FieldInfo)]
            bounds = (*slot.bounds, *extras, *(bound for field in fields for bound in field.metadata))
            about = slot.about or next((field.description for field in fields if field.description), "")
            slot = replace(slot, annotation=inner, bounds=bounds, about=about)
        elif origin in (Union, UnionType):
            kinds = [kind for kind in get_args(slot.annotation) if kind is not NoneType]
            if len(kinds) != 1:
                return slot
            slot = replace(slot, annotation=kinds[0])
        else:
            return slot


def model_of(slot: Slot) -> type[BaseModel] | None:
    """Return the model that a slot holds, alone or as a list."""
    kind = plain(slot).annotation
    if get_origin(kind) is tuple:
        kind = plain(Slot(get_args(kind)[0])).annotation
    return kind if isinstance(kind, type) and issubclass(kind, BaseModel) else None


def is_list(slot: Slot) -> bool:
    """Tell whether a slot holds any number of things."""
    kind = plain(slot).annotation
    return get_origin(kind) is tuple and get_args(kind)[-1] is Ellipsis


def fact_of(slot: Slot) -> Slot | None:
    """Return what a fact is about, where a slot holds a fact."""
    kind = plain(slot).annotation
    if isinstance(kind, type) and issubclass(kind, Fact):
        return replace(slots(kind)["value"], name=slot.name, about=slot.about)
    return None


def choices(slot: Slot) -> tuple[str, ...]:
    """Return the values that a slot may take, where they are a closed list, as they are written in TOML."""
    kind = plain(slot).annotation
    return tuple(shown(value) for value in get_args(kind)) if get_origin(kind) is Literal else ()


def shown(value: object) -> str:
    """Write a value as a person would in TOML, cut short where it is long.

    >>> shown("ribbon"), shown(True), shown([1, 2]), shown(2.50)
    ('"ribbon"', 'true', 'a list', '2.5')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"' if len(value) <= 60 else f'"{value[:57]}…"'
    if isinstance(value, list | tuple):
        return "a list" if value else "an empty list"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    return f"{value:.15g}" if isinstance(value, float) else str(value)


def unit_of(name: str) -> str:
    """Return the unit that the end of a field's name tells, or "".

    >>> unit_of("length_m"), unit_of("sensitivity_mv_pa"), unit_of("item")
    ('metres', 'mV/Pa', '')
    """
    return next((unit for end, unit in UNITS if name.endswith(end)), "")


def wanted(slot: Slot) -> str:
    """Say what may stand in a slot: ``a number in metres, more than 0``."""
    slot = plain(slot)
    kind, fact = slot.annotation, fact_of(slot)
    if fact:
        return f'a fact: {{ value = …, status = "expected" }}, the value being {wanted(fact)}'
    if options := choices(slot):
        return options[0] if len(options) == 1 else f"one of {listed(options).replace(' and ', ' or ')}"
    if get_origin(kind) is tuple:
        return _wanted_list(slot)
    if get_origin(kind) is dict:
        return f"pairs in braces, each with {wanted(Slot(get_args(kind)[1]))}"
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return f"a table [{slot.name}]" if slot.name else "a table"
    return _wanted_value(slot)


def _wanted_value(slot: Slot) -> str:
    words = {
        bool: "true or false",
        int: "a whole number",
        float: "a number",
        Decimal: "a number",
        str: "text in quotes",
        dt.date: "a date: 2026-12-04",
        dt.time: "a time: 19:30:00",
    }
    what = words.get(slot.annotation, "a value")
    if slot.annotation not in (int, float, Decimal):
        return what
    unit = unit_of(slot.name)
    return ", ".join([f"{what} in {unit}" if unit else what, *_bounds(slot)])


def _wanted_list(slot: Slot) -> str:
    items = get_args(slot.annotation)
    if items[-1] is Ellipsis:
        model = model_of(slot)
        entry = wanted(Slot(items[0], slot.name))
        return f"tables [[{slot.name}]]" if model else f"a list in square brackets, each entry {entry}"
    about = f": {slot.about[:1].lower()}{slot.about[1:]}" if slot.about else ""
    if {plain(Slot(item)).annotation for item in items} != {float}:
        return f"{_COUNTS[len(items)]} in square brackets{about}"
    unit = f" in {unit_of(slot.name)}," if unit_of(slot.name) else ""
    example = ", ".join(("1.5", "0.8", "0.0")[: len(items)])
    return f"{_COUNTS[len(items)]} numbers{unit} in square brackets, as [{example}]{about}"


def _bounds(slot: Slot) -> Iterator[str]:
    for bound in slot.bounds:
        match bound:
            case Gt(gt=limit):
                yield f"more than {shown(limit)}"
            case Ge(ge=limit):
                yield f"{shown(limit)} or more"
            case Lt(lt=limit):
                yield f"less than {shown(limit)}"
            case Le(le=limit):
                yield f"at most {shown(limit)}"
