"""Computed figures on paper: value, formula, the values put in, source and how sure. None is shown without them."""

from __future__ import annotations

from dataclasses import dataclass

from fieldfare.sheets.wording import reading_with_unit
from fieldfare.units.sources import SOURCES
from fieldfare.units.text import figure
from fieldfare.units.working import Given, Working

THINGS = ("medium", "lead", "battery")  # values that say which piece of the kit a figure is about


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure, opened."""

    name: str
    value: str
    formula: str
    given: str
    source: str
    sure: str


def figure_row(name: str, working: Working, decimals: int = 0) -> FigureRow:
    """Open a figure. A thing named among the values (a card, a lead) is added to its name."""
    named = [str(one.value) for one in working.given if one.name in THINGS]
    return FigureRow(
        name=", ".join((name, *named)),
        value=reading_with_unit(working, decimals),
        formula=working.formula,
        given=", ".join(given_words(one) for one in working.given if one.name not in THINGS),
        source=source_title(working.source),
        sure=sureness_words(working),
    )


def source_title(key: str) -> str:
    """Return the title of a source, or the words that say that there is none."""
    return SOURCES[key].title if key in SOURCES else key


def sureness_words(working: Working) -> str:
    """Say how sure a figure is, with its likely range where one is known."""
    if working.plus_minus is None:
        return working.sure
    return f"{working.sure}, ± {figure(working.plus_minus, 1).removesuffix('.0')} {working.unit}"


def given_words(one: Given) -> str:
    """Say a value that was put in, with its unit."""
    if isinstance(one.value, str):
        return f"{one.name} {one.value}"
    text = figure(one.value, 2).rstrip("0").rstrip(".") if one.value % 1 else figure(one.value)
    return f"{one.name} {text} {one.unit}".rstrip()
