"""Sums of papers, worked out a second time in fractions by a rule of rounding that shares no line with the first."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import floor

import pytest
from handover.money_kit import amounts, business, businesses, counts
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.handover.totals import in_steps, line_of, rounded, rule_words, totals
from fieldfare.show.money import Business, Payment, Rounding
from fieldfare.units.faults import Fault

RULES: tuple[Rounding, ...] = ("half up", "half even")


def _nearest(value: Fraction, rule: str) -> int:
    """The nearest whole number; a half goes by the rule."""
    below = floor(value)
    over = value - below
    if over != Fraction(1, 2):
        return below + (over > Fraction(1, 2))
    if rule == "half even":
        return below + below % 2
    return below + (value > 0)  # away from zero


def _in_coins(value: Fraction, own: Business) -> Fraction:
    coins = 10**own.decimals
    return Fraction(_nearest(value * coins, own.rounding), coins)


@given(
    businesses(),
    st.lists(st.tuples(counts, amounts, st.integers(0, 3)), max_size=30),
    st.lists(amounts, max_size=3),
)
def test_the_sums_are_those_of_fractions(
    own: Business, lines: list[tuple[Decimal, Decimal, int]], paid: list[Decimal]
) -> None:
    named = [(count, price, own.tax[place % len(own.tax)]) for count, price, place in lines]
    made = [line_of("work", count, "h", price, tax.name, own, "") for count, price, tax in named]
    payments = [Payment.model_validate({"on": "2026-11-01", "amount": one}) for one in paid]
    found = totals(made, own, payments)
    nets = [_in_coins(Fraction(count) * Fraction(price), own) for count, price, _ in named]
    taxes = [
        _in_coins(sum((net for net, line in zip(nets, named, strict=True) if line[2] == tax), Fraction(0))
                  * Fraction(tax.percent) / 100, own)
        for tax in own.tax
    ]  # fmt: skip
    exact = sum(nets, Fraction(0)) + sum(taxes, Fraction(0))
    step = own.pay_in_steps_of
    total = _in_coins(_nearest(exact / Fraction(step), own.rounding) * Fraction(step), own) if step else exact
    due = total - sum((_in_coins(Fraction(one), own) for one in paid), Fraction(0))
    assert [Fraction(line.net) for line in made] == nets
    assert Fraction(found.net) == sum(nets, Fraction(0))
    assert Fraction(found.tax_total) == sum(taxes, Fraction(0))
    assert Fraction(found.total) == total
    assert Fraction(found.due) == due
    assert found.net + found.tax_total + found.rounding == found.total  # what stands on the paper adds up


@given(amounts, st.integers(0, 4), st.sampled_from(RULES))
def test_rounding_moves_by_half_a_coin_at_most_and_twice_is_once(value: Decimal, places: int, rule: Rounding) -> None:
    once = rounded(value, places, rule)
    assert abs(once - value) * 2 <= Decimal(1).scaleb(-places)
    assert rounded(once, places, rule) == once
    assert not (once.is_zero() and once.is_signed())


# Common practice of cash payment in steps of five hundredths, no source: 12.32 is paid as 12.30, 12.33 as 12.35.
@pytest.mark.parametrize(
    ("exact", "paid"), [("12.32", "12.30"), ("12.33", "12.35"), ("12.375", "12.40"), ("-0.02", "0.00")]
)
def test_what_is_paid_is_brought_to_coins_in_use(exact: str, paid: str) -> None:
    assert str(in_steps(Decimal(exact), Decimal("0.05"), 2, "half up")) == paid


def test_a_tax_that_there_is_not_is_a_fault() -> None:
    line = line_of("work", Decimal(1), "h", Decimal(1), "luxury", business(), "")
    with pytest.raises(Fault, match='there is no tax "luxury"; one of none, reduced, standard'):
        totals([line], business())


def test_the_rule_is_stated_in_the_currency_s_own_coin() -> None:
    assert "to 0.01 EUR, a half away from zero" in rule_words(business())
    assert "to 1 JPY, a half to the even digit" in rule_words(business(currency="JPY", rounding="half even"))
    assert "nearest 0.05 CHF" in rule_words(business(currency="CHF", pay_in_steps_of="0.05"))
