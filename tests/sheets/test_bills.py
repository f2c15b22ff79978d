"""Ten thousand random names and amounts on invoices, set in one go and read back by another program."""

from __future__ import annotations

import datetime as dt
import random
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from handover.money_kit import random_bill
from sheets import pdf

from fieldfare.sheets.bills import amount, bill_pdf, bill_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.show.money import Bill

PRINTED = dt.datetime(2026, 11, 27, 12)
BILLS, LINES = 100, 100
LATIN = "abcdefghijklmnopqrstuvwxyzäöüßñçéèåøłžšđæ"
GREEK = "αβγδεζηθικλμνξοπρστυφχψωάέήίόύώ"
CYRILLIC = "абвгдежзиклмнопрстуфхцчшщъыьэюя"
THAI = "กขคงจชซญดตถทนบปผพฟมยรลวสหอ"
ARABIC = "ابتثجحخدذرزسشصضطظعغفقكلمنهوي"


def _name(dice: random.Random, signs: str) -> str:
    words = ["".join(dice.choices(signs, k=dice.randrange(1, 14))) for _ in range(dice.randrange(1, 6))]
    return " ".join(words)[:60].strip()


def _bills() -> tuple[Bill, ...]:
    dice = random.Random(8493)
    scripts = [LATIN, LATIN.upper(), GREEK, CYRILLIC, THAI, ARABIC]
    return tuple(random_bill(dice, _name(dice, scripts[n % len(scripts)]), LINES) for n in range(BILLS))


def _bare(text: str) -> str:
    return "".join(text.split())


@pytest.fixture(scope="module")
def read_back(tmp_path_factory: pytest.TempPathFactory) -> tuple[tuple[Bill, ...], str]:
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler's pdftotext is not installed")
    bills = _bills()
    path = tmp_path_factory.mktemp("bills") / "all.pdf"
    path.write_bytes(typeset("bill", bill_sheet(bills, "a4"), PRINTED))
    done = subprocess.run(["pdftotext", "-raw", path, "-"], capture_output=True, check=True)
    return bills, done.stdout.decode("utf-8")


def test_every_amount_of_ten_thousand_lines_stands_on_its_paper(read_back: tuple[tuple[Bill, ...], str]) -> None:
    bills, text = read_back
    pages = text.split("\f")
    by_bill: dict[str, str] = {}
    for page in pages:
        number = next((bill.number for bill in bills if f"Invoice {bill.number}," in page), "")
        by_bill[number] = by_bill.get(number, "") + _bare(page)
    assert sum(len(bill.line) for bill in bills) == 10_000
    for bill in bills:
        page = by_bill[bill.number]
        for line in bill.line:
            assert _bare(amount(line.net, 2)) in page
        for value in (bill.totals.net, bill.totals.tax_total, bill.totals.total):
            assert _bare(amount(value, 2)) in page or value == bill.totals.tax_total


def test_every_name_in_letters_that_stand_one_after_another_is_read_back(
    read_back: tuple[tuple[Bill, ...], str],
) -> None:
    bills, text = read_back
    bare = _bare(text)
    plain = [bill for place, bill in enumerate(bills) if place % 6 < 4]
    assert len(plain) > 60
    assert [bill.client.name for bill in plain if _bare(f"{bill.client.name} {LINES - 1}") not in bare] == []


def test_no_page_number_is_wrong_though_all_are_set_in_one_go(read_back: tuple[tuple[Bill, ...], str]) -> None:
    bills, text = read_back
    pages = [page for page in text.split("\f") if page.strip()]
    said = [found[0] for page in pages if (found := re.search(r"page \d+ of \d+$", page.strip()))]
    expected: list[str] = []
    for bill in bills:
        count = sum(f"Invoice {bill.number}, " in page for page in pages)
        expected += [f"page {number} of {count}" for number in range(1, count + 1)]
    assert said == expected


@pytest.mark.parametrize(
    "name", ["Ω" * 60, "เสียงร้องนำของงานเลี้ยงกลางฤดูหนาวในโรงเก็บเรือเก่าริมท่าเรือ", "فرقة الميناء " * 4, "W" * 60]
)
def test_a_paper_with_a_name_of_sixty_letters_is_set_without_a_missing_glyph(name: str) -> None:
    content = bill_pdf(random_bill(random.Random(1), name, 3), "letter", PRINTED)
    assert pdf.missing_glyphs(content) == 0
    assert all(font.startswith(("Barlow", "NotoSans")) for font in pdf.fonts(content))


def test_a_paper_with_nothing_on_it_says_what_belongs_there(tmp_path: Path) -> None:
    bill = random_bill(random.Random(1), "The band", 0).model_copy(update={"number": "", "open": ("Travel: how far",)})
    text = pdf.all_words(bill_pdf(bill, "a4", PRINTED))
    assert "There is nothing on it yet" in text
    assert "Draft: not issued, without a number" in text
    assert "Travel: how far" in text
