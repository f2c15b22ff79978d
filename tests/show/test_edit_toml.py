"""A hand-written file is changed where it must be, and nowhere else."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from fieldfare.show.edit_toml import edit_toml, edited
from fieldfare.show.record import Fact
from fieldfare.show.show import Pin, Show, Source
from fieldfare.show.toml import read_show

DEMO = Path(str(files("fieldfare.show") / "demo"))
TEXT = (DEMO / "show.toml").read_text("utf-8")
SHOW = read_show(DEMO).show
VENUE = read_show(DEMO).venue


def _with_sources(*sources: Source) -> Show:
    return SHOW.model_copy(update={"act": (SHOW.act[0].model_copy(update={"source": sources}),)})


def _lines(text: str | None) -> set[str]:
    assert text is not None
    return set(text.splitlines())


def test_what_says_the_same_is_left_as_it_is() -> None:
    assert edited(TEXT, SHOW) == TEXT
    text = (DEMO / "venue.toml").read_text("utf-8")
    assert edited(text, VENUE) == text


def test_only_the_line_that_changed_is_another() -> None:
    first, *rest = SHOW.sources
    moved = edited(TEXT, _with_sources(first.model_copy(update={"at": (0.5, 3.0)}), *rest))
    assert _lines(moved) - _lines(TEXT) == {"at = [0.5, 3]"}
    assert _lines(TEXT) - _lines(moved) == {"at = [0.0, 3.2]"}


def test_remarks_and_spacing_stay_through_every_kind_of_change() -> None:
    text = "# Ask about parking\n" + TEXT.replace('recipe = "fiddle"', 'recipe = "fiddle"  # the loud one')
    kept = [one for one in SHOW.sources if one.name != "Trumpet"]
    added = Source(name="Φωνή", recipe="lead vocal", at=(0.0, 1.0))
    show = _with_sources(kept[1], kept[0], *kept[2:], added).model_copy(update={"pin": (Pin(input="kick", line=3),)})
    changed = edited(text, show)
    assert changed is not None
    assert changed.startswith("# Ask about parking\n")
    assert 'recipe = "fiddle"  # the loud one' in changed
    assert "Trumpet" not in changed
    assert tomllib.loads(changed)["act"][0]["source"][-1]["name"] == "Φωνή"


def test_a_fact_of_a_venue_is_set_in_its_line() -> None:
    text = (DEMO / "venue.toml").read_text("utf-8")
    known = Fact[str](value="none", status="expected", ask="venue")
    changed = edited(text, VENUE.model_copy(update={"limiter": known}))
    assert len(_lines(changed) - _lines(text)) == 1


def test_a_text_that_cannot_be_read_is_not_changed_in_place() -> None:
    assert edited("title = ", SHOW) is None
    assert edited("title = 7\n", SHOW) is None


def test_a_file_that_cannot_be_changed_in_place_is_written_anew_and_told(tmp_path: Path) -> None:
    file = tmp_path / "show.toml"
    file.write_text("# lost\ntitle = ", "utf-8")
    assert edit_toml(file, SHOW) is False
    assert edited(file.read_text("utf-8"), SHOW) == file.read_text("utf-8")


NAMES = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=20).filter(str.strip)


@given(st.lists(NAMES, min_size=0, max_size=5, unique_by=str.strip), st.data())
@settings(max_examples=40, deadline=None)
def test_any_line_up_is_read_back_as_it_was_meant(names: list[str], data: st.DataObject) -> None:
    kept = data.draw(st.permutations(SHOW.sources))[: data.draw(st.integers(0, len(SHOW.sources)))]
    new = [Source(name=name, recipe="fiddle", at=(1.0, 2.0)) for name in names]
    show = _with_sources(*kept, *new)
    changed = edited(TEXT, show)
    assert changed is not None
    assert edited(changed, show) == changed
