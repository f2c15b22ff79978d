from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from plan.checks.little_plan import CASES, changed

import fieldfare.plan.checks
from fieldfare.plan.checks.check import Check
from fieldfare.plan.checks.table import CHECKS, run_checks
from fieldfare.units.sources import PRACTICE, SOURCES

BUILD = ("check", "context", "hours", "table")  # modules that hold no checks


def test_every_check_is_silent_on_the_plan_that_the_cases_start_from() -> None:
    assert run_checks(changed({})) == ()


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['check']} {case['name']}")
def test_a_case_fires_as_it_says_or_keeps_silent(case: dict[str, Any]) -> None:
    hits = [hit for hit in run_checks(changed(case["change"])) if hit.check == case["check"]]
    assert [hit.says for hit in hits] == case["says"]
    assert [hit.input for hit in hits] == case.get("input", [hit.input for hit in hits])


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_every_check_fires_somewhere_keeps_silent_elsewhere_and_has_a_source(check: Check) -> None:
    assert {bool(case["says"]) for case in CASES if case["check"] == check.id} == {True, False}
    assert check.source in SOURCES or check.source == PRACTICE


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_every_sentence_names_the_hop_and_the_remedy(check: Check) -> None:
    assert check.says.count("{hop}") == 1
    assert check.says.endswith(": {remedy}.")


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['check']} {case['name']}")
def test_a_sentence_says_what_is_wrong_and_after_one_colon_what_to_do(case: dict[str, Any]) -> None:
    for text in case["says"]:
        assert text.count(": ") == 1, text
        assert text[0].isupper()
        assert text.endswith(".")


def test_ids_are_told_apart_and_named_by_their_cases() -> None:
    ids = [check.id for check in CHECKS]
    assert len(set(ids)) == len(ids)
    assert {case["check"] for case in CASES} == set(ids)


def test_the_table_holds_every_check_that_is_written_and_no_other_function() -> None:
    written = [function for _, function in _functions()]
    assert {check.find for check in CHECKS} == set(written)
    assert len(CHECKS) == len(written)


def test_nobody_is_ever_told_to_lift_a_mains_earth() -> None:
    """Protective earth is named only to forbid it."""
    said = [text for case in CASES for text in case["says"]] + [
        inspect.getsource(function) for _, function in _functions()
    ]
    for text in said:
        for word in ("mains earth", "protective earth", "earth pin"):
            assert word not in text or f"never lift a {word}" in text or f"never a {word}" in text, text


def test_hits_come_in_the_order_of_the_table() -> None:
    hits = run_checks(changed({"input.voice.reserve": -3.0, "input.snare.channel": 1, "input.fiddle.phantom": False}))
    order = [check.id for check in CHECKS]
    assert [hit.check for hit in hits] == sorted([hit.check for hit in hits], key=order.index)
    assert {hit.severity for hit in hits} <= {"stop", "warn", "note"}


def _functions() -> Iterator[tuple[str, Callable[..., object]]]:
    for module in pkgutil.iter_modules(fieldfare.plan.checks.__path__):
        if module.name in BUILD:
            continue
        loaded = importlib.import_module(f"fieldfare.plan.checks.{module.name}")
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            if not name.startswith("_") and function.__module__ == loaded.__name__:
                yield name, function
