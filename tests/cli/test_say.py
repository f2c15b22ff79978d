"""Tables on a terminal, whatever script their names are in; widths by rich, an independent library."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from fieldfare.cli.say import _broken, _columns, table

NAMES = ("ทรัมเป็ตตัวที่หนึ่งของหมู่บ้าน", "和太鼓の大きいほう", "Βιολί της θάλασσας", "Hauptgesangsmikrofonersatzträgerin")


@pytest.mark.parametrize("name", NAMES)
def test_columns_stay_in_line_and_no_mark_leaves_its_letter(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    table(("No", "Input", "Gain"), [("1", name, "20"), ("2", "Kick", "31")], (-2, 12, -4))
    lines = capsys.readouterr().out.splitlines()
    assert {cell_len(line) for line in (lines[0], lines[1], lines[-1])} == {2 + 2 + 12 + 2 + 4}
    assert all(cell_len(line) <= 22 for line in lines)
    said = "".join(line[4 : 4 + len(line)].removesuffix("20").strip() for line in lines[1:-1])
    assert said.replace(" ", "") == name.replace(" ", "")
    assert not any(unicodedata.combining(line.strip()[0]) for line in lines[2:-1])


@given(st.text(st.characters(categories=("L", "N", "Zs", "P"), max_codepoint=0x2FFF), max_size=40), st.integers(2, 20))
def test_a_broken_cell_keeps_every_sign_within_its_width(text: str, width: int) -> None:
    lines = _broken(text, width)
    assert all(_columns(line) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())
