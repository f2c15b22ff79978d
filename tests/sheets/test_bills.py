"""Ten thousand random names and amounts on invoices, set in one go and read back by another program."""

from __future__ import annotations

import datetime as dt
import random
import re
import shutil
import subprocess
from decimal import Decimal
from pathlib import Path
from typing import get_args

import pytest
from babel.dates import format_date
from babel.numbers import format_decimal
from handover.money_kit import TODAY, business, random_bill
from hypothesis import given
from hypothesis import strategies as st
from sheets import pdf

from fieldfare.handover.totals import rule_words
from fieldfare.sheets.bills import amount, bill_pdf, bill_sheet, bills_pdf
from fieldfare.sheets.language import day_in
from fieldfare.show.money import Bill, BillKind, Payment

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
    path.write_bytes(bills_pdf(bills, "a4", PRINTED))
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


@given(st.decimals(-(10**9), 10**9, places=2))
def test_an_amount_in_german_is_written_as_the_common_locale_data_say(value: Decimal) -> None:
    """CLDR through Babel's own formatting, but for the minus, which is a true one."""
    assert amount(value, 2, "de").replace("−", "-") == format_decimal(value, "#,##0.00", locale="de").replace("−", "-")


@given(st.dates(dt.date(1900, 1, 1), dt.date(2199, 12, 31)))
def test_a_date_in_german_is_the_long_one_of_the_common_locale_data(date: dt.date) -> None:
    assert day_in(date, "de") == format_date(date, "long", locale="de")


OWN = ("hour, said the band", "Terms: to be paid by hand", "Before tax", "Number", "there and back")
FACTS = (
    "10:30 to 23:00 by the plan, beyond 10 hour, up to 12.5 hour, 2 people", "there and back", "36.3 GB, 2 copies",
    "36.3 GB, 1 copy", "by the set list", "H-01, REC-2", "",
)  # fmt: skip
OPEN = (
    "Reel: the times of the day are not known", "Reel: the length of the recording is not known",
    "Reel: how far it is, there and back: travel = … in money.toml, in km", "Reel: the set list is not known",
    "Hire of a small dynamic: there is no charge for it",
)  # fmt: skip


@pytest.mark.parametrize("kind", get_args(BillKind))
def test_a_paper_in_german_says_nothing_in_english_but_what_somebody_wrote(kind: BillKind) -> None:
    bill = random_bill(random.Random(3), "Reel", len(FACTS))
    lines = tuple(
        line.model_copy(update={"basis": basis, "text": OWN[n % len(OWN)], "unit": "unit"})
        for n, (line, basis) in enumerate(zip(bill.line, FACTS, strict=True))
    )
    own = business(terms=OWN[1], pay_to=("Number", "to the bank"), tax_number="DE123456789", pay_in_steps_of="0.05")
    paid = (Payment(on=TODAY, amount=Decimal("1234.5"), text="Number"),)
    changed = {"kind": kind, "line": lines, "open": OPEN, "sender": own, "paid": paid, "deposit": Decimal("70.5"),
               "rule": rule_words(own), "corrects": "2026-001", "note": "Number"}  # fmt: skip
    page = bill_sheet((bill.model_copy(update=changed),), "a4", "de").bills[0]
    assert [row.text for row in page.rows] == [OWN[n % len(OWN)] for n in range(len(FACTS))]
    assert page.terms == (OWN[1],)
    assert page.rows[0].basis == "10:30 bis 23:00 Uhr nach Plan, über 10 hour hinaus, bis 12,5 hour, 2 Personen"
    assert page.sender[-1] == "USt-IdNr. DE123456789"
    said = [page.heading, page.rule, *page.open, *(name for name, _ in page.facts), *(row.text for row in page.sums)]
    said += [row.basis for row in page.rows]
    left = re.findall(r"\b(the|is|of|to|by|and|there|copies|copy|not|rounded|paid|tax)\b", " ".join(said).lower())
    assert left == []
    assert page.heading.split()[0] == {"quote": "Angebot", "invoice": "Rechnung"}.get(kind, "Rechnungskorrektur")
    assert "Bezahlt am 27. November 2026, Number" in [row.text for row in page.sums]
    assert page.sums[0].amount == amount(bill.totals.net, 2, "de")


def test_a_paper_in_german_is_german_on_paper_too() -> None:
    bill = random_bill(random.Random(3), "Number", 1).model_copy(update={"number": ""})
    text = pdf.all_words(bill_pdf(bill, "a4", PRINTED, "de"))
    for words in ("An", "Leistung", "Menge", "Einheit", "Einzelpreis", "Entwurf: nicht ausgestellt", "Seite 1 von 1"):
        assert words in text
    assert "Number 0" in text  # the line's own words
    assert not re.search(r"\b(To|What|Price|Amount|Draft|Terms|page)\b", text)


def test_a_paper_with_nothing_on_it_says_what_belongs_there(tmp_path: Path) -> None:
    bill = random_bill(random.Random(1), "The band", 0).model_copy(update={"number": "", "open": ("Travel: how far",)})
    text = pdf.all_words(bill_pdf(bill, "a4", PRINTED))
    assert "There is nothing on it yet" in text
    assert "Draft: not issued, without a number" in text
    assert "Travel: how far" in text
