"""A test print: rulers that tell a printer's scale, and the outlines of a label sheet with a scale for its offset."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from fieldfare.sheets.head import SIZE_MM, TYPST_PAPER, Paper
from fieldfare.sheets.language import Language, decimal, worded
from fieldfare.sheets.tags import IN_PLACE, LABELS, OFFSET_MM, LabelSheet, Offset
from fieldfare.sheets.typeset import typeset

LONG_MM = {"a4": (180, 250), "letter": (180, 230)}  # of the rulers, across and down


@dataclass(frozen=True, slots=True)
class RulerSheet:
    """Everything on the test print. [mm]"""

    paper: str
    width_mm: float
    height_mm: float
    across_mm: int
    down_mm: int
    offset_mm: int
    layout: LabelSheet
    labels: str
    is_against: bool  # whether the outlines are drawn against a printer's offset


def ruler_sheet(paper: Paper, off: Offset = IN_PLACE, language: Language = "en") -> RulerSheet:
    """Make the data of the test print.

    Parameters
    ----------
    paper
        Paper size.
    off
        How far off the printer is, where that was read from an earlier print: the outlines are drawn as far the other
        way, and lie on the labels if it was read right.
    language
        Of everything on it.

    Raises
    ------
    OutOfRange
        An offset that no test print shows.
    """
    layout = LABELS[paper].against(off)
    width, height = SIZE_MM[paper]
    across, down = LONG_MM[paper]
    each = [decimal(f"{mm:g}", language) for mm in (layout.width_mm, layout.height_mm)]
    words = worded("{n} by {n2} labels of {n3} × {n4} mm", language, n=layout.columns, n2=layout.rows, n3=each[0],
                   n4=each[1])  # fmt: skip
    is_against = off != IN_PLACE
    return RulerSheet(TYPST_PAPER[paper], width, height, across, down, OFFSET_MM, layout, words, is_against)


def ruler_pdf(paper: Paper, printed: dt.datetime, off: Offset = IN_PLACE, language: Language = "en") -> bytes:
    """Set the test print as PDF.

    Raises
    ------
    OutOfRange
        An offset that no test print shows.
    NotDone
        It could not be set.
    """
    return typeset("rulers", ruler_sheet(paper, off, language), printed, language, is_said=True)
