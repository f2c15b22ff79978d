"""Papers under numbers: none left out, none given twice, none changed; each invoice taken back once and to nothing."""

from __future__ import annotations

import datetime as dt
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from pathlib import Path

import pytest
from handover.demo import demo
from handover.money_kit import TODAY, amounts, business, charge, counts, money
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.handover.bills import (
    Job,
    credit,
    draft,
    invoice_to_credit,
    issue_bill,
    issued,
    issued_bill,
    standing_invoice,
)
from fieldfare.show.money import Bill, Business, Money, read_money
from fieldfare.store.numbers import issue, series_of
from fieldfare.store.revisions import history
from fieldfare.store.store import open_store, url_of
from fieldfare.units.faults import BadDocuments, Fault, NotDone


def _job(own: Business | None = None, said: Money | None = None) -> Job:
    plan, show, venue, _ = demo()
    return Job(plan, show, venue, said or money(), own or business(charge=(charge("mixing", "mixing"),)))


def _titled(bill: Bill, title: str) -> Bill:
    return bill.model_copy(update={"title": title})


def test_numbers_run_on_through_invoices_and_credit_notes_and_by_year(tmp_path: Path) -> None:
    with open_store(url_of(tmp_path)) as store:
        first = issue_bill(store, draft(_job(), "invoice", TODAY))
        back = issue_bill(store, credit(invoice_to_credit(store, first.number), TODAY))
        second = issue_bill(store, draft(_job(), "invoice", TODAY))
        later = issue_bill(store, _titled(draft(_job(), "invoice", dt.date(2027, 1, 2)), "Another"))
        offer = issue_bill(store, draft(_job(), "quote", TODAY))
        assert [one.number for one in (first, back, second, later, offer)] == [
            "2026-001", "2026-002", "2026-003", "2027-001", "Q-2026-001",
        ]  # fmt: skip
        assert [bill.number for bill in issued(store, "invoice")] == ["2026-001", "2026-002", "2026-003", "2027-001"]
        assert series_of(store, "quote") == ("Q-2026-000",)
        assert issued_bill(store, "2026-001") == first
        with pytest.raises(Fault, match="no paper bears that number; there are 2026-001, 2026-002"):
            issued_bill(store, "2026-9")


def test_eight_at_once_leave_no_gap_and_give_none_twice(tmp_path: Path) -> None:
    open_store(url_of(tmp_path)).close()

    def one(place: int) -> str:
        with open_store(url_of(tmp_path)) as store:
            return issue_bill(store, _titled(draft(_job(), "invoice", TODAY), f"Show {place}")).number

    with ThreadPoolExecutor(8) as pool:
        numbers = list(pool.map(one, range(24)))
    assert sorted(numbers) == [f"2026-{number:03}" for number in range(1, 25)]


def test_a_paper_that_cannot_be_made_takes_no_number(tmp_path: Path) -> None:
    def broken(number: int) -> dict[str, object]:
        raise Fault("cannot be made", str(number), "stop")

    with open_store(url_of(tmp_path)) as store:
        issue(store, "invoice", "a", lambda number: {"number": number})
        with pytest.raises(Fault, match="cannot be made"):
            issue(store, "invoice", "a", broken)
        issue(store, "invoice", "a", lambda number: {"number": number})
        assert [one.body["number"] for one in history(store, "invoice", "a")] == [1, 2]


def test_a_show_has_one_invoice_that_stands(tmp_path: Path) -> None:
    with open_store(url_of(tmp_path)) as store:
        first = issue_bill(store, draft(_job(), "invoice", TODAY))
        with pytest.raises(Fault, match="invoice 2026-001 was issued for this show; take it back first"):
            issue_bill(store, draft(_job(), "invoice", TODAY))
        assert standing_invoice(store, first.title, first.supplied) == first
        issue_bill(store, credit(first, TODAY))
        assert standing_invoice(store, first.title, first.supplied) is None
        with pytest.raises(NotDone, match="taken back by credit note 2026-002"):
            invoice_to_credit(store, "2026-001")
        with pytest.raises(Fault, match="no invoice bears that number; there are 2026-001"):
            invoice_to_credit(store, "2026-002")


@pytest.mark.parametrize(
    ("own", "said", "says"),
    [
        (business(charge=(charge("travel", "travel"),)), money(), "1 thing is still open: For travel"),
        (business(), money(), "there is nothing on it"),
    ],
)
def test_what_is_open_or_empty_is_not_issued(own: Business, said: Money, says: str, tmp_path: Path) -> None:
    with open_store(url_of(tmp_path)) as store:
        with pytest.raises(Fault, match=says):
            issue_bill(store, draft(_job(own, said), "invoice", TODAY))
        assert issued(store, "invoice") == ()


@given(st.lists(st.tuples(counts, amounts), min_size=1, max_size=8), st.sampled_from(["half up", "half even"]))
def test_an_invoice_and_its_credit_note_are_nothing_together(lines: list[tuple[Decimal, Decimal]], rule: str) -> None:
    extra = tuple({"text": "x", "count": count, "price": price, "tax": "standard"} for count, price in lines)
    bill = draft(_job(business(rounding=rule), money(extra=extra)), "invoice", TODAY)
    back = credit(bill.model_copy(update={"number": "2026-001"}), TODAY)
    assert back.corrects == "2026-001"
    assert bill.totals.total + back.totals.total == 0
    assert [one.net + other.net for one, other in zip(bill.line, back.line, strict=True)] == [0] * len(lines)
    assert all(one.tax + other.tax == 0 for one, other in zip(bill.totals.tax, back.totals.tax, strict=True))
    assert back.totals.net + back.totals.tax_total + back.totals.rounding == back.totals.total


def test_a_quote_asks_for_a_deposit_and_an_invoice_takes_off_what_was_paid() -> None:
    own = business(charge=(charge("mixing", "mixing", tax="none"),), deposit_percent=30)
    said = money(paid=({"on": "2026-11-20", "amount": 42},))
    offer, bill = draft(_job(own, said), "quote", TODAY), draft(_job(own, said), "invoice", TODAY)
    assert (offer.totals.total, offer.deposit, offer.totals.due) == tuple(map(Decimal, (140, 42, 140)))
    assert (bill.totals.total, bill.deposit, bill.totals.due) == tuple(map(Decimal, (140, 0, 98)))
    assert (offer.until, bill.until) == (dt.date(2026, 12, 27), dt.date(2026, 12, 11))


PRICES = """name = "R"
currency = "EUR"
invoice_number = "bill"
[[tax]]
name = "none"
percent = 0
[[charge]]
name = "day"
text = "Day"
unit = "h"
price = 12.35
tax = "nun"
"""
SAID = """business = "business.toml"
[client]
name = "B"
[[counted]]
charge = "days"
count = 1
"""


def test_every_fault_of_both_files_is_told_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "business.toml").write_text(PRICES, "utf-8")
    (tmp_path / "money.toml").write_text(SAID, "utf-8")
    with pytest.raises(BadDocuments, match="nun") as caught:
        read_money(tmp_path)
    assert str(caught.value).splitlines() == [
        'business.toml, line 12, charge "day", tax: there is no tax "nun"; one of none',
        'money.toml, line 5, counted 1, charge: there is no charge "days"; write "day"',
        'business.toml, line 3, invoice_number: "bill" does not tell papers apart; write "{year}-{number:03}"',
    ]
    (tmp_path / "business.toml").write_text(PRICES.replace("nun", "none").replace('"bill"', '"{number}"'), "utf-8")
    (tmp_path / "money.toml").write_text(SAID.replace("days", "day"), "utf-8")
    _, own = read_money(tmp_path)
    assert own.charge[0].price == Decimal("12.35")  # exactly, though TOML's number is a binary one


def test_a_blank_currency_says_what_one_is(tmp_path: Path) -> None:
    (tmp_path / "business.toml").write_text(PRICES.replace('"EUR"', '""').replace("nun", "none"), "utf-8")
    (tmp_path / "money.toml").write_text(SAID.replace("days", "day"), "utf-8")
    with pytest.raises(BadDocuments, match=r"give text in quotes \(three letters of ISO 4217: EUR\)"):
        read_money(tmp_path)


def test_a_store_that_is_another_s_is_not_touched(tmp_path: Path) -> None:
    (tmp_path / "fieldfare.sqlite").write_text("no database at all, but long enough to be looked at by one" * 20)
    with pytest.raises(NotDone, match="not a database"):
        open_store(url_of(tmp_path))
