"""The test print, measured as a printer would draw it: ten dots a millimetre, by another program."""

from __future__ import annotations

import datetime as dt
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldfare.sheets.head import Paper
from fieldfare.sheets.rulers import ruler_pdf, ruler_sheet

PRINTED = dt.datetime(2026, 11, 27, 12)
DOTS_MM = 10


def _drawn(paper: Paper, page: int, folder: Path) -> NDArray[np.bool_]:
    """Where a page is black."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("poppler's pdftoppm is not installed")
    (folder / "a.pdf").write_bytes(ruler_pdf(paper, PRINTED))
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


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_outlines_lie_where_the_tags_are_printed(paper: Paper, tmp_path: Path) -> None:
    layout, black = ruler_sheet(paper).layout, _drawn(paper, 2, tmp_path)
    row = round((layout.top_mm + 0.7 * layout.height_mm) * DOTS_MM)
    edges = np.flatnonzero(black[row])
    for column in range(layout.columns):
        left = layout.left_mm + column * layout.pitch_x_mm
        for edge in (left, left + layout.width_mm):
            assert np.abs(edges / DOTS_MM - edge).min() <= 0.2
