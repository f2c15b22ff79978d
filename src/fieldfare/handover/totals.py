"""Sums of a paper, by one stated rule.

Conventions: every line is count times price, rounded to what can be paid; the tax of a rate is worked out on the sum of
its lines and rounded once; what is paid may then be brought to the nearest coin in use. This is the order in which
[EN16931] sums an invoice. All of it is exact decimal arithmetic: 60 digits, where no sum here has more than 40.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, localcontext

from fieldfare.show.money import BillLine, Business, Payment, Rounding, TaxSum, Totals
from fieldfare.units.faults import Fault

DIGITS = 60
_RULES: dict[Rounding, str] = {"half up": ROUND_HALF_UP, "half even": ROUND_HALF_EVEN}  # half up: away from zero
_SAID: dict[Rounding, str] = {"half up": "a half away from zero", "half even": "a half to the even digit"}


def rounded(value: Decimal, places: int, rule: Rounding) -> Decimal:
    """Round an amount to some places; there is no negative zero.

    >>> [str(rounded(Decimal("-0.125"), 2, rule)) for rule in ("half up", "half even")]
    ['-0.13', '-0.12']
    """
    with localcontext(prec=DIGITS):
        return value.quantize(Decimal(1).scaleb(-places), _RULES[rule]) + 0


def in_steps(value: Decimal, step: Decimal, places: int, rule: Rounding) -> Decimal:
    """Round an amount to the nearest multiple of a step.

    >>> str(in_steps(Decimal("12.33"), Decimal("0.05"), 2, "half up"))
    '12.35'
    """
    with localcontext(prec=DIGITS):
        return rounded((value / step).quantize(Decimal(1), _RULES[rule]) * step, places, rule)


def line_of(text: str, count: Decimal, unit: str, price: Decimal, tax: str, business: Business, basis: str) -> BillLine:
    """Make a line with its amount."""
    with localcontext(prec=DIGITS):
        net = rounded(count * price, business.decimals, business.rounding)
    return BillLine(text=text, count=count, unit=unit, price=price, tax=tax, net=net, basis=basis)


def totals(lines: Sequence[BillLine], business: Business, paid: Sequence[Payment] = ()) -> Totals:
    """Sum the lines of a paper.

    Parameters
    ----------
    lines
        With their amounts.
    business
        Its rates of tax, currency and rule of rounding.
    paid
        What was paid already.

    Raises
    ------
    Fault
        A line names a rate of tax that there is not.
    """
    places, rule = business.decimals, business.rounding
    known = {tax.name for tax in business.tax}
    for line in lines:
        if line.tax not in known:
            raise Fault(f'there is no tax "{line.tax}"', line.text, f"one of {', '.join(sorted(known))}")
    with localcontext(prec=DIGITS):
        none = rounded(Decimal(0), places, rule)
        sums = []
        for tax in business.tax:
            net = sum((line.net for line in lines if line.tax == tax.name), none)
            if any(line.tax == tax.name for line in lines):
                of_it = rounded(net * tax.percent / 100, places, rule)
                sums.append(TaxSum(name=tax.name, percent=tax.percent, reason=tax.reason, net=net, tax=of_it))
        net = sum((one.net for one in sums), none)
        tax_total = sum((one.tax for one in sums), none)
        exact = net + tax_total
        step = business.pay_in_steps_of
        total = in_steps(exact, step, places, rule) if step else exact
        was_paid = sum((rounded(one.amount, places, rule) for one in paid), none)
        return Totals(
            tax=tuple(sums),
            net=net,
            tax_total=tax_total,
            rounding=total - exact,
            total=total,
            paid=was_paid,
            due=total - was_paid,
        )


def rule_words(business: Business) -> str:
    """Say how amounts are rounded."""
    coin = Decimal(1).scaleb(-business.decimals)
    words = (
        f"Each line is rounded to {coin} {business.currency}, {_SAID[business.rounding]}; "
        "the tax of each rate is worked out on the sum of its lines and rounded once."
    )
    step = business.pay_in_steps_of
    return f"{words} What is to be paid is brought to the nearest {step} {business.currency}." if step else words
