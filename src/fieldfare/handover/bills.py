"""Quotes, invoices and credit notes: drafts made from the show, and papers issued under numbers without gaps.

What was issued is kept whole and never changes: printed again it is the same. A mistake is put right by a credit note
under a number of its own, and a new invoice.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from fieldfare.handover.charges import charged
from fieldfare.handover.totals import rounded, rule_words, totals
from fieldfare.show.money import Bill, BillKind, BillLine, Business, Money, number_of
from fieldfare.show.plan import Plan
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.store.numbers import issue, series_of
from fieldfare.store.revisions import history
from fieldfare.store.store import Store
from fieldfare.units.faults import Fault, NotDone
from fieldfare.units.text import listed

_SERIES: dict[BillKind, str] = {"quote": "quote", "invoice": "invoice", "credit note": "invoice"}


@dataclass(frozen=True, slots=True)
class Job:
    """What a paper is about."""

    plan: Plan
    show: Show
    venue: Venue
    money: Money
    business: Business


def draft(job: Job, kind: BillKind, today: dt.date) -> Bill:
    """Make a quote or an invoice from a show, without a number."""
    business, money = job.business, job.money
    counted = charged(job.plan, job.show, money, business)
    paid = money.paid if kind == "invoice" else ()
    sums = totals(counted.line, business, paid)
    days = business.days_to_agree if kind == "quote" else business.days_to_pay
    share = business.deposit_percent if kind == "quote" else 0
    return Bill(
        kind=kind,
        issued=today,
        until=today + dt.timedelta(days=days),
        sender=business,
        client=money.client,
        title=job.show.title,
        venue=job.venue.name,
        supplied=job.show.date,
        line=counted.line,
        totals=sums,
        deposit=rounded(sums.total * share / 100, business.decimals, business.rounding),
        paid=paid,
        open=counted.open,
        rule=rule_words(business),
        note=money.note,
    )


def credit(bill: Bill, today: dt.date) -> Bill:
    """Make the credit note that takes an invoice back: every amount with the other sign, whatever its rule was.

    Nothing is worked out again: what was rounded once is only turned over, so that the two are nothing together.
    """
    lines = tuple(
        BillLine.model_validate(line.model_dump() | {"price": -line.price, "net": -line.net}) for line in bill.line
    )
    before = bill.totals
    taxes = tuple(one.model_copy(update={"net": -one.net, "tax": -one.tax}) for one in before.tax)
    turned = {
        "tax": taxes,
        "net": -before.net,
        "tax_total": -before.tax_total,
        "rounding": -before.rounding + 0,
        "total": -before.total,
        "paid": before.paid * 0,
        "due": -before.total,
    }
    return bill.model_copy(
        update={
            "kind": "credit note",
            "number": "",
            "issued": today,
            "until": today,
            "corrects": bill.number,
            "line": lines,
            "totals": before.model_copy(update=turned),
            "paid": (),
            "deposit": bill.deposit * 0,
        }
    )


def issued(store: Store, kind: BillKind) -> tuple[Bill, ...]:
    """Return every quote, or every invoice and credit note, that was issued, in the order of their numbers by year."""
    series = series_of(store, _SERIES[kind])
    kept = [revision.body for name in series for revision in history(store, _SERIES[kind], name)]
    return tuple(Bill.model_validate(body) for body in kept)


def standing_invoice(store: Store, title: str, day: dt.date) -> Bill | None:
    """Return the invoice of a show that was issued and not taken back; none where there is none."""
    papers = issued(store, "invoice")
    taken_back = {bill.corrects for bill in papers}
    for bill in reversed(papers):
        if bill.kind == "invoice" and (bill.title, bill.supplied) == (title, day) and bill.number not in taken_back:
            return bill
    return None


def issue_bill(store: Store, bill: Bill) -> Bill:
    """Give a paper the next number and keep it.

    Raises
    ------
    Fault
        Something is still open, there is nothing on it, or the show has an invoice that stands.
    NotDone
        The database refused; no number was taken.
    """
    if bill.open:
        what = f"{len(bill.open)} {'thing is' if len(bill.open) == 1 else 'things are'} still open: {bill.open[0]}"
        raise Fault(what, bill.kind, "say how many in money.toml, or count = 0 to leave it out")
    if not bill.line:
        raise Fault("there is nothing on it", bill.kind, "add charges to the price list, or lines to money.toml")
    if bill.kind == "invoice" and (before := standing_invoice(store, bill.title, bill.supplied)):
        what = f"invoice {before.number} was issued for this show"
        raise Fault(what, bill.kind, f"take it back first: --credit {before.number}")
    form = bill.sender.quote_number if bill.kind == "quote" else bill.sender.invoice_number
    series = number_of(form, bill.issued.year, 0) if "{year" in form else form

    def make(number: int) -> dict[str, object]:
        bears = bill.model_copy(update={"number": number_of(form, bill.issued.year, number)})
        return bears.model_dump(mode="json")

    kept = issue(store, _SERIES[bill.kind], series, make)
    return Bill.model_validate(kept.body)


def invoice_to_credit(store: Store, number: str) -> Bill:
    """Return the invoice of that number, if it can be taken back.

    Raises
    ------
    Fault
        There is none, or it was taken back before.
    """
    papers = issued(store, "invoice")
    found = next((bill for bill in papers if bill.number == number and bill.kind == "invoice"), None)
    if found is None:
        known = [bill.number for bill in papers if bill.kind == "invoice"]
        remedy = f"there are {listed(known[-5:])}" if known else "none was issued yet"
        raise Fault("no invoice bears that number", number, remedy)
    before = next((bill.number for bill in papers if bill.corrects == number), None)
    if before:
        raise NotDone(f"it was taken back by credit note {before}", number, "issue a new invoice")
    return found


def issued_bill(store: Store, number: str) -> Bill:
    """Return a paper that was issued, by its number.

    Raises
    ------
    Fault
        There is none.
    """
    papers = (*issued(store, "invoice"), *issued(store, "quote"))
    found = next((bill for bill in papers if bill.number == number), None)
    if found is None:
        known = listed([bill.number for bill in papers][-5:])
        raise Fault("no paper bears that number", number, f"there are {known}" if known else "none was issued yet")
    return found
