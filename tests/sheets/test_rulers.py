"""The test print, measured as a printer would draw it: ten dots a millimetre, by another program."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from sheets import pdf

from fieldfare.sheets.head import SIZE_MM, Paper
from fieldfare.sheets.rulers import ruler_pdf, ruler_sheet
from fieldfare.sheets.tags import IN_PLACE, LABELS, OFFSET_MM, Offset
from fieldfare.units.faults import OutOfRange

PRINTED = dt.datetime(2026, 11, 27, 12)
DOTS_MM = 10


def _drawn(paper: Paper, page: int, folder: Path, off: Offset = IN_PLACE) -> NDArray[np.bool_]:
    """Where a page is black."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("poppler's pdftoppm is not installed")
    (folder / "a.pdf").write_bytes(ruler_pdf(paper, PRINTED, off))
    dots = str(DOTS_MM * 25.4)
    command = ["pdftoppm", "-gray", "-r", dots, "-f", str(page), "-l", str(page), "-singlefile", "a.pdf", "a"]
    subprocess.run(command, cwd=folder, check=True)
    head, size, _, pixels = (folder / "a.pgm").read_bytes().split(b"\n", 3)
    assert head == b"P5"
    width, height = map(int, size.split())
    return np.frombuffer(pixels, np.uint8).reshape(height, width) < 160


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_both_rulers_are_as_long_as_they_say(paper: Paper, tmp_path: Path) -> None:
    sheet, black = ruler_sheet(paper), _drawn(paper, 1, tmp_path)
    across = np.flatnonzero(black[17 * DOTS_MM, 18 * DOTS_MM :])  # a row that only the ticks cross
    down = np.flatnonzero(black[23 * DOTS_MM :, 16 * DOTS_MM])
    for ticks, length in ((across, sheet.across_mm), (down, sheet.down_mm)):
        starts = ticks[np.flatnonzero(np.diff(ticks, prepend=-9) > 1)]
        assert len(starts) == length + 1
        assert (starts[-1] - starts[0]) / DOTS_MM == pytest.approx(length, abs=0.2)


@pytest.mark.parametrize("off", [IN_PLACE, Offset(1.5, -0.7), Offset(-5, 5)])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_outlines_lie_on_the_labels_of_a_printer_that_is_so_far_off(
    paper: Paper, off: Offset, tmp_path: Path
) -> None:
    """What the printer then adds of its own brings them to where the labels are."""
    layout, black = LABELS[paper], _drawn(paper, 2, tmp_path, off)
    row = round((layout.top_mm - off.down_mm + 0.7 * layout.height_mm) * DOTS_MM)
    column = round((layout.left_mm - off.right_mm + 0.3 * layout.width_mm) * DOTS_MM)
    rows, columns = np.flatnonzero(black[row]), np.flatnonzero(black[:, column])
    for number in range(layout.columns):
        left = layout.left_mm + number * layout.pitch_x_mm
        for edge in (left, left + layout.width_mm):
            if 0 < edge - off.right_mm < SIZE_MM[paper][0]:  # the rest is off the page
                assert np.abs(rows / DOTS_MM + off.right_mm - edge).min() <= 0.2
    for number in range(layout.rows):
        assert np.abs(columns / DOTS_MM + off.down_mm - layout.top_mm - number * layout.pitch_y_mm).min() <= 0.2


@pytest.mark.parametrize("off", [Offset(OFFSET_MM + 0.1, 0), Offset(0, -OFFSET_MM - 0.1), Offset(float("nan"), 0)])
def test_an_offset_that_no_test_print_shows_is_refused(off: Offset) -> None:
    with pytest.raises(OutOfRange, match=r"the printer would be off by .* mm \((right|down)\); 5 mm is the most"):
        ruler_sheet("a4", off)


def test_the_test_print_in_german() -> None:
    text = pdf.all_words(ruler_pdf("a4", PRINTED, Offset(1, 1), "de"))
    for words in (
        "Probedruck", "176 mm statt 180 mm sind 97,8 %", "3 × 8 Etiketten von 63,5 × 33,9 mm", "Seite 2 von 2",
        "gegen den Versatz des Druckers gezeichnet",
    ):  # fmt: skip
        assert words in text
    assert not re.search(r"\b(the|print|labels?|page|and|of)\b", text)
