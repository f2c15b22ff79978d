"""What one part of the documents says of another must be there; each rule fires, and is silent on the demo."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest

from fieldfare.show.references import kit_faults, show_faults, venue_faults
from fieldfare.show.written import Written
from fieldfare.units.faults import Blemish

DEMO = Path(__file__).parents[2] / "src/fieldfare/show/demo"
DATA = {name: tomllib.loads((DEMO / f"{name}.toml").read_text("utf-8")) for name in ("show", "venue", "kit")}

CASES = tomllib.loads((Path(__file__).parent / "cases/references.toml").read_text("utf-8"))["case"]


def _faults(name: str, at: tuple[str, ...] = (), value: object = None) -> list[Blemish]:
    """The faults of the demo with one value put in its place; at no place it stays as it is."""
    documents = {one: Written(one, copy.deepcopy(data), lambda loc: "") for one, data in DATA.items()}
    here: Any = documents[name].data
    for step in at[:-1]:
        here = here[int(step) if isinstance(here, list) else step]
    if at:
        here[int(at[-1]) if isinstance(here, list) else at[-1]] = value
    show, venue, kit = (documents[one] for one in ("show", "venue", "kit"))
    return [*show_faults(show, venue, [kit]), *venue_faults(venue), *kit_faults([kit])]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["said"][:50])
def test_what_is_not_there_is_told_with_the_nearest_that_is(case: dict[str, Any]) -> None:
    told = [str(fault) for fault in _faults(case["in"], tuple(case["put"].split(".")), case["value"])]
    assert any(case["said"] in one for one in told), told


def test_the_demo_keeps_all_the_rules() -> None:
    assert not _faults("show")


@pytest.mark.parametrize("junk", [None, 3, "x", [], [3], {}, {"x": 1}, [[]], [{}]], ids=str)
@pytest.mark.parametrize("name", ["show", "venue", "kit"])
def test_no_rule_stumbles_over_what_is_wrongly_written(name: str, junk: object) -> None:
    """The fields' own faults are told elsewhere; here nothing may break, nor be told twice."""
    for key in DATA[name]:
        faults = _faults(name, (key,), junk)
        assert all(fault.read and fault.remedy for fault in faults)


def test_a_kit_that_names_no_bins_may_use_any() -> None:
    assert not _faults("kit", ("bin",), [])
