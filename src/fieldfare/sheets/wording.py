"""Figures, lengths, dates and places as the sheets write them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Literal
from zoneinfo import ZoneInfo

from fieldfare.show.plan import CableUse
from fieldfare.show.record import Place
from fieldfare.show.venue import Stage
from fieldfare.units.text import figure, metres
from fieldfare.units.working import Sureness, Working

Units = Literal["m", "ft"]

FOOT_M = 0.3048
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
ASK = "ask"
NINE_IN_TEN = "to be ready nine days in ten, begin"  # among the values of the odds of being ready
SURENESS: dict[Sureness, str] = {"sure": "", "estimate": "≈ ", "guess": "? "}
SURENESS_KEY = "≈ estimate, ? guess, ask: not known yet, see the open questions."


def day(date: dt.date) -> str:
    """Write a date in words.

    >>> day(dt.date(2026, 12, 4))
    '4 December 2026'
    """
    return f"{date.day} {MONTHS[date.month - 1]} {date.year}"


def stamp(moment: dt.datetime, zone: str) -> str:
    """Write a moment as the clock of the venue shows it; a moment without a zone is taken as that already.

    >>> stamp(dt.datetime(2026, 7, 3, 10, 42, tzinfo=dt.UTC), "Europe/London")
    '3 July 2026, 11:42'
    """
    local = moment.astimezone(ZoneInfo(zone)) if moment.tzinfo else moment
    return f"{day(local.date())}, {local:%H:%M}"


def length(value_m: float, units: Units = "m") -> str:
    """Write a length in the owner's units, with a decimal only where it has one.

    >>> length(3.24), length(5.0, "ft"), length(0.3, "ft")
    ('3.2 m', '16.4 ft', '1 ft')
    """
    if units == "m":
        return metres(value_m)
    feet = value_m / FOOT_M
    return f"{figure(feet, 0 if abs(feet - round(feet)) < 0.05 else 1)} ft"


def common_sureness(workings: Iterable[Working | None]) -> Sureness:
    """Return the sureness that all known figures of a column share, to be said once above it; else "sure"."""
    found = {working.sure for working in workings if working and working.value is not None}
    return found.pop() if len(found) == 1 else "sure"


def reading(working: Working | None, decimals: int = 0, *, sign: bool = False, said_above: Sureness = "sure") -> str:
    """Write a computed figure without its unit, marked where it is an estimate or a guess.

    >>> from fieldfare.units.sources import PRACTICE
    >>> reading(Working(value=23.6, unit="dB", formula="", source=PRACTICE, sure="estimate"), sign=True)
    '≈ +24'
    """
    if working is None or working.value is None:
        return ASK
    mark = "" if working.sure == said_above else SURENESS[working.sure]
    return mark + figure(working.value, decimals, sign=sign)


def reading_with_unit(working: Working, decimals: int = 0) -> str:
    """Write a computed figure with its unit."""
    text = reading(working, decimals)
    return text if text == ASK else f"{text} {working.unit}"


def cable_words(cable: CableUse, units: Units = "m") -> str:
    """Write a lead as its colour and length: the words that stand beside every colour.

    >>> cable_words(CableUse(tag="C-08", item="microphone cable 5 m", length_m=5, colour="green"))
    'green, 5 m'
    """
    size = length(cable.length_m, units)
    return f"{cable.colour}, {size}" if cable.colour else size


def run_words(cables: Sequence[CableUse], units: Units = "m") -> str:
    """Write the lead or the joined leads of a run.

    >>> two = [CableUse(tag=t, item="cable", length_m=5, colour="green") for t in ("C-08", "C-09")]
    >>> run_words(two), run_words([])
    ('green, 5 m + green, 5 m', '')
    """
    return " + ".join(cable_words(cable, units) for cable in cables)


def where_words(at: Place, stage: Stage) -> str:
    """Name a place as performers do who face the audience: stage right is at the left of the drawing.

    >>> stage = Stage(width_m=6, depth_m=4)
    >>> where_words((-2.5, 0.2), stage), where_words((0, 3.9), stage), where_words((-9, 2), stage)
    ('downstage right', 'upstage centre', 'off stage right')
    """
    x, y = at
    half = stage.width_m / 2
    if y < -0.05:
        return "in front of the stage"
    if abs(x) > half + 0.05:
        return "off stage right" if x < 0 else "off stage left"
    if y > stage.depth_m + 0.05:
        return "behind the stage"
    third = stage.depth_m / 3
    deep = "downstage" if y < third else "midstage" if y <= 2 * third else "upstage"
    side = "right" if x < -half / 3 else "left" if x > half / 3 else "centre"
    return f"{deep} {side}"


def ready_words(ready: Working) -> str:
    """Say the odds of being ready, and when to begin for better ones."""
    given = {one.name: one.value for one in ready.given}
    crew = figure(float(given["crew"]))
    return (
        f"Begun at {given['begin']}, all works by {given['ready by']} on {figure(ready.value or 0)} days of 100 "
        f"with a crew of {crew}. To be ready on nine days of ten begin at {given[NINE_IN_TEN]}."
    )
