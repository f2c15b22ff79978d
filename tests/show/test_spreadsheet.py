"""A kit out of a spreadsheet, as people and their programs write it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from openpyxl import Workbook

from fieldfare.show.kit import Kit
from fieldfare.show.rows import Cell
from fieldfare.show.spreadsheet import PREFIXES, THINGS, columns
from fieldfare.show.template import kit_rows
from fieldfare.show.toml import read_kit
from fieldfare.show.write_toml import write_toml
from fieldfare.units.faults import BadDocuments

DEMO = Path(__file__).parents[2] / "src/fieldfare/show/demo/kit.toml"

STANDS = """\
Thing,Item,Count,Tags,Bin,Kind,Lowest (m),Highest [m],Reach m
stand,tall boom stand,3,,Stand bag,tall boom,0.9,2.6,0.8
stand,short boom stand,,"T-07, T-08",Stand bag,Short boom,0.3,1.1,
Stands,table stand,,,,table,0.15,0.35,
"""


def _kit(path: Path, content: str | bytes) -> Kit:
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return read_kit(path)


def _told(path: Path, content: str | bytes) -> list[str]:
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    with pytest.raises(BadDocuments, match=r"\S") as caught:
        read_kit(path)
    return str(caught.value).splitlines()


def _text(rows: list[list[Cell]], delimiter: str, comma: bool) -> str:
    out = io.StringIO(newline="")
    texts = [
        [
            "" if cell is None else ("yes" if cell else "no") if isinstance(cell, bool)
            else f"{cell:.15g}".replace(".", "," if comma else ".") if isinstance(cell, float) else cell
            for cell in row
        ]
        for row in rows
    ]  # fmt: skip
    csv.writer(out, delimiter=delimiter).writerows(texts)
    return out.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize(("delimiter", "comma"), [(",", False), (";", True), (";", False), ("\t", True), (",", True)])
def test_the_demo_kit_comes_through_any_spreadsheet(tmp_path: Path, encoding: str, delimiter: str, comma: bool) -> None:
    """…and through the TOML that is written of it."""
    whole = read_kit(DEMO)
    demo = whole.model_copy(update={"owner_name": "", "length_colours": {}})
    read = _kit(tmp_path / "kit.csv", _text(kit_rows(demo), delimiter, comma).encode(encoding))
    assert read == demo
    write_toml(read, tmp_path / "kit.toml")
    assert read_kit(tmp_path / "kit.toml") == demo


def _save(path: Path, *sheets: tuple[str, list[list[Cell]]]) -> Path:
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


def test_the_demo_kit_comes_through_a_workbook(tmp_path: Path) -> None:
    demo = read_kit(DEMO).model_copy(update={"owner_name": "", "length_colours": {}})
    rows = kit_rows(demo)
    assert read_kit(_save(tmp_path / "one.xlsx", ("Kit", rows))) == demo
    mics = [row for row in rows[1:] if row[0] == "mic"]
    others = [row for row in rows[1:] if row[0] != "mic"]
    parted = _save(
        tmp_path / "two.xlsx", ("Mics", [rows[0], *mics]), ("To do", [["buy tape"]]), ("Rest", [rows[0], *others])
    )
    assert read_kit(parted) == demo


def test_counts_make_tags_that_no_other_row_has(tmp_path: Path) -> None:
    kit = _kit(tmp_path / "kit.csv", STANDS)
    assert [stand.tags for stand in kit.stand] == [("T-01", "T-02", "T-03"), ("T-07", "T-08"), ("T-04",)]
    assert [stand.kind for stand in kit.stand] == ["tall boom", "short boom", "table"]
    assert [one.name for one in kit.bin] == ["Stand bag"]
    again = _kit(tmp_path / "kit.csv", STANDS.replace("T-07, T-08", "T-02..T-03").replace(",3,,", ",2,,"))
    assert [stand.tags for stand in again.stand] == [("T-01", "T-04"), ("T-02", "T-03"), ("T-05",)]


def test_titles_headings_remarks_and_empty_rows_are_no_things(tmp_path: Path) -> None:
    head, *rows = STANDS.splitlines()
    noise = ["Our kit,,,,,as of,2026,,", ",,,,,,,,", head, "STANDS,,,,,,,,", *rows, "", "# hired,not yet,1", head, ";;"]
    assert _kit(tmp_path / "kit.csv", "\r\n".join(noise)) == _kit(tmp_path / "same.csv", STANDS)


def test_a_heading_over_merged_cells_is_no_fault(tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Things", None, None, "Heights", None])
    sheet.append(["thing", "item", "kind", "lowest_m", "highest_m"])
    sheet.append(["All our stands", None, None, None, None])
    sheet.append(["stand", "tall", "tall boom", 0.9, 2.6])
    for cells in ("A1:C1", "D1:E1", "A3:E3"):
        sheet.merge_cells(cells)
    book.save(tmp_path / "kit.xlsx")
    assert [stand.item for stand in read_kit(tmp_path / "kit.xlsx").stand] == ["tall"]


def test_a_column_may_be_left_alone(tmp_path: Path) -> None:
    text = "thing,item,#price,note,# serial\nsundry,lamp,12.50,dims,A-17\n"
    (lamp,) = _kit(tmp_path / "kit.csv", text).sundry
    assert (lamp.item, lamp.tags, lamp.note) == ("lamp", ("X-01",), "dims")


def test_none_of_a_thing_is_no_entry(tmp_path: Path) -> None:
    assert _kit(tmp_path / "kit.csv", "thing,item,count\nsundry,lamp,0\nsundry,table,1\n").sundry[0].item == "table"


def test_every_fault_of_every_row_at_once(tmp_path: Path) -> None:
    text = (
        "My kit;;;;;;;;;\n"
        "thing;item;count;tags;bin;kind;pattern;phantom;sensitivity_mv_pa;impedence_ohm\n"
        "bin;Mic case;;;;;;;;\n"
        "mic;vocal mic;x;;Mic case;small dynamic;supercardiod;ignored;2,4;300\n"
        "mic;odd mic;3;M-01..M-02;Mic cas;small dynamic;omni;ignored;2,4;\n"
        "mik;what;1;;;;;;;\n"
        ";nothing;1;;;;;;;\n"
        "stand;tall;1;T-01;;tall boom;cardioid;;;\n"
        "sundry;;1;T-01;;;;;;\n"
    )
    assert _told(tmp_path / "kit.csv", text) == [
        'kit.csv, row 2, column J: "impedence_ohm" is not a column of the kit; write impedance_ohm',
        'kit.csv, row 4, mic "vocal mic", count: "x" is not a number; give a whole number',
        'kit.csv, row 4, mic "vocal mic", pattern: "supercardiod" is not known here; write "supercardioid"',
        'kit.csv, row 5, mic "odd mic", count: the count is 3, the tags are 2; correct one of the two',
        'kit.csv, row 5, mic "odd mic", impedance_ohm: is missing; give a number in Ω, more than 0 (of its output)',
        'kit.csv, row 5, mic "odd mic", bin: there is no bin "Mic cas"; write "Mic case"',
        'kit.csv, row 6, thing: there is no thing "mik"; write mic',
        f'kit.csv, row 7, thing: "nothing" does not say what thing it is; write one of {", ".join(list(THINGS)[:-1])} '
        "and sundry",
        'kit.csv, row 8, stand "tall", pattern: a stand has none; empty the cell',
        'kit.csv, row 8, stand "tall", lowest_m: is missing; give a number in metres, 0 or more '
        "(how low the microphone can be held)",
        'kit.csv, row 8, stand "tall", highest_m: is missing; give a number in metres, more than 0 '
        "(how high the microphone can be held)",
        "kit.csv, row 9, sundry, item: is missing; say what it is in generic words",
        'kit.csv, row 9, sundry "?", tags: tag "T-01" is also at kit.csv, row 8; give each unit a tag of its own',
    ]


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ("thing,item,qty", 'column C: "qty" is not a column of the kit; write count'),
        ("thing,item,insured for", 'column C: "insured for" is not a column of the kit; put # before its name to have'),
        ("thing,item,item", 'column C: "item" is there twice; keep one of the two'),
        ("thing,item,", "column C: has no name; name it, or put # there to have it left alone"),
        ("thing,name,note", 'column B: "name" is not a column of the kit; write item'),
        ("sort,item,note", 'column A: "sort" is not a column of the kit; write thing'),
        ("#,item,note", "there is no column thing; add it"),
    ],
)
def test_columns_that_are_not_of_the_kit(tmp_path: Path, head: str, said: str) -> None:
    told = _told(tmp_path / "kit.csv", f"{head}\nsundry,lamp,1\n")
    assert any(one.startswith("kit.csv, row 1") and said in one for one in told), told


def test_sheets_name_the_sheet_beside_the_row(tmp_path: Path) -> None:
    path = _save(
        tmp_path / "kit.xlsx",
        ("Lamps", [["thing", "item"], ["sundry", "lamp"]]),
        ("Tape", [["thing", "item", "count"], ["sundry", "tape", "many"]]),
    )
    with pytest.raises(
        BadDocuments, match=r'kit\.xlsx, sheet Tape, row 2, sundry "tape", count: "many" is not a number'
    ):
        read_kit(path)


def test_a_formula_without_its_result_is_told(tmp_path: Path) -> None:
    path = _save(tmp_path / "kit.xlsx", ("Kit", [["thing", "item", "count"], ["sundry", "tape", "=1+1"]]))
    with pytest.raises(BadDocuments, match=r"row 2, cell C2: has a formula without a result; type the value itself"):
        read_kit(path)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        (
            "kit.csv",
            b"",
            "kit.csv: has no row of column names; name the columns in one row, thing and item among them;",
        ),
        ("kit.csv", b"just a line\n", "kit.csv: has no row of column names"),
        ("kit.csv", b"thing,item\n\x81\x8d,\x8f\n", "kit.csv: is not text in UTF-8 or cp1252; save it as CSV in UTF-8"),
        (
            "kit.xlsx",
            b"PK\x03\x04 broken",
            "kit.xlsx: is not a spreadsheet that can be read; save it as .xlsx or as CSV",
        ),
        ("kit.xlsx", b"thing,item\n", "kit.xlsx: is not a spreadsheet that can be read"),
        (
            "kit.tsv",
            b'thing\titem\nsundry\t"lamp\n' + b"x" * 200_000,
            "kit.tsv: is not a table; save it as CSV in UTF-8",
        ),
    ],
)
def test_files_that_are_no_spreadsheet(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    (told,) = _told(tmp_path / name, content)
    assert told.startswith(said)


def test_a_workbook_with_a_wrong_byte_anywhere_is_a_kit_or_a_fault(tmp_path: Path) -> None:
    """As cards and sticks spoil them: what is packed in it no longer unpacks, or unpacks to something else."""
    path = _save(tmp_path / "kit.xlsx", ("Kit", [["thing", "item"], ["sundry", "tape"]]))
    whole = path.read_bytes()
    refused = 0
    for place in range(0, len(whole), 97):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 0x55]) + whole[place + 1 :])
        try:
            assert read_kit(path).sundry[0].item
        except BadDocuments as fault:
            refused += "is not a spreadsheet that can be read" in str(fault)
    assert refused > 10


def test_the_delimiter_may_be_told(tmp_path: Path) -> None:
    assert _kit(tmp_path / "kit.csv", "sep=;\nthing;item\nsundry;lamp, red\n").sundry[0].item == "lamp, red"


def test_a_spreadsheet_may_stand_in_a_show(tmp_path: Path) -> None:
    (tmp_path / "house.csv").write_text("thing,item,tags,owner\nsundry,lamp,H-01,house\n", "utf-8")
    kit = read_kit(DEMO, tmp_path / "house.csv")
    assert kit.sundry[-1].owner == "house"
    (tmp_path / "house.csv").write_text("thing,item,tags,owner\nsundry,lamp,M-01,house\n", "utf-8")
    with pytest.raises(
        BadDocuments, match=r'house\.csv, row 2, sundry "lamp", tags: tag "M-01" is also at kit\.toml, line'
    ):
        read_kit(DEMO, tmp_path / "house.csv")


def test_every_thing_has_a_prefix_of_its_own_and_a_column_for_each_field() -> None:
    assert set(PREFIXES) == set(THINGS) - {"bin"}
    assert len(set(PREFIXES.values())) == len(PREFIXES)
    for thing, model in THINGS.items():
        for field in model.model_fields:
            assert field in columns() or (thing, field) == ("bin", "name")


def test_what_is_wrong_alike_in_several_rows_is_told_once(tmp_path: Path) -> None:
    """A column that nobody knows brings one sentence for itself and one for what then lacks, not one a row."""
    rows = "".join(f"mic,m{n},M-0{n},Case,ribbon,figure of eight,harmful,2,{n}00\n" for n in (1, 2, 3))
    head = "thing,item,tags,bin,kind,xyzzy,phantom,sensitivity_mv_pa,impedance_ohm\n"
    bins = "bin,Bag,,,,,,,\nstand,tall,T-01,Case,,,,,\n"
    told = _told(tmp_path / "kit.csv", head + rows + bins)
    unknown = (
        '"xyzzy" is not a column of the kit; write pattern or lowest_m or highest_m if it is that, or put # before'
    )
    assert told[0].startswith(f"kit.csv, row 1, column F: {unknown}")
    assert [one.split(":")[0] for one in told[1:]] == [
        "kit.csv, rows 2 to 4, mic, pattern",
        "kit.csv, rows 2 to 4, 6, mic and stand, bin",
        'kit.csv, row 6, stand "tall", kind',
        'kit.csv, row 6, stand "tall", lowest_m',
        'kit.csv, row 6, stand "tall", highest_m',
    ]


def test_a_data_sheets_kilohm_and_megohm_are_read(tmp_path: Path) -> None:
    path = tmp_path / "kit.csv"
    head = "thing,item,tags,active,input_ohm,isolated,phantom\n"
    path.write_text(f'{head}di,one,D-1,yes,1 MΩ,no,needed\ndi,two,D-2,no,"47,5 kOhm",yes,ignored\n', "utf-8")
    assert [di.input_ohm for di in read_kit(path).di] == [1_000_000, 47_500]
