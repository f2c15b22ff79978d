"""Inputs of a recording without a plan, out of spreadsheets as they come; every fault with its row."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.show.inputs_csv import InputList, Pickup, pickup, read_inputs
from fieldfare.units.faults import BadDocuments

PLAIN = """channel,source,kind,pattern,x,y,z,flip
2,snare under,small dynamic,cardioid,-0.5,2.25,0.4,yes
1,kick,large dynamic,supercardioid,0,2,0.3,
3,bass,DI,,,,,
"""


def _read(folder: Path, content: str | bytes) -> InputList:
    path = folder / "inputs.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_inputs(path)


def _faults(folder: Path, content: str) -> list[str]:
    with pytest.raises(BadDocuments, match=r"inputs\.csv") as caught:
        _read(folder, content)
    return [str(one) for one in caught.value.blemishes]


def test_a_row_becomes_an_input_and_what_is_not_said_stays_unknown(tmp_path: Path) -> None:
    kick, snare, bass = _read(tmp_path, PLAIN).input
    assert (kick.channel, kick.source, kick.label, kick.kind, kick.pattern) == (
        1,
        "kick",
        "kick",
        "large dynamic",
        "supercardioid",
    )
    assert (kick.at, kick.flip, snare.at, snare.flip) == ((0.0, 2.0, 0.3), None, (-0.5, 2.25, 0.4), True)
    assert (bass.kind, bass.pattern, bass.at, bass.phantom_need) == ("di", None, None, None)
    assert (kick.phantom_need, kick.id, kick.number) == ("ignored", "channel-1", 1)


def test_what_spreadsheet_programs_make_of_it_reads_the_same(tmp_path: Path) -> None:
    """Semicolons and decimal commas, tabs, marks of encodings, a line that names the sign, CR LF."""
    import openpyxl

    wanted = _read(tmp_path, PLAIN)
    comma = PLAIN.replace(",", ";").replace(".", ",")
    for content in (
        comma.encode("utf-8-sig"),
        comma.replace("\n", "\r\n").encode("cp1252"),
        ("sep=;\r\n" + comma).encode("utf-8-sig"),
        PLAIN.replace(",", "\t").encode("utf-16"),
        f"The gig of Friday\n\n{PLAIN}".encode(),
    ):
        assert _read(tmp_path, content) == wanted
    book = openpyxl.Workbook()
    for row in PLAIN.splitlines():
        assert book.active is not None
        book.active.append(
            [float(cell) if cell.replace(".", "").lstrip("-").isdigit() else cell for cell in row.split(",")]
        )
    saved = io.BytesIO()
    book.save(saved)
    assert _read(tmp_path, saved.getvalue()) == wanted


def test_three_decimals_behind_a_comma_are_no_thousands(tmp_path: Path) -> None:
    assert _read(tmp_path, "ch;source;x;y;z\n1;kick;-1,250;2,125 m;0,300\n").input[0].at == (-1.25, 2.125, 0.3)


def test_other_names_of_columns_and_other_columns(tmp_path: Path) -> None:
    read = _read(
        tmp_path, "#,Instrument,Mic/DI,Pos. X (m),y [m],Z,Polar pattern,Stand,Label\n7,voice,LDC,1,2,3,Fig-8,tall,Vox\n"
    )
    one = read.input[0]
    assert (one.channel, one.kind, one.at, one.pattern, one.label) == (
        7,
        "large condenser",
        (1.0, 2.0, 3.0),
        "figure of eight",
        "Vox",
    )
    assert read.left_alone == ("Stand",)


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("small dynamic, supercardioid", "small dynamic"),
        ("pencil condenser", "small condenser"),
        ("clip-on condenser", "clip condenser"),
        ("passive DI", "di"),
        ("dynamic", "dynamic"),
        ("ribbon", "ribbon"),
        ("stereo line", None),
        ("line", "line"),
        ("audio", None),
        ("", None),
    ],
)
def test_words_for_what_picks_it_up(said: str, kind: Pickup | None) -> None:
    assert pickup(said) == kind


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("channel,source\n1,kick\n1,snare\n", ["row 3, channel: channel 1 is there twice, row 2 has it too"]),
        ("channel,source\n,kick\n", ["row 2, channel: is missing"]),
        ("channel,source\n1-2,keys\n", ["row 2, channel: \"1-2\" is not one channel; write a row for each"]),
        ("channel,source\n0,keys\n", ["row 2, channel: \"0\" is not one channel; give a whole number from 1"]),
        ("channel,source,kind\n1,,ribbon\n", ["row 2, source: is missing"]),
        ("channel,source,pattern\n1,kick,cardoid\n", ["row 2, pattern: there is no pattern \"cardoid\"; write"]),
        ("channel,source,x,y,z\n1,kick,1,2,\n", ["row 2: has x and y without z; give all three"]),
        ("channel,source,x,y,z\n1,kick,150 cm,2,3\n", ["row 2, x: \"150 cm\" is not in metres"]),
        ("channel,source,x,y,z\n1,kick,450,2,3\n", ["row 2, x: \"450\" is more than 300 metres away"]),
        ("channel,source,x,y,z\n1,kick,left,2,3\n", ["row 2, x: \"left\" is not a number"]),
        ("channel,source,flip\n1,kick,perhaps\n", ["row 2, flip: \"perhaps\" is neither yes nor no"]),
        ("channel,kind\n1,ribbon\n", ["row 1: there is no column source; add it", "row 2, source: is missing"]),
        ("channel,source,position\n1,kick,1 2 3\n", ["row 1, column \"position\": holds more than one number"]),
        ("channel,source\n", ["names no input"]),
        ("kick\nsnare\n", ["has no row of column names; name the columns in its first row: channel and source"]),
        ("channel,source,ch\n1,kick,1\n", ["row 1, column \"ch\": channel is there twice"]),
    ],
)  # fmt: skip
def test_every_fault_has_its_row(tmp_path: Path, content: str, says: list[str]) -> None:
    found = _faults(tmp_path, content)
    assert len(found) == len(says)
    for fault, part in zip(found, says, strict=True):
        assert part in fault


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    assert (
        len(_faults(tmp_path, "channel,source,pattern\nx,kick,\n2,,\n3,voice,round\n,,omni\n")) == 4
    )  # a channel alone is a spare one


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_in_words(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "inputs.csv"
    path.write_bytes(content)
    with contextlib.suppress(BadDocuments):
        assert read_inputs(path).input
