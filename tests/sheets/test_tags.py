from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import pytest
import segno
from sheets import example, pdf, qr
from sheets.example import PRINTED

from fieldfare.sheets.head import SIZE_MM, Paper, Setting
from fieldfare.sheets.tags import IN_PLACE, LABELS, Offset, qr_svg, tag_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.write import SHEETS, write_sheets
from fieldfare.units.faults import OutOfRange

TAGS = ["M-07", "C-100", "TR-1", "REC-1", "kick spare", "12345678", "Μ-07", "CASE 4/BIN B"]
BORDER = 4
PAPERS: tuple[Paper, ...] = ("a4", "letter")


def _modules(svg: str) -> list[list[int]]:
    """Draw the code's lines on a grid of modules: they are horizontal strokes one unit high."""
    root = ElementTree.fromstring(svg)
    size = int(root.attrib["viewBox"].split()[2])
    grid = [[0] * size for _ in range(size)]
    path = next(element for element in root.iter() if element.tag.endswith("path")).attrib["d"]
    x, y = 0.0, 0.0
    for letter, numbers in re.findall(r"([MmhH])([^MmhH]*)", path):
        values = [float(value) for value in re.findall(r"-?\d*\.?\d+", numbers)]
        if letter == "M":
            x, y = values
        elif letter == "m":
            x, y = x + values[0], y + values[1]
        else:
            for column in range(round(x), round(x + values[0])):
                grid[int(y)][column] = 1
            x += values[0]
    return [row[BORDER:-BORDER] for row in grid[BORDER:-BORDER]]


def _coding(tag: str) -> str | None:
    return None if tag.isascii() else "utf-8"


@pytest.mark.parametrize("tag", TAGS)
def test_the_drawn_code_is_the_code_of_its_tag(tag: str) -> None:
    assert _modules(qr_svg(tag)) == [list(row) for row in segno.make_qr(tag, error="m", encoding=_coding(tag)).matrix]


@pytest.mark.parametrize("tag", TAGS)
def test_the_drawn_code_reads_as_its_tag(tag: str) -> None:
    assert qr.decode(_modules(qr_svg(tag))) == tag


def _sheet(paper: Paper, first: int = 1) -> list[str]:
    documents = example.example()
    setting = Setting(documents.plan, documents.show, documents.venue, paper, "C", PRINTED)
    content = typeset("tags", tag_sheet(setting, documents.kit, first), PRINTED)
    return list(pdf.page_words(content))


@pytest.mark.parametrize("paper", PAPERS)
def test_each_unit_of_ours_gets_one_label(paper: Paper) -> None:
    pages = _sheet(paper)
    kit = example.example().kit
    tags = [tag for thing in kit.things for tag in thing.tags]
    assert len(tags) == 46
    assert len(pages) == -(-46 // LABELS[paper].count)
    text = " ".join(pages)
    assert [tag for tag in tags if len(re.findall(rf"\b{tag}\b", text)) != 1] == []
    assert text.count("Fieldfare demo") >= len(tags)


@pytest.mark.parametrize("paper", PAPERS)
def test_labels_begin_at_the_first_that_is_free(paper: Paper) -> None:
    count = LABELS[paper].count
    pages = _sheet(paper, first=count)
    assert "M-01" in pages[0]
    assert "M-02" not in pages[0]
    assert "M-02" in pages[1]


def _places_mm(paper: Paper, first: int, off: Offset, folder: Path) -> list[tuple[str, float, float]]:
    """Every tag of the first page, with the middle of its word, read by another program."""
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler's pdftotext is not installed")
    documents = example.example()
    setting = Setting(documents.plan, documents.show, documents.venue, paper, "C", PRINTED)
    sheet = tag_sheet(setting, documents.kit, first, off)
    (folder / "a.pdf").write_bytes(typeset("tags", sheet, PRINTED))
    command = ["pdftotext", "-bbox", "-l", "1", "a.pdf", "-"]
    said = subprocess.run(command, cwd=folder, capture_output=True, check=True).stdout.decode("utf-8")
    word = r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)</word>'
    tags = {tag.tag for tag in sheet.tags}
    mm = pdf.MM_PER_POINT / 2
    return [
        (text, (float(left) + float(right)) * mm, (float(top) + float(below)) * mm)
        for left, top, right, below, text in re.findall(word, said)
        if text in tags
    ]


@pytest.mark.parametrize(
    ("paper", "first", "off"),
    [("a4", 1, Offset(1.5, -0.7)), ("a4", 8, Offset(-5, 5)), ("letter", 8, Offset(1.5, -0.7))],
)
def test_on_a_printer_that_is_off_every_tag_lies_on_its_label(
    paper: Paper, first: int, off: Offset, tmp_path: Path
) -> None:
    """What the printer adds of its own brings each tag into the middle of the label it was meant for."""
    labels, straight = LABELS[paper], _places_mm(paper, first, IN_PLACE, tmp_path)
    assert len(straight) == labels.count - first + 1
    for slot, (there, here) in enumerate(
        zip(straight, _places_mm(paper, first, off, tmp_path), strict=True), start=first - 1
    ):
        tag, x, y = here[0], here[1] + off.right_mm, here[2] + off.down_mm
        assert tag == there[0]
        assert (x, y) == pytest.approx(there[1:], abs=0.01)
        row, column = divmod(slot, labels.columns)
        left, top = labels.left_mm + column * labels.pitch_x_mm, labels.top_mm + row * labels.pitch_y_mm
        assert left < x < left + labels.width_mm
        assert top < y < top + labels.height_mm


def test_a_printer_that_is_off_further_than_the_test_print_shows_is_refused() -> None:
    documents = example.example()
    setting = Setting(documents.plan, documents.show, documents.venue, "a4", "C", PRINTED)
    with pytest.raises(OutOfRange, match=r"off by 6 mm \(down\); 5 mm is the most; look first whether it scales"):
        tag_sheet(setting, documents.kit, 1, Offset(0, 6))


@pytest.mark.parametrize("first", [0, 25])
def test_a_label_that_is_not_there_is_named(first: int) -> None:
    documents = example.example()
    setting = Setting(documents.plan, documents.show, documents.venue, "a4", "C", PRINTED)
    with pytest.raises(OutOfRange, match=f"there is no label {first} on a page of 24"):
        tag_sheet(setting, documents.kit, first)


@pytest.mark.parametrize("paper", PAPERS)
def test_the_labels_lie_on_the_page_and_beside_one_another(paper: Paper) -> None:
    width, height = SIZE_MM[paper]
    labels = LABELS[paper]
    assert labels.pitch_x_mm >= labels.width_mm
    assert labels.pitch_y_mm >= labels.height_mm
    right = labels.left_mm + (labels.columns - 1) * labels.pitch_x_mm + labels.width_mm
    below = labels.top_mm + (labels.rows - 1) * labels.pitch_y_mm + labels.height_mm
    assert right == pytest.approx(width - labels.left_mm, abs=0.6)  # as much is left over on either side
    assert below == pytest.approx(height - labels.top_mm, abs=0.6)


def test_a_kit_without_units_of_ours_says_so(tmp_path: Path) -> None:
    documents = example.example(0)
    bare = documents.kit.model_copy(update={"mic": (), "stand": (), "cable": ()})
    paths = write_sheets(*documents[:3], bare, tmp_path, paper="a4", revision="A", printed=PRINTED)
    assert "there is nothing to label" in pdf.all_words(paths[SHEETS.index("tags")].read_bytes())
