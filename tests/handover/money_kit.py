"""A price list, a client and made-up papers for the tests of money."""

from __future__ import annotations

import datetime as dt
import random
from decimal import Decimal

from hypothesis import strategies as st

from fieldfare.handover.totals import line_of, rule_words, totals
from fieldfare.show.money import Bill, BillLine, Business, Charge, Client, Money, Tax

TODAY = dt.date(2026, 11, 27)
TAXES = (
    Tax(name="standard", percent=Decimal("19")),
    Tax(name="reduced", percent=Decimal("5.5")),
    Tax(name="none", percent=0),
)
amounts = st.decimals(min_value=-(10**6), max_value=10**6, places=6, allow_nan=False)
counts = st.decimals(min_value=0, max_value=10**5, places=4, allow_nan=False)


def business(**changed: object) -> Business:
    """A price list that charges for nothing yet."""
    said: dict[str, object] = {"name": "The recordist", "currency": "EUR", "tax": TAXES}
    return Business.model_validate(said | changed)


def charge(name: str, basis: str, **changed: object) -> Charge:
    """A charge of 10 for one."""
    said: dict[str, object] = {
        "name": name,
        "text": f"For {name}",
        "basis": basis,
        "unit": "piece",
        "price": 10,
        "tax": "standard",
    }
    return Charge.model_validate(said | changed)


def money(**changed: object) -> Money:
    """What a client agreed to: nothing beside the price list."""
    return Money.model_validate({"business": "business.toml", "client": Client(name="The band")} | changed)


@st.composite
def businesses(draw: st.DrawFn) -> Business:
    """A price list of any currency, rule and rates."""
    percents = draw(st.lists(st.decimals(0, 100, places=4), min_size=1, max_size=4))
    return business(
        tax=tuple(Tax(name=f"tax {n}", percent=percent) for n, percent in enumerate(percents)),
        places=draw(st.integers(0, 4)),
        rounding=draw(st.sampled_from(["half up", "half even"])),
        pay_in_steps_of=draw(st.sampled_from([None, Decimal("0.05"), Decimal("0.25"), Decimal(10)])),
    )


def random_bill(dice: random.Random, name: str, lines: int) -> Bill:
    """A paper of random amounts, whose client and lines bear a name."""
    own = business(rounding=dice.choice(["half up", "half even"]), terms="As agreed.")
    made: list[BillLine] = []
    for number in range(lines):
        price = Decimal(dice.randrange(-(10**8), 10**8)).scaleb(-dice.randrange(5))
        count = Decimal(dice.randrange(1, 10**5)).scaleb(-dice.randrange(3))
        made.append(line_of(f"{name} {number}", count, "piece", price, dice.choice(TAXES).name, own, ""))
    return Bill(
        kind="invoice",
        number=f"2026-{dice.randrange(10**6):06}",
        issued=TODAY,
        until=TODAY,
        sender=own,
        client=Client(name=name),
        title="Midwinter Dance",
        venue="Slipway Shed",
        supplied=TODAY,
        line=tuple(made),
        totals=totals(made, own),
        rule=rule_words(own),
    )
