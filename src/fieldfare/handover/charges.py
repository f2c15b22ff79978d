"""What the show costs: each charge of the price list counted from the show, or said to be still open.

What nobody has said is never counted as something: it is named as open, and stands in no sum. Which charges an engineer
has, and what they are counted from, is common practice, no source.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal, localcontext

from fieldfare.handover.totals import DIGITS, line_of
from fieldfare.show.money import Basis, BillLine, Business, Charge, Counted, Money
from fieldfare.show.plan import Plan, Task
from fieldfare.show.show import Show
from fieldfare.units.text import figure


@dataclass(frozen=True, slots=True)
class Count:
    """How many of a charge a show has; none where that cannot be told, and then why."""

    number: Decimal | None
    words: str


@dataclass(frozen=True, slots=True)
class Charged:
    """The lines of a paper, and what is not counted yet."""

    line: tuple[BillLine, ...]
    open: tuple[str, ...]


def charged(plan: Plan, show: Show, money: Money, business: Business) -> Charged:
    """Count every charge of a price list from a show.

    Parameters
    ----------
    plan
        For the day, the hired units and the recording's size.
    show
        For the crew and the songs.
    money
        What was said by hand, which counts for more.
    business
        The price list.
    """
    lines: list[BillLine] = []
    still_open: list[str] = []
    by_hand = {one.charge: one for one in money.counted}
    for charge in business.charge:
        said = by_hand.get(charge.name)
        if said is None and charge.basis == "by hand":
            continue
        count = Count(said.count, "") if said else _COUNTS[charge.basis](charge, plan, show, money)
        if count.number is None:
            still_open.append(f"{charge.text}: {count.words}")
        elif count.number:
            lines.append(_line(charge, said, count.number, count.words, business))
    still_open += _hire_without_charge(plan, business)
    for extra in money.extra:
        lines.append(line_of(extra.text, extra.count, extra.unit, extra.price, extra.tax, business, ""))
    return Charged(tuple(lines), tuple(still_open))


def _line(charge: Charge, said: Counted | None, count: Decimal, words: str, business: Business) -> BillLine:
    text = said.text if said and said.text else charge.text
    return line_of(text, count, charge.unit, charge.price, charge.tax, business, words)


def within(charge: Charge, count: Decimal) -> Decimal:
    """Return how much of a count a charge is for: above and up to its limits, in whole steps.

    >>> extra = Charge(name="o", text="Overtime", unit="hour", price=60, tax="t", above=10, step="0.5")
    >>> [str(within(extra, Decimal(hours))) for hours in ("9", "10.2", "12")]
    ['0', '0.5', '2.0']
    """
    with localcontext(prec=DIGITS):
        top = min(count, charge.up_to) if charge.up_to is not None else count
        kept = max(top - charge.above, Decimal(0))
        if charge.step is None or not kept:
            return kept
        return (kept / charge.step).quantize(Decimal(1), ROUND_CEILING) * charge.step


def _on_site(charge: Charge, plan: Plan, show: Show, money: Money) -> Count:
    timed = [task for task in plan.day if task.people and task.begins and task.ends]
    if not timed:
        return Count(None, "the times of the day are not known")
    begins, ends = min(map(_begin, timed)), max(map(_end, timed))
    hours = within(charge, Decimal(round((ends - begins).total_seconds() / 60)) / 60)
    crew = show.crew if charge.each_person else 1
    words = f"{begins:%H:%M} to {ends:%H:%M} by the plan"
    if charge.above:
        words += f", beyond {_plain(charge.above)} {charge.unit}"
    if charge.up_to is not None:
        words += f", up to {_plain(charge.up_to)} {charge.unit}"
    if crew > 1:
        words += f", {crew} people"
    return Count(_short(hours * crew), words)


def _begin(task: Task) -> dt.datetime:
    assert task.begins
    return task.begins


def _end(task: Task) -> dt.datetime:
    assert task.ends
    return task.ends


def _travel(charge: Charge, plan: Plan, show: Show, money: Money) -> Count:
    if money.travel is None:
        return Count(None, f"how far it is, there and back: travel = … in money.toml, in {charge.unit}")
    return Count(within(charge, money.travel), "there and back")


def _hire(charge: Charge, plan: Plan, show: Show, money: Money) -> Count:
    tags = [tag for line in plan.pack if line.owner == "hired" and line.item == charge.item for tag in line.tags]
    return Count(within(charge, Decimal(len(tags))), ", ".join(tags))


def _media(charge: Charge, plan: Plan, show: Show, money: Money) -> Count:
    whole = plan.media.whole
    if whole.value is None:
        return Count(None, "the length of the recording is not known")
    copies = show.recording.copies
    size = Decimal(str(round(whole.value, 1)))
    words = f"{figure(whole.value, 1)} {whole.unit}, {copies} {'copy' if copies == 1 else 'copies'}"
    return Count(within(charge, size * copies), words)


def _mixing(charge: Charge, plan: Plan, show: Show, money: Money) -> Count:
    songs = sum(len(one.songs) for one in show.set)
    if not songs:
        return Count(None, "the set list is not known")
    return Count(within(charge, Decimal(songs)), "by the set list")


def _once(charge: Charge, plan: Plan, show: Show, money: Money) -> Count:
    return Count(Decimal(1), "")


def _by_hand(charge: Charge, plan: Plan, show: Show, money: Money) -> Count:
    return Count(Decimal(0), "")


_COUNTS: dict[Basis, Callable[[Charge, Plan, Show, Money], Count]] = {
    "time on site": _on_site,
    "travel": _travel,
    "hire": _hire,
    "media": _media,
    "mixing": _mixing,
    "once": _once,
    "by hand": _by_hand,
}


def _hire_without_charge(plan: Plan, business: Business) -> Iterator[str]:
    priced = {charge.item for charge in business.charge if charge.basis == "hire"}
    items: Iterable[str] = dict.fromkeys(line.item for line in plan.pack if line.owner == "hired")
    for item in items:
        if item not in priced:
            yield f"Hire of {item}: there is no charge for it"


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"


def _short(number: Decimal) -> Decimal:
    """Four places are enough for hours: a third of a second."""
    return number.quantize(Decimal("0.0001")).normalize()
