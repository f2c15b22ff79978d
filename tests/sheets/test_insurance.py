"""The insurance schedule: every unit once, sums by a second road, and what has no value is in none of them."""

from __future__ import annotations

import datetime as dt
import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets import pdf

from fieldfare.sheets.insurance import insurance_pdf, insurance_sheet, value_of
from fieldfare.show.kit import Bin, Kit, Sundry
from fieldfare.show.toml import read_kit
from fieldfare.units.faults import BadDocuments

PRINTED = dt.datetime(2026, 11, 27, 12)
DEMO = Path(__file__).parents[2] / "src/fieldfare/show/demo/kit.toml"


def _thing(item: str, *tags: str, **said: object) -> Sundry:
    return Sundry.model_validate({"item": item, "tags": tags} | said)


KIT = Kit(
    bin=(Bin(name="Mic case"), Bin(name="Empty bag")),
    sundry=(
        _thing("microphone", "M-01", "M-02", bin="Mic case", value_each=119.95, serials={"M-01": "10372"}),
        _thing("lamp", "X-01", bin="Mic case"),
        _thing("hired amplifier", "H-01", owner="hired", value_each=1000, bin="Van"),
        _thing("table", "X-02", value_each=80.1),
    ),
)


def test_totals_by_bin_and_of_all_are_those_of_what_has_a_value() -> None:
    sheet = insurance_sheet(KIT, "EUR", "a4", PRINTED)
    assert [(part.bin, part.total, part.unvalued) for part in sheet.bins] == [
        ("Mic case", "239.90", 1),
        ("no bin", "80.10", 0),
    ]
    assert (sheet.total, sheet.units, sheet.unvalued, sheet.no_serial) == ("320.00 EUR", 4, 1, 3)


@pytest.mark.parametrize(("currency", "total"), [("JPY", "120\u00a0000 JPY"), ("KWD", "120\u00a0000.000 KWD")])
def test_amounts_have_the_places_of_their_currency(currency: str, total: str) -> None:
    kit = Kit(sundry=(_thing("lamp", "X-01", value_each=120_000),))
    assert insurance_sheet(kit, currency, "a4", PRINTED).total == total


def test_hired_things_are_on_it_where_asked_and_say_so() -> None:
    sheet = insurance_sheet(KIT, "EUR", "a4", PRINTED, ("ours", "hired"))
    assert sheet.total == "1\u00a0320.00 EUR"
    assert [row.owner for part in sheet.bins for row in part.rows if row.tag == "H-01"] == ["hired"]


@given(st.lists(st.tuples(st.integers(0, 10**9), st.integers(1, 9)), max_size=30))
def test_the_sum_is_exact_to_the_cent(values: list[tuple[int, int]]) -> None:
    things = [
        _thing("x", *(f"T-{n}-{k}" for k in range(count)), value_each=cents / 100)
        for n, (cents, count) in enumerate(values)
    ]
    assert Fraction(value_of(things)) == sum((Fraction(cents, 100) * count for cents, count in values), Fraction(0))


def test_in_german_the_words_are_german_and_what_is_in_the_kit_is_called_as_it_is() -> None:
    sheet = insurance_sheet(KIT, "EUR", "a4", PRINTED, ("ours", "hired"), "de")
    assert sheet.total == "1.320,00 EUR"
    assert [(part.bin, part.total) for part in sheet.bins] == [
        ("Mic case", "239,90"), ("Van", "1.000,00"), ("kein Behälter", "80,10"),
    ]  # fmt: skip
    assert [row.owner for part in sheet.bins for row in part.rows if row.tag == "H-01"] == ["gemietet"]
    text = pdf.all_words(insurance_pdf(KIT, "EUR", "a4", PRINTED, ("ours",), "de"))
    for words in ("Geräteliste für die Versicherung", "320,00 EUR für 4 Stück", "1 davon haben noch keinen Wert",
                  "Seriennummer", "nicht bekannt", "27. November 2026", "lamp"):  # fmt: skip
        assert words in text
    assert not re.search(r"\b(of|units?|not|Serial|Value|page|Tag)\b", text)


def test_every_unit_and_serial_number_is_printed() -> None:
    kit = read_kit(DEMO)
    text = pdf.all_words(insurance_pdf(kit, "EUR", "letter", PRINTED))
    ours = [tag for thing in kit.things if thing.owner == "ours" for tag in thing.tags]
    assert len(ours) > 80
    assert [tag for tag in ours if tag not in text] == []
    assert "Value not known" in text
    assert "10372" in pdf.all_words(insurance_pdf(KIT, "EUR", "a4", PRINTED))


def test_a_kit_with_nothing_of_ours_says_so() -> None:
    assert "there is nothing to insure" in pdf.all_words(insurance_pdf(Kit(), "EUR", "a4", PRINTED))


def test_names_of_sixty_letters_of_any_script_are_set(tmp_path: Path) -> None:
    kit = Kit(sundry=(_thing("Ω" * 60, "X-1", bin="เสียง" * 12), _thing("صوت " * 15, "X-2", serials={"X-2": "9" * 60})))
    assert pdf.missing_glyphs(insurance_pdf(kit, "EUR", "a4", PRINTED)) == 0


def test_a_serial_number_of_a_unit_that_there_is_not_is_a_fault(tmp_path: Path) -> None:
    file = tmp_path / "kit.toml"
    file.write_text('[[sundry]]\nitem = "lamp"\ntags = ["X-01"]\nserials = { "X-11" = "7" }\n', "utf-8")
    with pytest.raises(BadDocuments, match='there is no unit of this item "X-11"; write "X-01"'):
        read_kit(file)


def test_serial_numbers_and_values_come_in_from_a_spreadsheet(tmp_path: Path) -> None:
    file = tmp_path / "kit.csv"
    file.write_text("thing,item,tags,serials,value_each\nsundry,lamp,X-01..X-02,X-01: 55; X-02: 56,12.50\n", "utf-8")
    (lamp,) = read_kit(file).sundry
    assert (lamp.serials, lamp.value_each) == ({"X-01": "55", "X-02": "56"}, 12.5)
