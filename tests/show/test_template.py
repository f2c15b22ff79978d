"""The template of a kit: it reads as it stands, and what it shows as an example is a sound kit."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import load_workbook

from fieldfare.show.kit import Kit
from fieldfare.show.spreadsheet import THINGS, columns
from fieldfare.show.template import REMARK, column_helps, example_kit, write_template
from fieldfare.show.toml import read_kit
from fieldfare.units.faults import Fault, NotDone


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_the_template_as_it_stands_is_an_empty_kit(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"kit.{ending}"
    write_template(path)
    assert read_kit(path) == Kit()


def test_the_examples_of_the_csv_are_the_example_kit(tmp_path: Path) -> None:
    path = tmp_path / "kit.csv"
    write_template(path)
    text = path.read_text("utf-8-sig")
    assert text.count(f"\n{REMARK}") == len(THINGS)
    path.write_text(text.replace(f"\n{REMARK}", "\n"), "utf-8")
    assert read_kit(path) == example_kit().model_copy(update={"owner_name": "", "length_colours": {}})


def test_the_examples_of_the_workbook_are_the_example_kit(tmp_path: Path) -> None:
    path = tmp_path / "kit.xlsx"
    write_template(path)
    book = load_workbook(path)
    sheet = book["Kit"]
    for row in range(2, sheet.max_row + 1):
        sheet.cell(row, 1).value = str(sheet.cell(row, 1).value).removeprefix(REMARK)
    assert [offer.sqref.ranges for offer in sheet.data_validations.dataValidation]
    assert {str(row[0].value) for row in book["Columns"].iter_rows(min_row=2)} == set(columns())
    book.save(path)
    assert read_kit(path) == example_kit().model_copy(update={"owner_name": "", "length_colours": {}})


def test_there_is_an_example_of_everything() -> None:
    kit = example_kit()
    for thing in THINGS:
        assert len(getattr(kit, thing)) == 1, thing


def test_every_column_says_what_to_write() -> None:
    assert [name for name, _, _ in column_helps()] == list(columns())
    for name, things, help_text in column_helps():
        assert things, name
        assert help_text, name


def test_a_template_never_takes_the_place_of_a_file(tmp_path: Path) -> None:
    path = tmp_path / "kit.csv"
    path.write_text("mine", "utf-8")
    with pytest.raises(NotDone, match=r"kit\.csv: the file is there already"):
        write_template(path)
    assert path.read_text("utf-8") == "mine"


def test_another_ending_is_asked_about(tmp_path: Path) -> None:
    with pytest.raises(
        Fault, match=r'the template: "kit\.ods" ends in neither \.csv nor \.xlsx; choose one of the two'
    ):
        write_template(tmp_path / "kit.ods")
    assert not list(tmp_path.iterdir())
