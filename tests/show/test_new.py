"""A new show's folder: nothing in it is invented, every blank is named, every remark would be right if it were said."""

from __future__ import annotations

import os
import re
import sys
import tomllib
from pathlib import Path

import pytest

from fieldfare.show.new import new_show
from fieldfare.show.template import example_kit
from fieldfare.show.toml import merged, read_kit, read_show
from fieldfare.units.faults import BadDocuments, NotDone


def test_a_fresh_folder_names_every_blank_and_nothing_else(tmp_path: Path) -> None:
    made = new_show(tmp_path / "midwinter-dance")
    assert [path.name for path in made] == ["show.toml", "venue.toml", "kit.toml"]
    with pytest.raises(BadDocuments, match=r"\S") as caught:
        read_show(tmp_path / "midwinter-dance")
    assert {blemish.read for blemish in caught.value.blemishes} == {"is missing"}
    assert [(blemish.file, blemish.field) for blemish in caught.value.blemishes] == [
        ("show.toml", "date"),
        ("venue.toml", "name"),
        ("venue.toml", "room, length_m"),
        ("venue.toml", "room, width_m"),
        ("venue.toml", "room, height_m"),
        ("venue.toml", "stage, width_m"),
        ("venue.toml", "stage, depth_m"),
        ("venue.toml", "recordist, at"),
    ]


@pytest.mark.skipif(sys.platform != "linux", reason="names of folders are always text here")
def test_a_folder_whose_name_is_no_text_gives_a_title_all_the_same(tmp_path: Path) -> None:
    made = new_show(tmp_path / os.fsdecode(b"caf\xe9"))
    assert tomllib.loads(made[0].read_text("utf-8"))["title"] == r"Caf\xe9"


def test_the_files_with_every_line_in_use_are_a_sound_show(tmp_path: Path) -> None:
    for path in new_show(tmp_path / "show"):
        text = path.read_text("utf-8")
        said = re.sub(r"^#(?! |$)", "", text, flags=re.MULTILINE)
        assert said != text
        path.write_text(said, "utf-8")
    read = read_show(tmp_path / "show")
    assert read.kit == merged([example_kit()])
    assert len(read.show.sources) == 3
    assert read.venue.limiter.status == "confirmed"


def test_the_kit_of_a_fresh_folder_is_empty(tmp_path: Path) -> None:
    new_show(tmp_path / "show")
    assert not read_kit(tmp_path / "show" / "kit.toml").things


_NO_WINDOWS_NAME = pytest.mark.skipif(sys.platform == "win32", reason="no folder is called so there")


@pytest.mark.parametrize(
    ("folder", "title"),
    [
        ("midwinter-dance", "Midwinter dance"),
        ("2026_12_04 fair", "2026 12 04 fair"),
        pytest.param('the "long" night', 'The "long" night', marks=_NO_WINDOWS_NAME),
        ("ἑορτή", "Ἑορτή"),
        ("---", "Untitled"),
    ],
)
def test_the_folder_gives_the_title(tmp_path: Path, folder: str, title: str) -> None:
    new_show(tmp_path / folder)
    path = tmp_path / folder / "show.toml"
    path.write_text(path.read_text("utf-8").replace("#date", "date"), "utf-8")
    with pytest.raises(BadDocuments, match=r"venue\.toml, name: is missing"):
        read_show(tmp_path / folder)
    assert tomllib.loads(path.read_text("utf-8"))["title"] == title


def test_what_is_there_is_never_touched(tmp_path: Path) -> None:
    (tmp_path / "note.txt").write_text("mine", "utf-8")
    with pytest.raises(NotDone, match=r": there is something in this folder; choose a new or an empty one"):
        new_show(tmp_path)
    with pytest.raises(NotDone, match=r"note\.txt: is a file; choose another name for the folder"):
        new_show(tmp_path / "note.txt")
    with pytest.raises(
        NotDone, match=r"note\.txt.deep: cannot be made: (not a directory|.*exists.*); choose another place"
    ):
        new_show(tmp_path / "note.txt" / "deep")
    assert [path.name for path in tmp_path.iterdir()] == ["note.txt"]
