"""The line of everything in a TOML text, against texts whose lines are known otherwise."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from strategies import documents

from fieldfare.show.kit import Kit
from fieldfare.show.lines import toml_lines
from fieldfare.show.show import Show
from fieldfare.show.write_toml import to_toml
from fieldfare.show.written import Loc, toml_places

TEXT = """\
title = "x" # remark

kit = [
  "a.toml",  # ours
  # house follows
  "b.toml",
]
times.doors = 19:00:00
"odd key" = { value = 1, "by hand" = { on = 2 } }

[recording]
bits = 24

[[act]]
name = "first"

[[act.source]]
name = "kick"
counts = { toms = 2 }

[[act.source]]
at = [1.0,
  2.0]

[act.source.house_mic.owner]
value = "house"

[[act]]
[[act.source]]
name = "second act's"

[room.walls]
made = "of"
"""

LINES = {
    ("title",): 1,
    ("kit",): 3,
    ("kit", 0): 4,
    ("kit", 1): 6,
    ("times",): 8,
    ("times", "doors"): 8,
    ("odd key",): 9,
    ("odd key", "value"): 9,
    ("odd key", "by hand", "on"): 9,
    ("recording",): 11,
    ("recording", "bits"): 12,
    ("act", 0): 14,
    ("act", 0, "name"): 15,
    ("act", 0, "source", 0): 17,
    ("act", 0, "source", 0, "counts", "toms"): 19,
    ("act", 0, "source", 1): 21,
    ("act", 0, "source", 1, "at", 0): 22,
    ("act", 0, "source", 1, "at", 1): 23,
    ("act", 0, "source", 1, "house_mic"): 25,
    ("act", 0, "source", 1, "house_mic", "owner", "value"): 26,
    ("act", 1): 28,
    ("act", 1, "source", 0): 29,
    ("act", 1, "source", 0, "name"): 30,
    ("room",): 32,
    ("room", "walls", "made"): 33,
}


@pytest.mark.parametrize(("loc", "line"), LINES.items(), ids=str)
def test_every_way_of_writing_has_its_line(loc: Loc, line: int) -> None:
    assert toml_lines(TEXT)[loc] == line


@pytest.mark.parametrize(
    ("loc", "place"),
    [
        (("act", 0, "source", 0, "recipe"), "line 17"),  # a field that is missing: the header of its table
        (("act", 0, "source", 1, "house_mic", "owner", "by"), "line 25"),
        (("times", "curfew"), "line 8"),
        (("venue",), ""),  # missing at the top: no line to point at
    ],
)
def test_what_is_missing_has_the_line_of_its_table(loc: Loc, place: str) -> None:
    assert toml_places(TEXT)(loc) == place


def _locs(value: Any, loc: Loc = ()) -> list[Loc]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [loc, *(one for key, part in inner for one in _locs(part, (*loc, key)))]


def _check_lines(text: str) -> None:
    """Every place of the data has a line, and where a key stands its line says it."""
    lines, rows = toml_lines(text), text.split("\n")
    for loc in _locs(tomllib.loads(text))[1:]:
        key = loc[-1]
        if isinstance(key, str) and key.isidentifier():
            assert key in rows[lines[loc] - 1], (loc, rows[lines[loc] - 1])
        elif isinstance(key, int):
            assert loc in lines or loc[:-1] in lines


@given(documents(Kit))
@settings(max_examples=25)
def test_every_key_of_any_kit_is_on_its_line(kit: Kit) -> None:
    _check_lines(to_toml(kit))


@given(documents(Show))
@settings(max_examples=25)
def test_every_key_of_any_show_is_on_its_line(show: Show) -> None:
    _check_lines(to_toml(show))
