"""Texts that are not TOML: the line, what is wrong and what was probably meant."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fieldfare.show.misprints import misprint
from fieldfare.show.written import read_toml
from fieldfare.units.faults import BadDocuments

SLIPS = [
    ("title = Dance", 1, "text without quotes", "in quotes"),
    ("kit = [kit.toml]", 1, "text without quotes", "in quotes"),
    ("title = “Dance”", 1, "curly quotes", "straight quotes"),
    ("a = 1\ndoors = 19:00", 2, "time without seconds", "19:30:00"),
    ("date = 4.12.2026", 1, "date", "2026-12-04"),
    ("date = 04/12/2026", 1, "date", "2026-12-04"),
    ("date = 2026-13-45", 1, "date", "2026-12-04"),
    ("length_m = 2,5", 1, "decimal comma", "2.5"),
    ("length_m = 5 m", 1, "unit after the number", "leave the unit out"),
    ("lines = 06", 1, "zero in front", "leave the zero out"),
    ("active = True", 1, "yes or no", "true or false"),
    ("active =", 1, "nothing after the =", "give a value"),
    ("mic case = 3", 1, "name of several words", "join the words"),
    ("at = 1, 2", 1, "several values", "in brackets"),
    ("at = [1.0 2.0]", 1, "without commas", "comma"),
    ('note = "C:\\Users"', 1, "single backslash", "double backslash"),
    ('songs = "The "Long" Ebb"', 1, "quote within its text", "backslash before the quote"),
    ("a = 1\nb = 2\na = 3\nc = 4", 3, "second time", "take one of the two out"),
    ("[room]\n[stage]\n[room]", 3, "opens a table a second time", "[[ ]]"),
    ("a = { b = 1, b = 2 }", 1, "twice in one pair of braces", "take one of the two out"),
    ('kit = ["kit.toml",\n  "house.toml"\n\n[times]', 4, "a list is not closed yet", "close the list"),
    ('a = { b = "x"', 1, "brace that is not closed", "close it with }"),
    ('title = "Dance\ncrew = 1', 1, "text that is not closed", "quote"),
    ("[room\n", 1, "table name that is not closed", "]"),
    ("midwinter", 1, "name without a value", "name = value"),
    ("= 3", 1, "does not begin with a name", "name = value"),
    ("at = [1, 2]]", 1, "goes on after its value", "a list goes in [ ]"),
    ("a = " + "[" * 5000, 0, "lists within lists", "plainer"),
    ("a = " + "9" * 5000, 0, "thousands of digits", "take it out"),
]


@pytest.mark.parametrize(("text", "line", "read", "remedy"), SLIPS, ids=[slip[2] for slip in SLIPS])
def test_a_slip_is_named_with_its_line(text: str, line: int, read: str, remedy: str) -> None:
    with pytest.raises((ValueError, RecursionError), match=r"\S") as caught:
        tomllib.loads(text)
    said = misprint(text, caught.value)
    assert said[0] == line
    assert read in said[1]
    assert remedy in said[2]


@given(st.text(max_size=40))
def test_whatever_is_not_toml_is_told_in_plain_words(text: str) -> None:
    trouble: Exception | None = None
    try:
        tomllib.loads(text)
    except ValueError as caught:
        trouble = caught
    assume(trouble)
    assert trouble
    line, read, remedy = misprint(text, trouble)
    assert 0 <= line <= len(text.splitlines()) + 1
    assert read
    assert remedy
    assert str(trouble) not in (read, remedy)


def _told(path: Path) -> str:
    with pytest.raises(BadDocuments, match=r"\S") as caught:
        read_toml(path)
    return str(caught.value)


def test_files_that_are_not_text_or_not_there(tmp_path: Path) -> None:
    path = tmp_path / "show.toml"
    assert _told(path) == "show.toml: there is no such file; check the name and the folder"
    assert "there is no such file" in _told(tmp_path / "no\0name.toml")  # as a document may name another
    path.write_bytes(b'title = "ok"\nrecordist = "Ren\xe9"\n')
    assert _told(path) == "show.toml, line 2: is not UTF-8 text; save the file as text in UTF-8"
    path.write_text("crew = 1\nfacing = [1.0, nan]\n", "utf-8")
    assert _told(path) == "show.toml, line 2, facing, entry 2: is not a number that can be used; give a number"
    folder = tmp_path / "folder.toml"
    folder.mkdir()
    assert _told(folder).startswith("folder.toml: cannot be read: ")


def test_a_byte_order_mark_and_any_line_ending_are_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\nb = [\r\n 2 ]\r\n")
    written = read_toml(path)
    assert written.data == {"a": 1, "b": [2]}
    assert written.place(("b", 0)) == "line 3"
