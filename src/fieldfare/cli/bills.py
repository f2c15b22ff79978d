"""fieldfare quote and fieldfare invoice: papers that ask for money, from the show and your own prices."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer

from fieldfare.cli.options import Paper, PaperSize, ShowPath, Tongue
from fieldfare.cli.say import Status, leave, say, show_json, table
from fieldfare.units.faults import Fault

if TYPE_CHECKING:
    from fieldfare.cli.planned import Planned
    from fieldfare.handover.bills import Job
    from fieldfare.sheets.language import Language
    from fieldfare.show.money import Bill
    from fieldfare.store.store import Store

PAPERS = "papers"

Issue = Annotated[bool, typer.Option("--issue", help="Give it the next number and keep it; it never changes again.")]
Begin = Annotated[bool, typer.Option("--begin", help="Write money.toml and business.toml to fill in.")]
To = Annotated[Path | None, typer.Option(help="Folder for the PDF; papers/ in the show's folder if not given.")]
Speaks = Annotated[Tongue, typer.Option(help="Language of everything but names and your own words.")]
AsJson = Annotated[bool, typer.Option("--json", help="Write the paper as JSON.")]


def quote(
    show: ShowPath,
    issue: Issue = False,
    begin: Begin = False,
    to: To = None,
    paper: PaperSize = Paper.a4,
    language: Speaks = Tongue.en,
    as_json: AsJson = False,
) -> None:
    """Make a quote from the show and your own price list."""
    if begin:
        _begin(show)
    made, job = _job(show)
    from fieldfare.handover.bills import draft, issue_bill

    bill = draft(job, "quote", _today(made))
    if issue:
        with _store(made, job) as store:
            bill = issue_bill(store, bill)
    _out(bill, made, to, paper, language, as_json)


def invoice(
    show: ShowPath,
    issue: Issue = False,
    credit: Annotated[str, typer.Option(metavar="NUMBER", help="Take back the invoice of that number.")] = "",
    again: Annotated[str, typer.Option(metavar="NUMBER", help="Print an issued paper again, unchanged.")] = "",
    begin: Begin = False,
    to: To = None,
    paper: PaperSize = Paper.a4,
    language: Speaks = Tongue.en,
    as_json: AsJson = False,
) -> None:
    """Make an invoice from the show and your own price list, or take one back."""
    if begin:
        _begin(show)
    if credit and again:
        raise Fault("--credit and --again are two things", "the command", "give one of them")
    made, job = _job(show)
    from fieldfare.handover import bills

    with _store(made, job) as store:
        if again:
            bill = bills.issued_bill(store, again)
        elif credit:
            bill = bills.credit(bills.invoice_to_credit(store, credit), _today(made))
        else:
            bill = bills.draft(job, "invoice", _today(made))
        if issue and not again:
            bill = bills.issue_bill(store, bill)
    _out(bill, made, to, paper, language, as_json)


def _begin(show: Path) -> None:
    from fieldfare.handover.beginning import begin

    folder = show if show.is_dir() else show.parent
    for path in begin(folder, "money.toml", "business.toml"):
        say(f"Wrote {path}: fill it in, then run the command again.")
    leave(Status.DONE)


def _job(show: Path) -> tuple[Planned, Job]:
    from fieldfare.cli.planned import planned
    from fieldfare.handover.bills import Job
    from fieldfare.show.money import MONEY_FILE, read_money

    made = planned(show)
    read = made.read
    if not (read.folder / MONEY_FILE).is_file():
        raise Fault(f"there is no {MONEY_FILE} in this folder", str(read.folder), "--begin writes one to fill in")
    money, business = read_money(read.folder)
    return made, Job(made.plan, read.show, read.venue, money, business)


def _today(made: Planned) -> dt.date:
    return dt.datetime.now(ZoneInfo(made.read.venue.zone)).date()


def _store(made: Planned, job: Job) -> Store:
    """Numbers run through all shows that share a price list, so they are kept beside it."""
    from fieldfare.cli.planned import show_store

    return show_store((made.read.folder / job.money.business).resolve().parent)


def _out(bill: Bill, made: Planned, to: Path | None, paper: Paper, language: Tongue, as_json: bool) -> None:
    from fieldfare.sheets.bills import bill_heading, bill_pdf
    from fieldfare.sheets.language import worded
    from fieldfare.sheets.write import put_all
    from fieldfare.units.text import slug

    printed = dt.datetime.now(ZoneInfo(made.read.venue.zone))
    tongue: Language = language.value
    name = slug(bill_heading(bill, tongue)) + ("" if bill.number else f"-{worded('draft', tongue)}")
    content = bill_pdf(bill, paper.value, printed, tongue)
    (path,) = put_all({f"{name.casefold()}.pdf": content}, to or made.read.folder / PAPERS)
    if as_json:
        show_json(bill)
    else:
        _tell(bill, path)
    leave(Status.LOOK if bill.open else Status.DONE)


def _tell(bill: Bill, path: Path) -> None:
    from fieldfare.sheets.bills import amount, bill_heading

    places, code = bill.sender.decimals, bill.sender.currency
    say(f"{bill_heading(bill)} to {bill.client.name}: {bill.title}" + ("" if bill.number else " (draft)"))
    rows = [
        (line.text, f"{amount(line.count, 0)} {line.unit}", amount(line.price, places), amount(line.net, places))
        for line in bill.line
    ]
    table(("What", "How many", "Price", "Amount"), rows, (34, -13, -12, -14))
    for tax in bill.totals.tax:
        say(f"Tax {tax.name}, {amount(tax.percent, 0)} % of {amount(tax.net, places)}: {amount(tax.tax, places)}")
    say(f"Total {amount(bill.totals.total, places)} {code}; due {amount(bill.totals.due, places)} {code}.")
    for one in bill.open:
        say(f"Open, not in the sums: {one}", indent=1, hang=2)
    say(f"Printed {path}.")
