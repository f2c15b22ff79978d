"""What is asked for and paid: the recordist's own prices, what a client agreed to, and the papers made of both.

Amounts are decimal, never binary. Prices are before tax. Nothing here advises on law or tax: rates, reasons and terms
are what the user writes.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from fieldfare.show.record import Name, Record
from fieldfare.show.wording import validated
from fieldfare.show.written import Written, read_toml
from fieldfare.units.faults import BadDocuments, Blemish
from fieldfare.units.text import listed, nearest

MONEY_FILE = "money.toml"

Amount = Annotated[Decimal, Field(gt=-(10**9), lt=10**9, allow_inf_nan=False, decimal_places=6)]
Count = Annotated[Decimal, Field(ge=0, lt=10**6, allow_inf_nan=False, decimal_places=4)]
Percent = Annotated[Decimal, Field(ge=0, le=100, allow_inf_nan=False, decimal_places=4)]
Step = Annotated[Decimal, Field(gt=0, le=10**6, allow_inf_nan=False, decimal_places=4)]
Currency = Annotated[str, StringConstraints(pattern=r"^[A-Z]{3}$")]
Rounding = Literal["half up", "half even"]
Basis = Literal["time on site", "travel", "hire", "media", "mixing", "once", "by hand"]
BillKind = Literal["quote", "invoice", "credit note"]

# ISO 4217, minor units other than two, from memory; looked up once beside CLDR, which agrees but for the dinar of Iraq.
_NO_PLACES = {
    "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF", "XPF",
}  # fmt: skip
_THREE_PLACES = {"BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"}


def places_of(currency: str) -> int:
    """Tell how many places an amount in a currency has.

    >>> [places_of(code) for code in ("EUR", "JPY", "KWD")]
    [2, 0, 3]
    """
    return 0 if currency in _NO_PLACES else 3 if currency in _THREE_PLACES else 2


class Tax(Record):
    """A rate of tax."""

    name: Name = Field(description="What charges call it: standard, none")
    percent: Percent = Field(description="Of the price before tax")
    reason: str = Field(default="", description="Printed beside it, where one must be given")


class Charge(Record):
    """One line of the price list."""

    name: Name = Field(description="What money.toml calls it")
    text: Name = Field(description="What stands on the paper")
    basis: Basis = Field(default="by hand", description="What of the show it is counted from")
    unit: Name = Field(description="What is counted: hour, km, song, GB, piece")
    price: Amount = Field(description="For one, before tax")
    tax: Name = Field(description="Name of its rate of tax")
    item: str = Field(default="", description="For hire: the item of the kit that it is for")
    each_person: bool = Field(default=True, description="For time on site: once for everybody of the crew")
    above: Count = Field(default=Decimal(0), description="Only what goes beyond this, as overtime does")
    up_to: Count | None = Field(default=None, description="Only what stays within this")
    step: Step | None = Field(default=None, description="Counted in whole steps of this, rounded up: 0.25")


class Business(Record):
    """Whoever sends the papers."""

    name: Name = Field(description="As it stands on papers")
    address: tuple[str, ...] = Field(default=(), description="Its lines")
    contact: str = Field(default="", description="Mail, telephone")
    tax_number: str = Field(default="", description="Where one must be printed")
    pay_to: tuple[str, ...] = Field(default=(), description="Ways to pay, line by line")
    currency: Currency = Field(description="Three letters of ISO 4217: EUR")
    places: Annotated[int, Field(ge=0, le=4)] | None = Field(
        default=None, description="Places of an amount, where not those of ISO 4217"
    )
    rounding: Rounding = Field(default="half up", description="How a half is rounded: away from zero, or to even")
    pay_in_steps_of: Step | None = Field(default=None, description="Where no smaller coin is in use: 0.05")
    days_to_pay: Annotated[int, Field(ge=0, le=365)] = Field(default=14, description="From the day of the invoice")
    days_to_agree: Annotated[int, Field(ge=1, le=365)] = Field(default=30, description="How long a quote holds")
    deposit_percent: Percent = Field(default=Decimal(0), description="Asked for when a quote is agreed")
    quote_number: Name = Field(
        default="Q-{year}-{number:03}", description="How they are numbered; with {year} each year begins anew"
    )
    invoice_number: Name = Field(default="{year}-{number:03}", description="The same for invoices and credit notes")
    tax: tuple[Tax, ...] = Field(min_length=1)
    charge: tuple[Charge, ...] = ()
    terms: str = Field(default="", description="Your own text, printed as it stands; a blank line parts paragraphs")
    consent_text: str = Field(default="", description="Your own text at the head of a form of consent")

    @property
    def decimals(self) -> int:
        """Places of an amount that can be paid.

        >>> made = {"name": "A", "tax": ({"name": "none", "percent": 0},)}
        >>> [Business(currency=code, **made).decimals for code in ("EUR", "JPY", "KWD")]
        [2, 0, 3]
        """
        if self.places is not None:
            return self.places
        return places_of(self.currency)


class Client(Record):
    """Whoever the papers go to."""

    name: Name = Field(description="As it stands on papers")
    address: tuple[str, ...] = Field(default=(), description="Its lines")
    tax_number: str = Field(default="", description="Where one must be printed")
    reference: str = Field(default="", description="Their order number")


class Counted(Record):
    """How many of a charge, said by hand instead of counted from the show."""

    charge: Name = Field(description="Name of the charge")
    count: Count = Field(description="How many; 0 leaves it out")
    text: str = Field(default="", description="Instead of its own text")


class Extra(Record):
    """A line that is not on the price list; a negative price takes off."""

    text: Name = Field(description="What stands on the paper")
    count: Count = Field(default=Decimal(1), description="How many")
    unit: str = Field(default="", description="What is counted")
    price: Amount = Field(description="For one, before tax")
    tax: Name = Field(description="Name of its rate of tax")


class Payment(Record):
    """What was paid already."""

    on: dt.date = Field(description="When")
    amount: Amount = Field(description="Tax and all")
    text: str = Field(default="", description="As deposit, in cash")


class Money(Record):
    """What a client agreed to, or is asked to."""

    business: Name = Field(description="File of your own prices, from the show's folder")
    client: Client
    travel: Count | None = Field(default=None, description="There and back, in the unit of the charge; blank: open")
    counted: tuple[Counted, ...] = ()
    extra: tuple[Extra, ...] = ()
    paid: tuple[Payment, ...] = ()
    note: str = Field(default="", description="Printed under the lines")


class BillLine(Record):
    """One line of a paper."""

    text: str
    count: Decimal
    unit: str
    price: Decimal
    tax: str
    net: Decimal = Field(description="Count times price, rounded")
    basis: str = Field(default="", description="What it was counted from")


class TaxSum(Record):
    """The tax of one rate."""

    name: str
    percent: Decimal
    reason: str = ""
    net: Decimal = Field(description="Sum of the lines at this rate")
    tax: Decimal = Field(description="Of that sum, rounded once")


class Totals(Record):
    """The sums of a paper."""

    tax: tuple[TaxSum, ...]
    net: Decimal
    tax_total: Decimal
    rounding: Decimal = Field(default=Decimal(0), description="Where no smaller coin is in use")
    total: Decimal
    paid: Decimal = Decimal(0)
    due: Decimal


class Bill(Record):
    """A quote, an invoice or a credit note, as it stands on paper."""

    kind: BillKind
    number: str = Field(default="", description="Blank while it is a draft")
    issued: dt.date
    until: dt.date = Field(description="When it is to be paid, or how long it holds")
    corrects: str = Field(default="", description="Number of the invoice that a credit note takes back")
    sender: Business
    client: Client
    title: str
    venue: str
    supplied: dt.date = Field(description="Day of the show")
    line: tuple[BillLine, ...]
    totals: Totals
    deposit: Decimal = Decimal(0)
    paid: tuple[Payment, ...] = ()
    open: tuple[str, ...] = Field(default=(), description="What is not counted yet, and so not in the sums")
    rule: str = Field(description="How amounts were rounded")
    note: str = ""


def read_money(folder: Path) -> tuple[Money, Business]:
    """Read what a client agreed to, and the prices it rests on.

    Parameters
    ----------
    folder
        The show's folder, with money.toml in it.

    Raises
    ------
    BadDocuments
        Every fault of both files.
    """
    written = read_toml(folder / MONEY_FILE)
    money, faults = validated(written, Money)
    if money is None:
        raise BadDocuments(faults)
    prices = read_toml(folder / money.business, money.business)
    business, faults = validated(prices, Business)
    if business is None:
        raise BadDocuments(faults)
    names = [tax.name for tax in business.tax]
    taxed = [(prices, "charge", number, one.tax) for number, one in enumerate(business.charge)]
    taxed += [(written, "extra", number, one.tax) for number, one in enumerate(money.extra)]
    said = [
        file.blemish((kind, number, "tax"), f'there is no tax "{tax}"', f"one of {listed(names)}")
        for file, kind, number, tax in taxed
        if tax not in names
    ]
    charges = [charge.name for charge in business.charge]
    for number, counted in enumerate(money.counted):
        if counted.charge not in charges:
            near = nearest(counted.charge, charges)
            remedy = f'write "{near}"' if near else f"{money.business} has {listed(charges) or 'none'}"
            said.append(
                written.blemish(("counted", number, "charge"), f'there is no charge "{counted.charge}"', remedy)
            )
    for name, values in (("tax", names), ("charge", charges)):
        said += [
            prices.blemish((name, number, "name"), f'"{value}" is there twice', "give each a name of its own")
            for number, value in enumerate(values)
            if value in values[:number]
        ]
    said += [fault for field in ("quote_number", "invoice_number") for fault in _number_faults(prices, business, field)]
    if said:
        raise BadDocuments(tuple(said))
    return money, business


def number_of(form: str, year: int, number: int) -> str:
    """Write the number of a paper.

    >>> number_of("{year}-{number:03}", 2026, 7)
    '2026-007'
    """
    return form.format(year=year, number=number)


def _number_faults(prices: Written, business: Business, field: str) -> list[Blemish]:
    form = getattr(business, field)
    try:
        apart = number_of(form, 2026, 1) != number_of(form, 2026, 2)
    except (KeyError, IndexError, ValueError, AttributeError):
        apart = False
    if apart:
        return []
    return [prices.blemish((field,), f'"{form}" does not tell papers apart', 'write "{year}-{number:03}"')]
