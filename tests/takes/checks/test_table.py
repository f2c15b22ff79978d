"""The table of checks as a whole: nothing forgotten, nothing twice, every number with its source."""

from __future__ import annotations

import inspect
import re
from pathlib import Path
from typing import get_args

import pytest

from fieldfare.show.findings import Trouble
from fieldfare.takes.checks import clicks, clipping, files, gains, gaps, levels, mains, pairs, sudden, thresholds
from fieldfare.takes.checks.check import TakeCheck, TrackCheck
from fieldfare.takes.checks.table import TAKE_CHECKS, TRACK_CHECKS
from fieldfare.units.sources import PRACTICE, SOURCES

MODULES = (clicks, clipping, files, gains, gaps, levels, mains, pairs, sudden)
CHECKS = (*TRACK_CHECKS, *TAKE_CHECKS)
HERE = Path(__file__).parent


def test_every_trouble_that_can_be_told_has_a_check_and_no_check_tells_another() -> None:
    assert {check.kind for check in CHECKS} == set(get_args(Trouble))


def test_every_generator_of_hits_is_in_the_table_once() -> None:
    finders = [
        function
        for module in MODULES
        for name, function in inspect.getmembers(module, inspect.isgeneratorfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    ]
    assert sorted(map(id, finders)) == sorted(id(check.find) for check in CHECKS)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.find.__name__)
def test_every_check_says_what_it_looks_for_how_it_sounds_and_whose_rule_it_is(check: TrackCheck | TakeCheck) -> None:
    assert check.source in SOURCES or check.source == PRACTICE
    assert check.sounds.endswith(".")
    assert (check.find.__doc__ or "").endswith(".")


@pytest.mark.parametrize(("name", "limit"), thresholds.table().items())
def test_every_threshold_has_a_source_a_reason_and_a_use(name: str, limit: thresholds.Threshold) -> None:
    assert limit.source in SOURCES or limit.source == PRACTICE
    assert limit.means
    users = [Path(inspect.getfile(module)).read_text("utf-8") for module in MODULES]
    own = Path(inspect.getfile(thresholds)).read_text("utf-8")
    used = any(re.search(rf"\blimit\.{name}\b", text) for text in users)
    kept_in_the_pass = re.search(rf"^{name} = Threshold\(\s*(100 \* )?[A-Z_]+,|^KEPT_REPEAT\b", own, re.MULTILINE)
    assert used or kept_in_the_pass


@pytest.mark.parametrize("kind", get_args(Trouble))
def test_every_trouble_is_tried_both_ways(kind: str) -> None:
    """Each is asserted to be found somewhere in the tests, and to be left alone somewhere."""
    text = "".join(path.read_text("utf-8") for path in (*HERE.glob("test_checks_*.py"), *HERE.glob("../tracks/*.py")))
    assert f'"{kind}"' in text
