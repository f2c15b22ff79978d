"""Marks of a night from files: by the clock or by a take's own time."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fieldfare.show.night_marks import ClockMark, clock_mark, read_marks
from fieldfare.units.faults import BadDocuments

MARKS = (
    ClockMark(at_s=74475, text="Nine Oars"),
    ClockMark(at_s=751.25, of_take=True, take="take 1"),
    ClockMark(at_s=63, of_take=True, text="encore"),
)


def test_csv_and_json_say_the_same(tmp_path: Path) -> None:
    rows = [("20:41:15", "Nine Oars", ""), ("0:12:31.25", "", "take 1"), ("+1:03", "encore", "")]
    table, data = tmp_path / "marks.csv", tmp_path / "marks.json"
    table.write_text("\ufeffClock;Song;Take\n" + "".join(";".join(row) + "\n" for row in rows), "utf-8")
    said = [{"time": time, "text": text, "take": take} for time, text, take in rows]
    data.write_text(json.dumps({"mark": said}), "utf-8")
    assert read_marks(table) == read_marks(data) == MARKS
    data.write_text(json.dumps(said), "utf-8")
    assert read_marks(data) == MARKS


@pytest.mark.parametrize("time", ["", "late", "20:61:00", "20:00:61", "25:00:00", "12"])
def test_what_is_no_time_is_none(time: str) -> None:
    assert clock_mark(time) is None


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("marks.csv", "time,text\n20:41:15,a\nsoon,b\n", r'row 3, time: "soon" is not a time'),
        ("marks.csv", "when,text\n20:41:15,a\n", "has no column time"),
        ("marks.json", "{", "is not JSON"),
        ("marks.json", "3", "holds no marks"),
        ("marks.json", '{"mark": [{"tim": "20:41:15"}]}', "mark 1"),
        ("marks.json", '{"mark": [{"time": "soon"}]}', "mark 1, time"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(tmp_path: Path, name: str, text: str, says: str) -> None:
    (tmp_path / name).write_text(text, "utf-8")
    with pytest.raises(BadDocuments, match=says):
        read_marks(tmp_path / name)
