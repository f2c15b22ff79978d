"""The insurance schedule: every unit with its serial number, place and value, totals by bin, and the whole.

What has no value yet is listed and counted apart: it is in no total. Sums are decimal, of the figures as written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from fieldfare.plan.pack import NO_BIN
from fieldfare.sheets.bills import amount
from fieldfare.sheets.head import TYPST_PAPER, Paper
from fieldfare.sheets.language import Language, day_in, worded
from fieldfare.sheets.typeset import typeset
from fieldfare.show.kit import Kit, Owner, Thing
from fieldfare.show.money import places_of

OWNERS: dict[Owner, str] = {"ours": "", "hired": "hired", "band": "the band's", "house": "the house's"}
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
    kit: Kit,
    currency: str,
    paper: Paper,
    printed: dt.datetime,
    owners: Sequence[Owner] = ("ours",),
    language: Language = "en",
) -> bytes:
    """Set the schedule of a kit as PDF.

    Raises
    ------
    NotDone
        It could not be set.
    """
    sheet = insurance_sheet(kit, currency, paper, printed, owners, language)
    return typeset("insurance", sheet, printed, language, is_said=True)


def insurance_sheet(
    kit: Kit,
    currency: str,
    paper: Paper,
    printed: dt.datetime,
    owners: Sequence[Owner] = ("ours",),
    language: Language = "en",
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
    language
        Of everything but names.
    """
    places = places_of(currency)
    things = [thing for thing in kit.things if thing.owner in owners]
    bins = dict.fromkeys([*(one.name for one in kit.bin), *(thing.bin for thing in things)])
    held = [(name, [one for one in things if one.bin == name]) for name in bins]
    tags = [(thing, tag) for thing in things for tag in thing.tags]
    on = day_in(printed.date(), language)
    whose = worded("The kit of {x}, {t}", language, x=kit.owner_name, t=on) if kit.owner_name else None
    return Schedule(
        paper=TYPST_PAPER[paper],
        title=worded("Insurance schedule", language),
        subtitle=whose or worded("The kit, {t}", language, t=on),
        foot=worded(
            "What it costs to replace each unit, as its owner states it. Keep a copy away from the kit.", language
        ),
        bins=tuple(_part(name, part, places, language) for name, part in held if any(one.tags for one in part)),
        total=f"{_total(things, places, language)} {currency if _known(things) else ''}".strip(),
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


def _total(things: Sequence[Thing], places: int, language: Language) -> str:
    return amount(value_of(things), places, language) if _known(things) else worded(UNKNOWN, language)


def _part(name: str, things: Sequence[Thing], places: int, language: Language) -> BinPart:
    return BinPart(
        bin=name or worded(NO_BIN, language),
        rows=tuple(_rows(things, places, language)),
        total=_total(things, places, language),
        unvalued=sum(len(thing.tags) for thing in things if thing.value_each is None),
    )


def _rows(things: Sequence[Thing], places: int, language: Language) -> Iterator[UnitRow]:
    for thing in things:
        whose = worded(OWNERS[thing.owner], language) if OWNERS[thing.owner] else ""
        for tag in thing.tags:
            value = "" if thing.value_each is None else amount(_value(thing), places, language)
            yield UnitRow(tag, thing.item, thing.serials.get(tag, ""), whose, value)
