"""The insurance schedule: every unit with its serial number, place and value, totals by bin, and the whole.

What has no value yet is listed and counted apart: it is in no total. Sums are decimal, of the figures as written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from fieldfare.sheets.bills import amount
from fieldfare.sheets.head import TYPST_PAPER, Paper
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.wording import day
from fieldfare.show.kit import Kit, Owner, Thing

OWNERS: dict[Owner, str] = {"ours": "", "hired": "hired", "band": "the band's", "house": "the house's"}
NO_BIN = "no bin"
UNKNOWN = "Value not known"


@dataclass(frozen=True, slots=True)
class UnitRow:
    """One unit."""

    tag: str
    item: str
    serial: str
    owner: str
    value: str


@dataclass(frozen=True, slots=True)
class BinPart:
    """All units of one bin."""

    bin: str
    rows: tuple[UnitRow, ...]
    total: str
    unvalued: int


@dataclass(frozen=True, slots=True)
class Schedule:
    """Everything on the sheet."""

    paper: str
    title: str
    subtitle: str
    foot: str
    bins: tuple[BinPart, ...]
    total: str
    units: int
    unvalued: int
    no_serial: int


def insurance_pdf(
    kit: Kit, currency: str, paper: Paper, printed: dt.datetime, owners: Sequence[Owner] = ("ours",)
) -> bytes:
    """Set the schedule of a kit as PDF.

    Raises
    ------
    NotDone
        It could not be set.
    """
    return typeset("insurance", insurance_sheet(kit, currency, paper, printed, owners), printed)


def insurance_sheet(
    kit: Kit, currency: str, paper: Paper, printed: dt.datetime, owners: Sequence[Owner] = ("ours",), places: int = 2
) -> Schedule:
    """Make the data of the schedule.

    Parameters
    ----------
    kit
        With the values as they stand in it.
    currency
        Printed beside the totals.
    paper, printed
        Paper size and time of print.
    owners
        Whose things are on it.
    places
        Places of an amount.
    """
    things = [thing for thing in kit.things if thing.owner in owners]
    named = [one.name for one in kit.bin]
    bins = dict.fromkeys([*named, *(thing.bin or NO_BIN for thing in things)])
    parts = tuple(_part(name, [one for one in things if (one.bin or NO_BIN) == name], places) for name in bins)
    tags = [(thing, tag) for thing in things for tag in thing.tags]
    whose = f" of {kit.owner_name}" if kit.owner_name else ""
    return Schedule(
        paper=TYPST_PAPER[paper],
        title="Insurance schedule",
        subtitle=f"The kit{whose}, {day(printed.date())}",
        foot="What it costs to replace each unit, as its owner states it. Keep a copy away from the kit.",
        bins=tuple(part for part in parts if part.rows),
        total=f"{_total(things, places)} {currency}".strip() if _known(things) else UNKNOWN,
        units=len(tags),
        unvalued=sum(thing.value_each is None for thing, _ in tags),
        no_serial=sum(tag not in thing.serials for thing, tag in tags),
    )


def value_of(things: Iterable[Thing]) -> Decimal:
    """Sum the values of all units that have one."""
    return sum((_value(thing) * len(thing.tags) for thing in things), Decimal(0))


def _value(thing: Thing) -> Decimal:
    return Decimal(str(thing.value_each or 0))


def _known(things: Iterable[Thing]) -> bool:
    return any(thing.value_each is not None for thing in things)


def _total(things: Sequence[Thing], places: int) -> str:
    return amount(value_of(things), places) if _known(things) else UNKNOWN


def _part(name: str, things: Sequence[Thing], places: int) -> BinPart:
    return BinPart(
        bin=name,
        rows=tuple(_rows(things, places)),
        total=_total(things, places),
        unvalued=sum(len(thing.tags) for thing in things if thing.value_each is None),
    )


def _rows(things: Sequence[Thing], places: int) -> Iterator[UnitRow]:
    for thing in things:
        for tag in thing.tags:
            value = "" if thing.value_each is None else amount(_value(thing), places)
            yield UnitRow(tag, thing.item, thing.serials.get(tag, ""), OWNERS[thing.owner], value)
