"""A test print: rulers that tell a printer's scale, and the outlines of a label sheet with a scale for its offset."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from fieldfare.sheets.head import SIZE_MM, TYPST_PAPER, Paper
from fieldfare.sheets.tags import LABELS, LabelSheet
from fieldfare.sheets.typeset import typeset

LONG_MM = {"a4": (180, 250), "letter": (180, 230)}  # of the rulers, across and down
OFFSET_MM = 5  # as far as the scales at a label's corner reach, either way


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


def ruler_sheet(paper: Paper) -> RulerSheet:
    """Make the data of the test print."""
    layout = LABELS[paper]
    width, height = SIZE_MM[paper]
    across, down = LONG_MM[paper]
    words = f"{layout.columns} by {layout.rows} labels of {layout.width_mm:g} × {layout.height_mm:g} mm"
    return RulerSheet(TYPST_PAPER[paper], width, height, across, down, OFFSET_MM, layout, words)


def ruler_pdf(paper: Paper, printed: dt.datetime) -> bytes:
    """Set the test print as PDF.

    Raises
    ------
    NotDone
        It could not be set.
    """
    return typeset("rulers", ruler_sheet(paper), printed)
