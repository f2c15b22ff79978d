"""Set lists as spreadsheet programs and people write them, and what is wrong with them told by row."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.show.set_list import length_s, read_set_list
from fieldfare.show.songs import ListedSong
from fieldfare.units.faults import BadDocuments


def _read(folder: Path, text: str, encoding: str = "utf-8") -> tuple[ListedSong, ...]:
    path = folder / "set.csv"
    path.write_bytes(text.encode(encoding))
    return read_set_list(path)


def _faults(folder: Path, text: str) -> list[str]:
    with pytest.raises(BadDocuments, match=r"set\.csv") as caught:
        _read(folder, text)
    return [str(one) for one in caught.value.blemishes]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_commas_semicolons_tabs_and_marks_read_the_same(tmp_path: Path, encoding: str, sign: str) -> None:
    rows = (("No", "Song", "Duration", "BPM", "Segue", "Band"), ("2", "Nine Oars", "3:45", "104", "", "Late"),
            ("1", "Tar, and Oakum" if sign != "," else "Tar and Oakum", "0:52", "", "yes", "Early"))  # fmt: skip
    songs = _read(tmp_path, "\n".join(sign.join(row) for row in rows) + "\n\n", encoding)
    assert [song.title for song in songs][1] == "Nine Oars"
    assert (songs[0].length_s, songs[0].runs_on, songs[0].act, songs[0].tempo_bpm) == (52, True, "Early", None)
    assert (songs[1].length_s, songs[1].runs_on, songs[1].act, songs[1].tempo_bpm) == (225, False, "Late", 104)


def test_bare_titles_will_do_and_lengths_beside_them(tmp_path: Path) -> None:
    assert [song.title for song in _read(tmp_path, "Nine Oars\n\nTar and Oakum\n")] == ["Nine Oars", "Tar and Oakum"]
    songs = _read(tmp_path, "Nine Oars,3:45\nTar and Oakum,\n")
    assert [(song.title, song.length_s) for song in songs] == [("Nine Oars", 225), ("Tar and Oakum", None)]


def test_a_workbooks_time_of_day_is_minutes_and_seconds(tmp_path: Path) -> None:
    import datetime as dt

    book = openpyxl.Workbook()
    assert book.active is not None
    book.active.append(["title", "length"])
    book.active.append(["Nine Oars", dt.time(3, 45)])
    book.save(tmp_path / "set.xlsx")
    assert read_set_list(tmp_path / "set.xlsx") == (ListedSong(title="Nine Oars", length_s=225),)


def test_every_fault_is_told_with_its_row(tmp_path: Path) -> None:
    text = "order,title,length,tempo,runs on\n1,One,long,fast,maybe\n1,,3:75,9,\nx,Three,2:00,,\n"
    said = _faults(tmp_path, text)
    assert [one.split(":")[0] for one in said] == [
        "set.csv, row 2, length", "set.csv, row 2, tempo", "set.csv, row 2, runs on", "set.csv, row 3, title",
        "set.csv, row 3, length", "set.csv, row 3, tempo", "set.csv, row 4, order", "set.csv, row 3, order",
        "set.csv, row 4, order",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "names no song"),
        ("title,length\n", "names no song"),
        ("title,title\nOne,Two\n", "title is there twice"),
        ("title,lenght\nOne,3:00\n", "write length"),
        (f"title,length\n{'x' * 201},3:00\n", "longer than 200"),
        ("order,title\n1,One\n,Two\n", "number every song, or none"),
    ],
)
def test_a_list_that_cannot_be_used_says_why(tmp_path: Path, text: str, says: str) -> None:
    assert any(says in one for one in _faults(tmp_path, text))


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadDocuments, match="cannot be read"):
        read_set_list(tmp_path / "nowhere.csv")


@given(st.integers(1, 3599))
def test_minutes_and_seconds_read_back(seconds: int) -> None:
    assert length_s(f"{seconds // 60}:{seconds % 60:02d}") == seconds
