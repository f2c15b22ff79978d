"""Quotes, invoices and credit notes on paper, for one reader or for thousands: plain data for the template."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from fieldfare.sheets.head import TYPST_PAPER, Paper
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.wording import day
from fieldfare.show.money import Bill
from fieldfare.units.text import MINUS

_GROUP = "\u00a0"  # ISO 80000-1 groups digits by threes with a space, never with a point or a comma


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


def bill_pdf(bill: Bill, paper: Paper, printed: dt.datetime) -> bytes:
    """Set a paper as PDF.

    Raises
    ------
    NotDone
        It could not be set.
    """
    return typeset("bill", bill_sheet((bill,), paper), printed)


def bill_sheet(bills: tuple[Bill, ...], paper: Paper) -> BillSheet:
    """Make the data of several papers that are set in one file."""
    title = bill_heading(bills[0]) if len(bills) == 1 else "papers"
    return BillSheet(TYPST_PAPER[paper], title, tuple(_page(bill) for bill in bills))


def bill_heading(bill: Bill) -> str:
    """Say what a paper is, with its number."""
    words = bill.kind[:1].upper() + bill.kind[1:]
    return f"{words} {bill.number}".strip()


def amount(value: Decimal, places: int) -> str:
    """Write an amount with its digits in groups, a true minus, and all places that it has.

    >>> amount(Decimal("-1234567.5"), 2), amount(Decimal("0.455"), 2), amount(Decimal(12), 0)
    ('−1\\xa0234\\xa0567.50', '0.455', '12')
    """
    plain = f"{value.normalize():f}"
    has = len(plain.partition(".")[2])
    text = f"{abs(value):,.{max(places, has)}f}".replace(",", _GROUP)
    return MINUS + text if value < 0 else text


def _page(bill: Bill) -> BillPage:
    places = bill.sender.decimals
    return BillPage(
        heading=bill_heading(bill),
        is_draft=not bill.number,
        sender=_lines(bill.sender.name, *bill.sender.address, bill.sender.contact, _number(bill.sender.tax_number)),
        client=_lines(bill.client.name, *bill.client.address, _number(bill.client.tax_number)),
        facts=tuple(_facts(bill)),
        about=(bill.title, bill.venue, day(bill.supplied)),
        rows=tuple(
            BillRow(
                text=line.text,
                basis=line.basis,
                count=amount(line.count, 0),
                unit=line.unit,
                price=amount(line.price, places),
                tax=line.tax,
                net=amount(line.net, places),
            )
            for line in bill.line
        ),
        sums=tuple(_sums(bill, places)),
        open=bill.open,
        rule=bill.rule,
        note=bill.note,
        pay_to=bill.sender.pay_to if bill.kind == "invoice" else (),
        terms=tuple(part.strip() for part in bill.sender.terms.split("\n\n") if part.strip()),
    )


def _lines(*texts: str) -> tuple[str, ...]:
    return tuple(text for text in texts if text)


def _number(tax_number: str) -> str:
    return f"Tax number {tax_number}" if tax_number else ""


def _facts(bill: Bill) -> list[tuple[str, str]]:
    until = {"quote": "Holds until", "invoice": "To be paid by", "credit note": ""}[bill.kind]
    facts = [("Number", bill.number), ("Date", day(bill.issued)), ("Day of the show", day(bill.supplied))]
    if until:
        facts.append((until, day(bill.until)))
    facts += [("Takes back invoice", bill.corrects), ("Your reference", bill.client.reference)]
    return [(name, value) for name, value in facts if value]


def _sums(bill: Bill, places: int) -> list[SumRow]:
    sums, code = bill.totals, bill.sender.currency
    rows = [SumRow("Before tax", amount(sums.net, places))]
    for tax in sums.tax:
        text = f"Tax {tax.name}, {amount(tax.percent, 0)} % of {amount(tax.net, places)}"
        rows.append(SumRow(text, amount(tax.tax, places), note=tax.reason))
    if sums.rounding:
        rows.append(SumRow("Rounding", amount(sums.rounding, places)))
    rows.append(SumRow(f"Total, {code}", amount(sums.total, places), loud=True))
    for paid in bill.paid:
        text = f"Paid on {day(paid.on)}" + (f", {paid.text}" if paid.text else "")
        rows.append(SumRow(text, amount(-paid.amount, places)))
    if bill.paid:
        rows.append(SumRow(f"Still to be paid, {code}", amount(sums.due, places), loud=True))
    if bill.deposit:
        rows.append(SumRow(f"Deposit when it is agreed, {code}", amount(bill.deposit, places)))
    return rows
