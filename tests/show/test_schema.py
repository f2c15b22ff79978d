"""The published schemas: what the program reads and writes holds to them, and what it refuses does not."""

from __future__ import annotations

import json
import operator
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel
from strategies import documents

from fieldfare.show.findings import OffloadReport, TakeReport
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Plan
from fieldfare.show.schema import DOCUMENTS, schema_of
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue

DEMO = Path(__file__).parents[2] / "src/fieldfare/show/demo"
TYPES: dict[str, tuple[type, ...]] = {
    "object": (dict,),
    "array": (list,),
    "string": (str,),
    "number": (int, float),
    "integer": (int,),
    "boolean": (bool,),
    "null": (type(None),),
}
NOTES = {"title", "description", "default", "format", "$defs", "$schema"}  # say something, demand nothing


def _breaks(value: Any, schema: dict[str, Any], root: dict[str, Any], at: str = "") -> Iterator[str]:
    """Tell what breaks a schema, for the keywords of draft 2020-12 that ours use; an unknown keyword is an error."""
    for word, rule in schema.items():
        if word in NOTES or (word == "items" and "prefixItems" in schema):
            continue
        yield from _RULES[word](value, rule, root, at, schema)


def _any_of(value: Any, rule: Any, root: Any, at: str, schema: Any) -> Iterator[str]:
    if all(any(_breaks(value, one, root, at)) for one in rule):
        yield f"{at}: fits none of several"


def _type(value: Any, rule: str, root: Any, at: str, schema: Any) -> Iterator[str]:
    if not isinstance(value, TYPES[rule]) or (isinstance(value, bool) and rule != "boolean"):
        yield f"{at}: {value!r} is no {rule}"


def _ref(value: Any, rule: str, root: Any, at: str, schema: Any) -> Iterator[str]:
    yield from _breaks(value, root["$defs"][rule.removeprefix("#/$defs/")], root, at)


def _properties(value: Any, rule: Any, root: Any, at: str, schema: Any) -> Iterator[str]:
    for name, inner in rule.items():
        if isinstance(value, dict) and name in value:
            yield from _breaks(value[name], inner, root, f"{at}.{name}")


def _required(value: Any, rule: list[str], root: Any, at: str, schema: Any) -> Iterator[str]:
    yield from (f"{at}.{name} is missing" for name in rule if isinstance(value, dict) and name not in value)


def _additional(value: Any, rule: Any, root: Any, at: str, schema: Any) -> Iterator[str]:
    for name in set(value) - set(schema.get("properties", ())) if isinstance(value, dict) else ():
        if rule is False:
            yield f"{at}.{name} is not known"
        elif isinstance(rule, dict):
            yield from _breaks(value[name], rule, root, f"{at}.{name}")


def _items(value: Any, rule: Any, root: Any, at: str, schema: Any) -> Iterator[str]:
    for number, one in enumerate(value if isinstance(value, list) else ()):
        yield from _breaks(one, rule, root, f"{at}[{number}]")


def _prefix(value: Any, rule: Any, root: Any, at: str, schema: Any) -> Iterator[str]:
    for number, (one, inner) in enumerate(zip(value if isinstance(value, list) else (), rule, strict=False)):
        yield from _breaks(one, inner, root, f"{at}[{number}]")


def _enum(value: Any, rule: list[Any], root: Any, at: str, schema: Any) -> Iterator[str]:
    if value not in rule:
        yield f"{at}: {value!r} is none of {rule}"


def _limit(
    word: str, kind: type | tuple[type, ...], size: Callable[[Any], float], fits: Callable[[float, float], bool]
) -> Any:
    def limit(value: Any, rule: float, root: Any, at: str, schema: Any) -> Iterator[str]:
        if isinstance(value, kind) and not fits(size(value), rule):
            yield f"{at}: {value!r} breaks {word} {rule}"

    return limit


_RULES: dict[str, Any] = {
    "anyOf": _any_of,
    "type": _type,
    "$ref": _ref,
    "properties": _properties,
    "required": _required,
    "additionalProperties": _additional,
    "items": _items,
    "prefixItems": _prefix,
    "enum": _enum,
    "const": lambda value, rule, root, at, schema: _enum(value, [rule], root, at, schema),
    "minimum": _limit("minimum", (int, float), float, operator.ge),
    "exclusiveMinimum": _limit("exclusiveMinimum", (int, float), float, operator.gt),
    "maximum": _limit("maximum", (int, float), float, operator.le),
    "minLength": _limit("minLength", str, len, operator.ge),
    "maxLength": _limit("maxLength", str, len, operator.le),
    "minItems": _limit("minItems", list, len, operator.ge),
    "maxItems": _limit("maxItems", list, len, operator.le),
}


def _told(value: Any, document: str) -> list[str]:
    schema = schema_of(document)
    return list(_breaks(value, schema, schema))


def _as_json(document: BaseModel) -> Any:
    return json.loads(document.model_dump_json())


@pytest.mark.parametrize("name", ["show", "venue", "kit"])
def test_what_a_person_writes_holds_to_the_schema(name: str) -> None:
    written = json.loads(json.dumps(tomllib.loads((DEMO / f"{name}.toml").read_text("utf-8")), default=str))
    assert _told(written, name) == []


@pytest.mark.parametrize("act", ["The duo", ["The duo", "The choir"]])
def test_an_act_of_a_set_may_stand_alone_or_in_a_list(act: object) -> None:
    written = json.loads(json.dumps(tomllib.loads((DEMO / "show.toml").read_text("utf-8")), default=str))
    written["set"][0]["act"] = act
    assert _told(written, "show") == []


@given(st.one_of(documents(Kit), documents(Venue), documents(Show)))
@settings(max_examples=60)
def test_any_document_holds_to_its_schema(document: BaseModel) -> None:
    assert _told(_as_json(document), type(document).__name__.lower()) == []


@given(documents(TakeReport))
@settings(max_examples=30)
def test_any_take_report_holds_to_its_schema(report: TakeReport) -> None:
    assert _told(_as_json(report), "take") == []


@given(documents(OffloadReport))
@settings(max_examples=30)
def test_any_offload_report_holds_to_its_schema(report: OffloadReport) -> None:
    assert _told(_as_json(report), "offload") == []


@given(documents(Plan))
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_any_plan_holds_to_its_schema(plan: Plan) -> None:
    assert _told(_as_json(plan), "plan") == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"crew": 0}, ".crew: 0 breaks minimum 1"),
        ({"crew": True}, ".crew: True is no integer"),
        ({"kit": []}, ".kit: [] breaks minItems 1"),
        ({"tittle": "x"}, ".tittle is not known"),
        ({"recording": {"bits": 20}}, ".recording.bits: 20 is none of [16, 24, 32]"),
        ({"wedge": [{"name": "1", "at": [1], "facing_deg": 0}]}, ".wedge[0].at: [1] breaks minItems 2"),
        ({"act": [{"source": []}]}, ".act[0].name is missing"),
    ],
    ids=str,
)
def test_what_the_program_refuses_breaks_the_schema(change: dict[str, Any], said: str) -> None:
    show = {"title": "Dance", "date": "2026-12-04", "venue": "venue.toml", "kit": ["kit.toml"]}
    assert _told(show, "show") == []
    assert _told(show | change, "show") == [said]


@pytest.mark.parametrize("document", DOCUMENTS)
def test_every_schema_stands_by_itself(document: str) -> None:
    schema = schema_of(document)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["additionalProperties"] is False
    text = json.dumps(schema)
    for name in schema.get("$defs", ()):  # a flat one has none
        assert f'"#/$defs/{name}"' in text
