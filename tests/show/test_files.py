"""A folder comes to be whole or not at all, and never on a disc that is too small for it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from fieldfare.show.files import RESERVE_BYTES, refuse, refuse_small_disc, whole_folder
from fieldfare.units.faults import Fault, NotDone


def test_a_folder_is_there_with_all_that_was_written(tmp_path: Path) -> None:
    (tmp_path / "deep" / "new").mkdir(parents=True)  # an empty folder is as good as none
    with whole_folder(tmp_path / "deep" / "new") as part:
        (part / "a.txt").write_text("a")
        assert not any((tmp_path / "deep" / "new").iterdir())
    assert [path.name for path in (tmp_path / "deep").rglob("*")] == ["new", "a.txt"]


def test_what_goes_wrong_inside_leaves_nothing(tmp_path: Path) -> None:
    def stopped() -> None:
        with whole_folder(tmp_path / "new") as part:
            (part / "a.txt").write_text("a")
            raise Fault("no more", "here", "stop")

    with pytest.raises(Fault, match="no more"):
        stopped()
    assert list(tmp_path.iterdir()) == []


def test_the_system_s_no_names_the_file_by_the_place_it_was_meant_for(tmp_path: Path) -> None:
    says = r"new.none.a\.txt: cannot be written: no such file or directory"
    with pytest.raises(NotDone, match=says), whole_folder(tmp_path / "new") as part:
        (part / "none" / "a.txt").write_text("a")
    assert list(tmp_path.iterdir()) == []


def test_a_file_or_a_link_of_that_name_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("kept")
    (tmp_path / "link").symlink_to(tmp_path / "gone")
    for name in ("file", "link"):
        with pytest.raises(NotDone, match="something is there already, and is left alone"):
            refuse(tmp_path / name)
    assert (tmp_path / "file").read_text() == "kept"


def test_the_folder_that_one_is_in_cannot_come_to_be_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for name in (".", "", tmp_path):
        with pytest.raises(NotDone, match="it is the folder that you are in; name a new folder in it"):
            refuse(Path(name))


def test_a_disc_must_hold_it_and_a_little_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    free = RESERVE_BYTES + 1000
    monkeypatch.setattr(shutil, "disk_usage", lambda path: shutil._ntuple_diskusage(free, 0, free))
    refuse_small_disc(tmp_path / "not" / "there", 1000)
    with pytest.raises(NotDone, match=r"there: 16\.8 MB are needed and 16\.8 MB are free"):
        refuse_small_disc(tmp_path / "not" / "there", 1001)
