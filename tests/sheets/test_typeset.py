from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest
from sheets import pdf
from sheets.example import PRINTED

from fieldfare.sheets import typeset as module
from fieldfare.sheets.coverage import FONTS, covered, missing
from fieldfare.sheets.drawing.marks import Words
from fieldfare.sheets.typeset import measured, typeset
from fieldfare.units.faults import NotDone


@dataclass(frozen=True)
class _Page:
    text: str


@pytest.fixture
def own_template(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(module, "TEMPLATES", tmp_path)
    return tmp_path / "own.typ"


SAY = (
    '#set text(font: ("Barlow", "Noto Sans", "Noto Sans Thai", "Noto Sans Arabic"))\n#json(bytes(sys.inputs.data)).text'
)


@pytest.mark.parametrize(
    "text", ["Kick −12 dB ≈ Ω µ ° × ½", "Φωνή", "Голос", "เสียงร้อง", "صوت", "קול", "ձայն", "ხმა", "स्वर", "Đàn nguyệt"]
)
def test_signs_of_these_scripts_are_ours(text: str) -> None:
    assert covered(text), missing(text)


@pytest.mark.parametrize(("text", "lacking"), [("歌 Lied 歌声", "歌声"), ("🎻", "🎻"), ("노래", "노래")])
def test_signs_that_we_lack_are_told(text: str, lacking: str) -> None:
    assert missing(text) == lacking


def test_the_character_map_says_what_the_engine_does(own_template: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second road: set with our fonts alone, the engine lacks a glyph exactly where the map lacks the sign."""
    own_template.write_text(SAY, "utf-8")
    monkeypatch.setattr(module, "covered", lambda text: True)
    for text in ("Φωνή", "เสียงร้อง", "صوت", "स्वर", "歌", "노래"):
        assert (pdf.missing_glyphs(typeset("own", _Page(text), PRINTED)) > 0) == (not covered(text)), text


def test_text_is_never_read_as_markup(own_template: Path) -> None:
    own_template.write_text(SAY, "utf-8")
    written = '#panic("x") *bold* $1/2$ \\ <tag> @ref "quoted" // and more'
    assert pdf.all_words(typeset("own", _Page(written), PRINTED)) == written


def test_a_warning_of_the_engine_stops_the_sheet(own_template: Path) -> None:
    own_template.write_text('#set text(font: "No Such Family")\nwords', "utf-8")
    with pytest.raises(NotDone, match="unknown font family"):
        typeset("own", _Page(""), PRINTED)


def test_an_error_of_the_engine_stops_the_sheet(own_template: Path) -> None:
    own_template.write_text("#missing", "utf-8")
    with pytest.raises(NotDone, match=r"sheet own: the sheet could not be set \(unknown variable"):
        typeset("own", _Page(""), PRINTED)


def test_measured_pieces_grow_with_their_words_and_wrap_where_told() -> None:
    short, long = Words((0, 0), "Kick"), Words((0, 0), "Kick and much more of it")
    wrapped = Words((0, 0), "Kick and much more of it", width=12.0)
    sizes = measured([short, long, wrapped])
    assert sizes[0][0] < sizes[1][0]
    assert sizes[2][0] <= 13.1
    assert sizes[2][1] > sizes[1][1]


def test_fonts_are_modest_and_each_family_has_its_licence() -> None:
    assert sum(path.stat().st_size for path in FONTS.iterdir()) < 4_000_000
    families = {path.stem.split("-")[0].replace("Condensed", "") for path in FONTS.glob("*.ttf")}
    licences = {path.stem.removesuffix("-OFL") for path in FONTS.glob("*.txt")}
    assert families == licences
    for path in FONTS.glob("*.txt"):
        assert "SIL OPEN FONT LICENSE Version 1.1" in path.read_text("utf-8")
