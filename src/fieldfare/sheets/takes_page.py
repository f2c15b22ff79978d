"""The track check as one page for a screen: opens from disc, needs no network and no script, in both lights."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache, partial
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fieldfare.sheets.coverage import FONTS
from fieldfare.sheets.head import Printing
from fieldfare.sheets.language import page_in, worded
from fieldfare.sheets.takes import WORDS, names_of, takes_sheet
from fieldfare.sheets.typeset import TEMPLATES
from fieldfare.sheets.write import put_all
from fieldfare.show.findings import TakeReport
from fieldfare.takes.closeup import CloseUp

PAGE = "track-check.html"
_FACES = (("Barlow", 400, "Barlow-Regular.ttf"), ("Barlow Condensed", 600, "BarlowCondensed-SemiBold.ttf"))
_SHAPES = re.compile(r'(?:<(?:rect|polygon) [a-z]+="[^"<>&]*"(?: [a-z]+="[^"<>&]*")*/>)*')
_APART = 0.02  # of the plot: numbers of one finding that stand closer are written once
_MOST_NUMBERS = 40  # on one track


def write_takes_page(
    reports: Sequence[TakeReport],
    folder: Path,
    printing: Printing,
    shown: Mapping[str, Sequence[CloseUp]] | None = None,
) -> tuple[Path, ...]:
    """Write the track check of some takes as one HTML file that holds everything it needs.

    Parameters
    ----------
    reports
        The takes, checked.
    folder
        Where `track-check.html` goes; made if it is not there.
    printing
        Time and language, and the show that they belong to.
    shown
        The sound around the gravest findings, by take; see `takes.closeup`.

    Raises
    ------
    NotDone
        The folder cannot be written to; nothing was changed.
    """
    sheet = takes_sheet(reports, printing, shown)
    style = (TEMPLATES / "takes.css").read_text("utf-8")
    template = _environment().get_template("takes.html")
    text = template.render(
        page=page_in(sheet, printing.language, names_of(reports) | {sheet.head.subtitle}),
        t=partial(worded, language=printing.language),
        language=printing.language,
        words=WORDS,
        style=Markup(f"{_faces()}{style}"),
    )
    return put_all({PAGE: text.encode()}, folder)


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("fieldfare.sheets"), undefined=StrictUndefined, autoescape=True, trim_blocks=True
    )
    environment.filters["shapes"] = _shapes
    environment.filters["marked"] = lambda places: tuple(_marked(places))
    return environment


def _shapes(text: str) -> Markup:
    """Let shapes through that were drawn here, and nothing else."""
    if not _SHAPES.fullmatch(text):
        raise ValueError("these are not the shapes of a plot")
    return Markup(text)


def _marked(places: Sequence[Mapping[str, Any]]) -> Iterator[Mapping[str, Any]]:
    """Give places whose number is written: those of one finding that lie close get it once."""
    last: dict[str, float] = {}
    count = 0
    for place in places:
        if place["start"] - last.get(place["finding"], -1.0) >= _APART and count < _MOST_NUMBERS:
            last[place["finding"]] = place["start"]
            count += 1
            yield place


@cache
def _faces() -> str:
    """Return the type as part of the page, so that it looks the same on any machine."""
    rules = []
    for family, weight, file in _FACES:
        data = base64.b64encode((FONTS / file).read_bytes()).decode("ascii")
        source = f'url("data:font/ttf;base64,{data}") format("truetype")'
        rules.append(f'@font-face {{ font-family: "{family}"; font-weight: {weight}; src: {source}; }}\n')
    return "".join(rules)
