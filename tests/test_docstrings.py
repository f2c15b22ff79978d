"""Every public function of physics says what it does, with a unit for each value, what it refuses, and its source."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import fieldfare.physics
from fieldfare.units.sources import PRACTICE, SOURCES

Function = Callable[..., Any]

NAMES = ("Parameters", "Returns", "Raises", "Sources", "Examples")
WORDS = Path(__file__).parent.parent / "docs" / "words.md"
RESULTS = {"%", "1", "A", "B/s", "V", "count", "dB re 1 V/Pa", "dBu(A)", "kg", "m/s", "min", "ms", "°"}


def _quantities() -> dict[str, str]:
    """Name and unit of every quantity in the words page."""
    table = WORDS.read_text("utf-8").partition("## Quantities")[2]
    return dict(re.findall(r"^\| (\w+) \| ([^|]+?) \| [^|]+ \|$", table, flags=re.MULTILINE)[1:])


QUANTITIES = _quantities()
MODULES = [
    importlib.import_module(f"fieldfare.physics.{found.name}")
    for found in pkgutil.iter_modules(fieldfare.physics.__path__)
    if not found.name.startswith("_")
]


def _public(module: ModuleType) -> list[Function]:
    named = inspect.getmembers(module, lambda one: inspect.isfunction(inspect.unwrap(one)))
    return [one for name, one in named if not name.startswith("_") and one.__module__ == module.__name__]


FUNCTIONS = [function for module in MODULES for function in _public(module)]


def _sections(function: Function) -> dict[str, str]:
    text = inspect.getdoc(function) or ""
    parts = re.split(r"^(\w+)\n-+$", text, flags=re.MULTILINE)
    return {"": parts[0].strip()} | {
        name: body.strip("\n") for name, body in zip(parts[1::2], parts[2::2], strict=True)
    }


def _parameters(text: str) -> dict[str, str]:
    found = re.split(r"^(\w+)\n", text, flags=re.MULTILINE)
    return dict(zip(found[1::2], found[2::2], strict=True))


def _complaints(function: Function) -> list[str]:
    """Everything that is wrong with a docstring; nothing where it is as it should be."""
    sections, signature = _sections(function), inspect.signature(inspect.unwrap(function))
    wanted = [name for name in NAMES if name != "Parameters" or signature.parameters]
    found = [name for name in sections if name]
    if found != wanted:
        return [f"sections are {found}, not {wanted}"]
    described = _parameters(sections.get("Parameters", ""))
    if list(described) != list(signature.parameters):
        return [f"parameters are {list(described)}, not {list(signature.parameters)}"]
    wrong = [f"{name}: {fault}" for name, text in described.items() if (fault := _parameter_fault(name, text))]
    keys = re.findall(r"\[([^\]]+)\]", sections["Sources"])
    wrong += [f"source {key!r} is not in the bibliography" for key in keys if key not in SOURCES]
    if not keys and PRACTICE not in sections["Sources"]:
        wrong.append("no source")
    if ">>>" not in sections["Examples"]:
        wrong.append("no example")
    if not re.match(r"[A-Z].*\.$", sections[""].splitlines()[0]):
        wrong.append("the first line is not one sentence")
    return wrong


def _unit(text: str) -> str:
    ending = re.search(r"\[([^\]]+)\]\s*$", text)
    return ending[1] if ending else ""


def _parameter_fault(name: str, text: str) -> str:
    if not (unit := _unit(text)):
        return "does not end in a unit in brackets"
    known = QUANTITIES.get(name, "not there")
    return "" if unit == known else f"unit is {unit}, in docs/words.md it is {known}"


def test_the_walk_finds_the_whole_floor() -> None:
    assert {module.__name__.rpartition(".")[2] for module in MODULES} >= {
        "levels", "microphones", "lines", "acoustics", "mains", "media", "hearing", "lifting",
    }  # fmt: skip
    assert len(FUNCTIONS) > 30


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda one: f"{one.__module__.rpartition('.')[2]}.{one.__name__}")
def test_the_docstring_is_whole(function: Function) -> None:
    assert _complaints(function) == []


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda one: f"{one.__module__.rpartition('.')[2]}.{one.__name__}")
def test_a_returned_number_has_its_unit(function: Function) -> None:
    if inspect.signature(inspect.unwrap(function)).return_annotation in ("float", "Number", "int", "float | None"):
        assert _unit(_sections(function)["Returns"]) in {*QUANTITIES.values(), *RESULTS}


def test_the_words_page_has_no_quantity_that_no_formula_takes() -> None:
    taken = {name for function in FUNCTIONS for name in inspect.signature(inspect.unwrap(function)).parameters}
    assert sorted(QUANTITIES) == sorted(taken)
    assert list(QUANTITIES) == sorted(QUANTITIES), "keep the table in order"


def _whole(length_m: float) -> float:
    """Half of a length.

    Parameters
    ----------
    length_m
        Length. [m]

    Returns
    -------
    Half of it. [m]

    Raises
    ------
    OutOfRange
        Never.

    Sources
    -------
    [definition].

    Examples
    --------
    >>> 1
    1
    """
    return length_m / 2


@pytest.mark.parametrize(
    ("written", "instead", "complaint"),
    [
        ("Length. [m]", "Length.", "length_m: does not end in a unit in brackets"),
        ("Length. [m]", "Length. [furlong]", "length_m: unit is furlong, in docs/words.md it is m"),
        ("length_m\n", "width_m\n", "parameters are ['width_m'], not ['length_m']"),
        ("[definition]", "[Nobody1900]", "source 'Nobody1900' is not in the bibliography"),
        ("[definition].", "None.", "no source"),
        (">>> 1", "1", "no example"),
        ("Raises\n    ------\n    OutOfRange\n        Never.\n", "", "sections are"),
        ("Half of a length.", "Half of a length", "the first line is not one sentence"),
    ],
)
def test_a_fault_in_a_docstring_is_told(written: str, instead: str, complaint: str) -> None:
    good = _whole.__doc__ or ""
    assert _complaints(_whole) == []
    assert written in good

    def spoilt(length_m: float) -> float:
        return length_m / 2

    spoilt.__doc__ = good.replace(written, instead)
    assert any(one.startswith(complaint) for one in _complaints(spoilt))
