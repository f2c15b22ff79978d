"""A figure with its working: sourced, frozen, and unknown where something it needs is unknown."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from fieldfare.units.sources import PRACTICE, SOURCES
from fieldfare.units.working import Given, Working

GAIN = Working(
    value=31.8,
    unit="dB",
    formula="full scale + target − output",
    given=(Given(name="output", value=-25.76, unit="dBu"), Given(name="target", value="unknown")),
    source="definition",
    plus_minus=3,
)


@pytest.mark.parametrize("source", [*SOURCES, PRACTICE])
def test_a_working_rests_on_the_bibliography_or_on_practice(source: str) -> None:
    assert Working(value=None, unit="dB", formula="", source=source).source == source


def test_a_source_that_nobody_knows_is_refused() -> None:
    with pytest.raises(ValidationError, match="source 'Nobody1900' is not in the bibliography"):
        Working(value=1, unit="dB", formula="", source="Nobody1900")


def test_it_goes_to_json_and_back() -> None:
    assert Working.model_validate_json(GAIN.model_dump_json()) == GAIN


def test_it_is_not_changed_in_place() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        GAIN.value = 0  # type: ignore[misc]


def test_a_field_it_does_not_have_is_refused() -> None:
    with pytest.raises(ValidationError, match="Extra inputs are not permitted"):
        Given.model_validate({"name": "output", "value": 1, "note": ""})
