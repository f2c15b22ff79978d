from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from sheets import example, pdf
from sheets.example import PRINTED, Documents

from fieldfare.sheets.head import Paper, Setting
from fieldfare.sheets.inputs import input_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.write import SHEETS, put_all, write_sheets
from fieldfare.units.faults import Fault, NotDone, OutOfRange

# ISO 216 for A4; for Letter 8.5 by 11 inches by definition, 215.9 mm by 279.4 mm. Held to a tenth of a millimetre.
SIZES: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
LANDSCAPE = {"stage", "signal"}
OURS = ("Barlow", "NotoSans")
GREEK_TITLE = "Το μεγάλο χειμωνιάτικο γλέντι στην παλιά αποθήκη του λιμανιού"


def _printed(documents: Documents, folder: Path, paper: Paper = "a4") -> dict[str, bytes]:
    paths = write_sheets(*documents, folder, paper=paper, revision="C", printed=PRINTED)
    return {path.stem: path.read_bytes() for path in paths}


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return _printed(example.example(), tmp_path_factory.mktemp("demo"))


@pytest.fixture(scope="module")
def much(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return _printed(example.example(60), tmp_path_factory.mktemp("much"), "letter")


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return _printed(example.example(0), tmp_path_factory.mktemp("empty"))


@pytest.fixture(scope="module")
def foreign(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    documents = example.example(20, example.long_names, GREEK_TITLE)
    return _printed(documents, tmp_path_factory.mktemp("foreign"))


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize(("case", "paper"), [("demo", "a4"), ("much", "letter"), ("empty", "a4"), ("foreign", "a4")])
def test_every_page_has_its_size_and_says_what_it_is(
    name: str, case: str, paper: Paper, request: pytest.FixtureRequest
) -> None:
    content = request.getfixturevalue(case)[name]
    pages = pdf.read(content).pages
    size = SIZES[paper][::-1] if name in LANDSCAPE else SIZES[paper]
    title = GREEK_TITLE if case == "foreign" else "Midwinter Dance"
    for number, (page, text) in enumerate(zip(pages, pdf.page_words(content), strict=True), 1):
        assert pdf.size_mm(page) == size
        assert f"page {number} of {len(pages)}" in text
        assert "evision C" in text
        assert "printed 27 November 2026, 11:42" in text
        for fact in (title, "Slipway Shed", "4 December 2026"):
            assert fact in text


@pytest.mark.parametrize("case", ["demo", "much", "empty", "foreign"])
def test_nothing_is_set_with_foreign_fonts_and_no_glyph_is_missing(case: str, request: pytest.FixtureRequest) -> None:
    for name, content in request.getfixturevalue(case).items():
        assert all(font.startswith(OURS) for font in pdf.fonts(content)), name
        assert pdf.missing_glyphs(content) == 0, name


def test_each_script_is_set_with_the_family_made_for_it(foreign: dict[str, bytes]) -> None:
    found = pdf.fonts(foreign["inputs"])
    assert {name.split("-")[0] for name in found} >= {"NotoSans", "NotoSansThai", "NotoSansArabic", "BarlowCondensed"}


@pytest.mark.parametrize("name", ["inputs", "patch", "signal", "stage", "tape"])
@pytest.mark.parametrize(("case", "count"), [("demo", 20), ("much", 60)])
def test_every_label_stands_on_every_sheet_about_inputs(
    name: str, case: str, count: int, request: pytest.FixtureRequest
) -> None:
    text = pdf.all_words(request.getfixturevalue(case)[name])
    assert [label for label in map(example.english, range(1, count + 1)) if label not in text] == []


@pytest.mark.parametrize("name", ["inputs", "patch", "signal", "stage", "tape"])
def test_long_greek_names_are_printed_whole(name: str, foreign: dict[str, bytes]) -> None:
    text = pdf.all_words(foreign[name])
    assert " ".join(example.long_names(1).split()) in text
    assert " ".join(example.long_names(4).split()) in text


def test_a_word_of_sixty_letters_is_broken_and_not_cut(foreign: dict[str, bytes]) -> None:
    text = pdf.all_words(foreign["inputs"]).replace(" ", "")
    assert example.long_names(5).replace(" ", "") in text


@pytest.mark.parametrize("case", ["demo", "much"])
def test_every_tag_that_the_plan_uses_can_be_counted_out(case: str, request: pytest.FixtureRequest) -> None:
    documents = example.example({"demo": 20, "much": 60}[case])
    text = pdf.all_words(request.getfixturevalue(case)["pack"])
    tags = [tag for line in documents.plan.pack for tag in line.tags]
    assert len(tags) > 50
    assert [tag for tag in tags if tag not in text] == []


def test_length_colours_are_always_written_out(demo: dict[str, bytes]) -> None:
    text = {name: pdf.all_words(demo[name]) for name in ("inputs", "patch", "stage", "tape")}
    for row in example.example().plan.input:
        for cable in row.cable:
            words = f"{cable.colour}, {cable.length_m:.0f} m"
            assert all(words in page for page in text.values()), words


def test_inputs_are_printed_in_the_order_of_the_list(demo: dict[str, bytes]) -> None:
    text = pdf.all_words(demo["inputs"])
    places = [text.index(f"{number} {example.english(number)}") for number in range(1, 21)]
    assert places == sorted(places)


def test_the_same_input_and_time_give_the_same_bytes(demo: dict[str, bytes], tmp_path: Path) -> None:
    assert _printed(example.example(), tmp_path) == demo


def test_another_time_of_print_is_on_the_sheets(tmp_path: Path) -> None:
    """A moment with a zone is shown as the clock of the venue, here an hour ahead of UTC in July."""
    later = dt.datetime(2026, 7, 3, 10, 5, tzinfo=dt.UTC)
    paths = write_sheets(*example.example(0), tmp_path, paper="a4", revision="D", printed=later)
    for path in paths:
        assert "3 July 2026, 11:05" in pdf.all_words(path.read_bytes()), path.name


@pytest.mark.parametrize("count", range(22, 34))
def test_no_table_ends_with_a_row_alone_on_a_page(count: int) -> None:
    """Whatever the count of rows, at least three of them share the last page with the repeated head."""
    documents = example.example(count)
    setting = Setting(documents.plan, documents.show, documents.venue, "letter", "C", PRINTED)
    pages = list(pdf.page_words(typeset("inputs", input_sheet(setting), PRINTED)))
    on_page = [sum(f"C-{2 * n:02d} " in page for n in range(1, count + 1)) for page in pages]
    with_rows = [page for page, rows in zip(pages, on_page, strict=True) if rows]
    assert sum(on_page) == count
    assert min(rows for rows in on_page if rows) >= 3
    assert all("Line, channel, track Mic or DI" in page for page in with_rows)


def test_metres_or_feet(tmp_path: Path) -> None:
    paths = write_sheets(*example.example(), tmp_path, paper="letter", revision="C", printed=PRINTED, units="ft")
    text = pdf.all_words(paths[0].read_bytes())
    assert "green, 16.4 ft" in text  # 5 m ÷ 0.3048 m
    assert "green, 5 m" not in text


def test_a_first_label_that_the_page_does_not_have_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(OutOfRange, match="no label 25 on a page of 24; give 1 to 24"):
        write_sheets(*example.example(0), tmp_path, paper="a4", revision="C", printed=PRINTED, first_label=25)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_made_is_a_fault_and_changes_nothing(tmp_path: Path) -> None:
    (tmp_path / "sheets").write_text("in the way")
    with pytest.raises(NotDone, match="cannot be written"):
        write_sheets(*example.example(0), tmp_path / "sheets", paper="a4", revision="C", printed=PRINTED)
    assert (tmp_path / "sheets").read_text() == "in the way"


@pytest.mark.parametrize("name", ["report.pdf", "REPORT.PDF"])
def test_a_folder_that_is_named_like_a_sheet_is_not_made(tmp_path: Path, name: str) -> None:
    """Who writes --pdf report.pdf wants a file of that name, and looked for it in vain."""
    with pytest.raises(Fault, match=r"(?i)a folder is wanted, and this is named like a file; name it report"):
        put_all({"inputs.pdf": b"%PDF"}, tmp_path / name)
    assert list(tmp_path.iterdir()) == []
    (tmp_path / name).mkdir()
    assert put_all({"inputs.pdf": b"%PDF"}, tmp_path / name) == (tmp_path / name / "inputs.pdf",)


def test_what_was_there_is_there_again_when_one_sheet_cannot_be_put_in_place(tmp_path: Path) -> None:
    put_all({"a.pdf": b"old a", "b.pdf": b"old b"}, tmp_path)
    (tmp_path / "c.pdf").mkdir()
    (tmp_path / ".c.pdf.old").mkdir()
    (tmp_path / ".c.pdf.old" / "full").write_bytes(b"")  # so that nothing can be moved there
    with pytest.raises(NotDone, match="close the PDFs that are open"):
        put_all({"a.pdf": b"new a", "b.pdf": b"new b", "c.pdf": b"new c"}, tmp_path)
    assert (tmp_path / "a.pdf").read_bytes() == b"old a"
    assert (tmp_path / "b.pdf").read_bytes() == b"old b"
    assert [path.name for path in tmp_path.glob(".*.part")] == []


def test_a_new_printing_replaces_the_one_before_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    put_all({"a.pdf": b"old"}, tmp_path)
    assert put_all({"a.pdf": b"new"}, tmp_path) == (tmp_path / "a.pdf",)
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a.pdf", b"new")]
