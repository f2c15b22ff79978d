"""Quotes, invoices and credit notes on paper, for one reader or for thousands: plain data for the template.

What the recordist and the client wrote stands as it is in any language: only the words between are the program's.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from fieldfare.sheets.head import TYPST_PAPER, Paper
from fieldfare.sheets.language import Language, day_in, said, worded
from fieldfare.sheets.typeset import typeset
from fieldfare.show.money import Bill, BillKind
from fieldfare.units.text import MINUS

_GROUP = "\u00a0"  # ISO 80000-1 groups digits by threes with a space, never with a point or a comma
_KINDS: dict[BillKind, str] = {"quote": "Quote", "invoice": "Invoice", "credit note": "Credit note"}
_UNTIL: dict[BillKind, str] = {"quote": "Holds until", "invoice": "To be paid by", "credit note": ""}


@dataclass(frozen=True, slots=True)
class BillRow:
    """One line."""

    text: str
    basis: str
    count: str
    unit: str
    price: str
    tax: str
    net: str


@dataclass(frozen=True, slots=True)
class SumRow:
    """One of the sums under the lines."""

    text: str
    amount: str
    loud: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class BillPage:
    """Everything on one paper."""

    heading: str
    is_draft: bool
    sender: tuple[str, ...]  # the name first
    client: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    about: tuple[str, ...]
    rows: tuple[BillRow, ...]
    sums: tuple[SumRow, ...]
    open: tuple[str, ...]
    rule: str
    note: str
    pay_to: tuple[str, ...]
    terms: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BillSheet:
    """One paper after another, each with its own page numbers."""

    paper: str
    title: str
    bills: tuple[BillPage, ...]


def bill_pdf(bill: Bill, paper: Paper, printed: dt.datetime, language: Language = "en") -> bytes:
    """Set a paper as PDF.

    Raises
    ------
    NotDone
        It could not be set.
    """
    return bills_pdf((bill,), paper, printed, language)


def bills_pdf(bills: tuple[Bill, ...], paper: Paper, printed: dt.datetime, language: Language = "en") -> bytes:
    """Set several papers in one file, each with its own page numbers.

    Raises
    ------
    NotDone
        They could not be set.
    """
    return typeset("bill", bill_sheet(bills, paper, language), printed, language, is_said=True)


def bill_sheet(bills: tuple[Bill, ...], paper: Paper, language: Language = "en") -> BillSheet:
    """Make the data of several papers that are set in one file."""
    title = bill_heading(bills[0], language) if len(bills) == 1 else worded("papers", language)
    return BillSheet(TYPST_PAPER[paper], title, tuple(_page(bill, language) for bill in bills))


def bill_heading(bill: Bill, language: Language = "en") -> str:
    """Say what a paper is, with its number."""
    return f"{worded(_KINDS[bill.kind], language)} {bill.number}".strip()


def amount(value: Decimal, places: int, language: Language = "en") -> str:
    """Write an amount with its digits in groups, a true minus, and all places that it has.

    >>> amount(Decimal("-1234567.5"), 2), amount(Decimal("0.455"), 2), amount(Decimal(12), 0)
    ('−1\\xa0234\\xa0567.50', '0.455', '12')
    >>> amount(Decimal("-1234567.5"), 2, "de")
    '−1.234.567,50'
    """
    plain = f"{value.normalize():f}"
    has = len(plain.partition(".")[2])
    text = f"{abs(value):,.{max(places, has)}f}".translate(_signs(language))
    return MINUS + text if value < 0 else text


@cache
def _signs(language: Language) -> dict[int, str]:
    """Return what a language groups digits with, and its decimal sign: by CLDR, but for English by ISO 80000-1."""
    if language == "en":
        return {ord(","): _GROUP}
    from babel.numbers import get_decimal_symbol, get_group_symbol

    return {ord(","): get_group_symbol(language), ord("."): get_decimal_symbol(language)}


def _page(bill: Bill, language: Language) -> BillPage:
    places = bill.sender.decimals
    sender, client = bill.sender, bill.client
    return BillPage(
        heading=bill_heading(bill, language),
        is_draft=not bill.number,
        sender=_lines(sender.name, *sender.address, sender.contact, tax_number_words(sender.tax_number, language)),
        client=_lines(client.name, *client.address, tax_number_words(client.tax_number, language)),
        facts=tuple(_facts(bill, language)),
        about=(bill.title, bill.venue, day_in(bill.supplied, language)),
        rows=tuple(
            BillRow(
                text=line.text,
                basis=said(line.basis, language),
                count=amount(line.count, 0, language),
                unit=line.unit,
                price=amount(line.price, places, language),
                tax=line.tax,
                net=amount(line.net, places, language),
            )
            for line in bill.line
        ),
        sums=tuple(_sums(bill, places, language)),
        open=tuple(said(one, language) for one in bill.open),
        rule=said(bill.rule, language),
        note=bill.note,
        pay_to=bill.sender.pay_to if bill.kind == "invoice" else (),
        terms=tuple(part.strip() for part in bill.sender.terms.split("\n\n") if part.strip()),
    )


def _lines(*texts: str) -> tuple[str, ...]:
    return tuple(text for text in texts if text)


def tax_number_words(tax_number: str, language: Language = "en") -> str:
    """Say what a tax number is: one that begins with the letters of a country is a VAT number.

    So it is in Directive 2006/112/EC, article 215 (from memory). What comes with words of its own stands as it is.

    >>> tax_number_words("12/345/67890"), tax_number_words("DE123456789", "de"), tax_number_words("Registered: none")
    ('Tax number 12/345/67890', 'USt-IdNr. DE123456789', 'Registered: none')
    """
    if re.match(r"[A-Z]{2,3}[ -]?U?\d", tax_number):
        return worded("VAT number {x}", language, x=tax_number)
    if re.search(r"[^\W\d_]{2}", tax_number) or not tax_number:
        return tax_number
    return worded("Tax number {x}", language, x=tax_number)


def _facts(bill: Bill, language: Language) -> list[tuple[str, str]]:
    until = _UNTIL[bill.kind]
    facts = [
        ("Number", bill.number),
        ("Date", day_in(bill.issued, language)),
        ("Day of the show", day_in(bill.supplied, language)),
        (until, day_in(bill.until, language) if until else ""),
        ("Takes back invoice", bill.corrects),
        ("Your reference", bill.client.reference),
    ]
    return [(worded(name, language), value) for name, value in facts if value]


def _sums(bill: Bill, places: int, language: Language) -> list[SumRow]:
    sums, code = bill.totals, bill.sender.currency

    def row(value: Decimal, message: str, *, loud: bool = False, note: str = "", **given: str) -> SumRow:
        return SumRow(worded(message, language, **given), amount(value, places, language), loud, note)

    rows = [row(sums.net, "Before tax")]
    for tax in sums.tax:
        percent, net = amount(tax.percent, 0, language), amount(tax.net, places, language)
        rows.append(row(tax.tax, "Tax {x}, {n} % of {n2}", note=tax.reason, x=tax.name, n=percent, n2=net))
    if sums.rounding:
        rows.append(row(sums.rounding, "Rounding"))
    rows.append(row(sums.total, "Total, {x}", loud=True, x=code))
    for paid in bill.paid:
        more = f", {paid.text}" if paid.text else ""
        rows.append(row(-paid.amount, "Paid on {t}{x}", t=day_in(paid.on, language), x=more))
    if bill.paid:
        rows.append(row(sums.due, "Still to be paid, {x}", loud=True, x=code))
    if bill.deposit:
        rows.append(row(bill.deposit, "Deposit when it is agreed, {x}", x=code))
    return rows
