"""Faults of fields: each in plain words, at its line, with what would be right."""

from __future__ import annotations

import copy
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from fieldfare.show.kit import Kit
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.show.wording import validated
from fieldfare.show.written import Loc, Written, toml_places

DEMO = Path(__file__).parents[2] / "src/fieldfare/show/demo"
MODELS: dict[str, type[BaseModel]] = {"show": Show, "venue": Venue, "kit": Kit}
DATA = {name: tomllib.loads((DEMO / f"{name}.toml").read_text("utf-8")) for name in MODELS}

KIT = """\
[[mic]]
item = "vocal mic"
tags = "M-01..M-02"
kind = "small dynamic"
pattern = "cardioid"
phantom = "ignored"
sensitivity_mv_pa = 2
impedance_ohm = 300
"""
SHOW = 'title = "Dance"\ndate = 2026-12-04\nvenue = "venue.toml"\nkit = ["kit.toml"]\n'
CASES = Path(__file__).parent / "cases"


def _slips(document: str) -> list[dict[str, str]]:
    slips: list[dict[str, str]] = tomllib.loads((CASES / f"{document}_slips.toml").read_text("utf-8"))["slip"]
    return slips


def _said(model: type[BaseModel], text: str) -> list[str]:
    written = Written("it.toml", tomllib.loads(text), toml_places(text))
    document, blemishes = validated(written, model)
    assert (document is None) == bool(blemishes)
    return [str(blemish).removeprefix("it.toml, ") for blemish in blemishes]


@pytest.mark.parametrize("slip", _slips("kit"), ids=lambda slip: slip["said"][:40])
def test_a_slip_in_a_kit(slip: dict[str, str]) -> None:
    assert not _said(Kit, KIT)
    told = _said(Kit, KIT.replace(slip["right"], slip["wrong"], 1))
    assert len(told) == 1
    assert slip["said"] in told[0]


@pytest.mark.parametrize("slip", _slips("show"), ids=lambda slip: slip["said"][:40])
def test_a_slip_in_a_show(slip: dict[str, str]) -> None:
    assert not _said(Show, SHOW)
    told = _said(Show, SHOW.replace(slip["right"], slip["wrong"], 1))
    assert len(told) == 1
    assert slip["said"] in told[0]


@pytest.mark.parametrize(
    ("fact", "said"),
    [
        (
            "19",
            '19 does not say how sure it is; write { value = 19, status = "expected" }, or "possible", '
            'or "confirmed" with by = "…" and on = 2026-11-20',
        ),
        ("{ value = 19 }", "an unknown fact has no value; give a status of confirmed, expected or possible"),
        ('{ status = "expected" }', 'a fact that is expected needs a value; give value = …, or status = "unknown"'),
        (
            '{ value = 19, status = "confirmed", by = "us" }',
            "a confirmed fact says by whom and on which date; give by =",
        ),
        ('{ value = "mild", status = "expected" }', '"mild" is not a number; give a number in °C'),
        ('{ value = 19, status = "sure" }', '"sure" is not known here; write one of "confirmed", "expected", '),
    ],
)
def test_a_fact_says_how_sure_it_is(fact: str, said: str) -> None:
    """Unknown never becomes a number."""
    text = (DEMO / "venue.toml").read_text("utf-8")
    told = _said(Venue, re.sub(r"temperature_c = .*", f"temperature_c = {fact}", text))
    assert len(told) == 1
    assert told[0].startswith("line 10, temperature_c")
    assert said in told[0]


def _locs(value: Any, loc: Loc = ()) -> list[Loc]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [loc, *(one for key, part in inner for one in _locs(part, (*loc, key)))]


JUNK: list[Any] = [
    "", "junk", "3,5", "x" * 300, 0, -1, 2.5, True, 10**30, [], ["x"], [1, 2, 3], {}, {"value": 3}, [{}],
]  # fmt: skip
JARGON = re.compile(
    r"\b(input should|valid|pydantic|literal|tuple|dict(ionary)?|str(ing)?|int(eger)?|float|bool(ean)?|"
    r"object|array|null|None|type|class|items|parse|parsing|extra)\b",
    re.IGNORECASE,
)
PLACES = [(name, loc) for name in MODELS for loc in _locs(DATA[name])[1:]]


@given(st.sampled_from(PLACES), st.sampled_from(JUNK), st.booleans())
@settings(max_examples=400)
def test_no_fault_anywhere_speaks_of_anything_but_the_document(
    place: tuple[str, Loc], junk: Any, misname: bool
) -> None:
    name, loc = place
    data = copy.deepcopy(DATA[name])
    here: Any = data
    for step in loc[:-1]:
        here = here[step]
    if misname and isinstance(here, dict):
        here["zz" + str(loc[-1])] = junk
    else:
        here[loc[-1]] = junk
    _, blemishes = validated(Written("it.toml", data, lambda loc: "line 1"), MODELS[name])
    for blemish in blemishes:
        told = re.sub(r'"[^"]*"', "", f"{blemish.read}; {blemish.remedy}")
        assert blemish.read
        assert blemish.remedy
        assert not JARGON.search(told), told


def test_every_field_of_the_demo_can_be_missed_and_is_asked_for() -> None:
    """Whatever is taken out is either not needed or named as missing, at its table."""
    for name, loc in PLACES:
        if isinstance(loc[-1], int):
            continue
        data = copy.deepcopy(DATA[name])
        here: Any = data
        for step in loc[:-1]:
            here = here[step]
        del here[loc[-1]]
        _, blemishes = validated(Written("it.toml", data, lambda loc: ""), MODELS[name])
        assert len(blemishes) <= 1
        for blemish in blemishes:
            assert blemish.field.endswith(str(loc[-1])) or "status" in blemish.remedy or "value" in blemish.remedy
