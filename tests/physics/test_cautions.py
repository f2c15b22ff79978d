"""Cautions: whole, sourced, deferring, and never advising what harms."""

from __future__ import annotations

import re

import pytest

from fieldfare.physics.cautions import CAUTIONS, Caution
from fieldfare.units.sources import PRACTICE, SOURCES

ALL = list(CAUTIONS.values())


@pytest.mark.parametrize("caution", ALL, ids=lambda caution: caution.id)
def test_a_caution_has_a_source_and_is_a_sentence(caution: Caution) -> None:
    assert caution.source in SOURCES or caution.source == PRACTICE
    assert re.fullmatch(r"[A-Z].*\.", caution.text)
    assert "  " not in caution.text


@pytest.mark.parametrize("subject", ["mains", "lifting", "hearing"])
def test_the_first_of_each_subject_defers_to_local_rules(subject: str) -> None:
    first = next(caution for caution in ALL if caution.subject == subject)
    assert first.id.endswith("0")
    assert "come first" in first.text
    assert "ocal" in first.text


def test_mains_is_for_licensed_people() -> None:
    assert "licensed electrician" in CAUTIONS["MS0"].text


def test_no_caution_advises_lifting_an_earth() -> None:
    earth = [caution for caution in ALL if re.search(r"\bearth\b", caution.text)]
    assert [caution.id for caution in earth] == ["MS6"]
    assert earth[0].text.startswith("Never")


def test_crossing_at_right_angles_is_advice_and_not_a_caution() -> None:
    """Print has it as a law, is advice: a respected engineer calls it mostly myth for balanced lines."""
    assert not [caution for caution in ALL if "right angle" in caution.text or "90°" in caution.text]


def test_what_protects_people_trips_at_30_ma() -> None:
    """[HSERCD] 30 mA or less."""
    assert "30 mA" in CAUTIONS["MS1"].text


def test_cautions_cannot_be_changed() -> None:
    with pytest.raises(TypeError, match="does not support item assignment"):
        CAUTIONS["MS1"] = CAUTIONS["MS0"]  # type: ignore[index]
