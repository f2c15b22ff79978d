"""Writing documents: what is written reads back equal, stays readable, and never leaves half a file."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from strategies import documents

from fieldfare.show.kit import Adapter, Kit
from fieldfare.show.show import Show
from fieldfare.show.toml import read_kit, read_show
from fieldfare.show.venue import Venue
from fieldfare.show.write_toml import to_toml, write_toml
from fieldfare.units.faults import NotDone

DEMO = Path(__file__).parents[2] / "src/fieldfare/show/demo"


@given(documents(Kit))
@settings(max_examples=60)
def test_a_kit_reads_back_equal(kit: Kit) -> None:
    assert Kit.model_validate(tomllib.loads(to_toml(kit))) == kit


@given(documents(Venue))
@settings(max_examples=60)
def test_a_venue_reads_back_equal(venue: Venue) -> None:
    assert Venue.model_validate(tomllib.loads(to_toml(venue))) == venue


@given(documents(Show))
@settings(max_examples=60)
def test_a_show_reads_back_equal(show: Show) -> None:
    assert Show.model_validate(tomllib.loads(to_toml(show))) == show


def test_the_demo_written_anew_is_the_same_show(tmp_path: Path) -> None:
    demo = read_show(DEMO)
    for name, document in (("show", demo.show), ("venue", demo.venue), ("kit", demo.kit)):
        write_toml(document, tmp_path / f"{name}.toml", "Written anew.\n\nTwice checked.")
    again = read_show(tmp_path)
    assert again.digest == demo.digest
    assert (
        (tmp_path / "kit.toml").read_text("utf-8").startswith("# Written anew.\n#\n# Twice checked.\n\nowner_name = ")
    )


@pytest.mark.parametrize(
    ("tags", "written"),
    [
        (("C-01",), 'tags = ["C-01"]'),
        (("C-01", "C-02"), 'tags = ["C-01", "C-02"]'),
        (("C-01", "C-02", "C-03"), 'tags = "C-01..C-03"'),
        (("C-08", "C-09", "C-10", "C-12"), 'tags = ["C-08..C-10", "C-12"]'),
        (("C-9", "C-10", "C-11"), 'tags = "C-9..C-11"'),
        (("lamp", "C-02", "C-01"), 'tags = ["lamp", "C-02", "C-01"]'),
    ],
)
def test_tags_in_a_row_are_written_as_a_range(tags: tuple[str, ...], written: str) -> None:
    adapter = Adapter(item="barrel", tags=tags, from_end="xlr-f", to_end="xlr-f")
    assert written in to_toml(Kit(adapter=(adapter,))).splitlines()
    assert Kit.model_validate(tomllib.loads(to_toml(Kit(adapter=(adapter,))))).adapter[0].tags == tags


def test_a_file_that_is_there_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    path.write_text("# mine\n", "utf-8")
    with pytest.raises(NotDone, match=r"kit\.toml: the file is there already; choose another name, or ask for"):
        write_toml(Kit(), path)
    assert path.read_text("utf-8") == "# mine\n"
    write_toml(Kit(owner_name="Us"), path, replace=True)
    assert read_kit(path).owner_name == "Us"
    assert [one.name for one in tmp_path.iterdir()] == ["kit.toml"]


def test_where_nothing_can_be_written_nothing_is_left(tmp_path: Path) -> None:
    with pytest.raises(NotDone, match=r"kit\.toml: cannot be written: no such file or directory; check the folder"):
        write_toml(Kit(), tmp_path / "gone" / "kit.toml")
    assert list(tmp_path.iterdir()) == []
