"""Ten thousand random names through the sheets, many in each file: every one is set, and read back by another program.

Names of any script, as long as a name may be, and full of the signs that mean something to the typesetter.
"""

from __future__ import annotations

import random
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from sheets import example, pdf
from sheets.example import PRINTED

from fieldfare.sheets.consents import Asked, consent_pdf
from fieldfare.sheets.head import Setting
from fieldfare.sheets.inputs import input_sheet
from fieldfare.sheets.insurance import insurance_pdf
from fieldfare.sheets.tags import LABELS, tag_sheet
from fieldfare.sheets.tape import tape_sheet
from fieldfare.sheets.track_sheet import track_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.show.kit import Kit, Sundry
from fieldfare.show.plan import Plan, PlannedInput

NAMES = 10_000
ROWS, UNITS, FORMS, PLAYS = 150, 400, 150, 45
LATIN = "abcdefghijklmnopqrstuvwxyzäöüßñçéèåøłžšđæ"
MARKUP = "#$*_@<>\\`~^&%{}[]()=+-/|\"'„“”«»‘’;:,.!?"
GREEK = "αβγδεζηθικλμνξοπρστυφχψωάέήίόύώ"
CYRILLIC = "абвгдежзиклмнопрстуфхцчшщъыьэюя"
THAI = "กขคงจชซญดตถทนบปผพฟมยรลวสหอ"
ARABIC = "ابتثجحخدذرزسشصضطظعغفقكلمنهوي"
HEBREW = "אבגדהוזחטיכלמנסעפצקרשת"
IN_A_ROW = (LATIN, LATIN + MARKUP * 2, GREEK, CYRILLIC)  # their letters stand one after another in a file
OTHERS = (THAI, ARABIC, HEBREW, ARABIC + LATIN + MARKUP)
SAYINGS = (
    '#set text(size: 99pt)', '#panic("x")', "$ integral $", "*bold* _slant_", "@label <label>", "`raw` ```", "\\u{41}",
    "// no remark", "/* none */", "= heading", "- list", "~ -- ---", '#"', "'", '"', "#", "{n} {x} {t}", "%PDF-1.7",
)  # fmt: skip


class Names(NamedTuple):
    """Names dealt out one after another, and those that must be found again letter by letter."""

    dice: random.Random
    dealt: list[str]
    plain: list[str]

    def one(self, most: int = 60) -> str:
        """Deal a name."""
        number = len(self.dealt)
        signs = self.dice.choice(IN_A_ROW if number % 3 else OTHERS)
        long = self.dice.choice((1, 7, 14, 30))  # of a word
        words = ("".join(self.dice.choices(signs, k=self.dice.randrange(1, long + 1))) for _ in range(40))
        name = f"{number} {' '.join(words)}"[: self.dice.randrange(8, most)].strip()
        if number % 11 == 0:
            name = f"{number} {SAYINGS[number // 11 % len(SAYINGS)]}"
        self.dealt.append(name)
        if not set(name) & set("".join(OTHERS)) - set(LATIN + MARKUP):
            self.plain.append(name)
        return name


def _names(seed: int) -> Names:
    return Names(random.Random(seed), [], [])


def _bare(text: str) -> str:
    return re.sub(r"[\s\u200b\ufeff\u202a-\u202e\u2066-\u2069]", "", text)


def _read(content: bytes, folder: Path) -> str:
    """Everything that is written in a file, in the order in which it is drawn, without spaces."""
    (folder / "a.pdf").write_bytes(content)
    done = subprocess.run(["pdftotext", "-raw", "a.pdf", "-"], cwd=folder, capture_output=True, check=True)
    return _bare(done.stdout.decode("utf-8"))


def _plan(names: Names, rows: int) -> tuple[Setting, Plan]:
    """A plan whose inputs, microphones and stands all have names of their own."""
    labels = [names.one() for _ in range(rows)]
    documents = example.example(rows, lambda number: labels[(number - 1) % rows])

    def named(row: PlannedInput) -> PlannedInput:
        unit = row.unit.model_copy(update={"item": names.one()}) if row.unit else None
        stand = row.stand.model_copy(update={"item": names.one()}) if row.stand else None
        return row.model_copy(update={"unit": unit, "stand": stand, "pattern": None, "thread": ()})

    plan = documents.plan.model_copy(update={"input": tuple(map(named, documents.plan.input)), "left_out": ()})
    return Setting(plan, documents.show, documents.venue, "a4", "C", PRINTED), plan


def _inputs(names: Names) -> bytes:
    setting, _ = _plan(names, ROWS)
    return typeset("inputs", input_sheet(setting), PRINTED)


def _tracks(names: Names) -> bytes:
    setting, plan = _plan(names, ROWS)
    shown = {row.label for row in plan.input} | {row.unit.item for row in plan.input if row.unit}
    names.plain[:] = [name for name in names.plain if name in shown]  # the stands are not on it
    return typeset("track-sheet", track_sheet(setting), PRINTED)


def _tape(names: Names) -> bytes:
    setting, plan = _plan(names, 40)
    names.plain[:] = [name for name in names.plain if name in {row.label for row in plan.input}]
    return typeset("tape", tape_sheet(setting), PRINTED)


def _kit(names: Names) -> Kit:
    things = tuple(
        Sundry(item=names.one(), tags=(f"T-{n}",), bin=names.one(40), serials={f"T-{n}": names.one(40)})
        for n in range(UNITS)
    )
    return Kit(owner_name="Fieldfare", sundry=things)


def _tags(names: Names) -> bytes:
    documents, kit = example.example(5), _kit(names)
    serials = {one for thing in kit.sundry for one in thing.serials.values()}
    names.plain[:] = [name for name in names.plain if name not in serials]  # they are not on a label
    setting = Setting(documents.plan, documents.show, documents.venue, "a4", "C", PRINTED)
    return typeset("tags", tag_sheet(setting, kit), PRINTED)


def _schedule(names: Names) -> bytes:
    return insurance_pdf(_kit(names), "EUR", "a4", PRINTED)


def _forms(names: Names) -> bytes:
    documents = example.example(5)
    asked: list[Asked] = [
        (names.one(), "performer", tuple(names.one(24) for _ in range(PLAYS))) for _ in range(FORMS)
    ]  # fmt: skip
    return consent_pdf(documents.show, documents.venue, asked, "", "a4", PRINTED)


SHEETS = {"inputs": _inputs, "track-sheet": _tracks, "tape": _tape, "tags": _tags, "insurance": _schedule,
          "consent": _forms}  # fmt: skip


@pytest.fixture(scope="module")
def read_back(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Names, bytes, str]]:
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler's pdftotext is not installed")
    found = {}
    for seed, (sheet, make) in enumerate(SHEETS.items()):
        names = _names(seed)
        content = make(names)
        found[sheet] = names, content, _read(content, tmp_path_factory.mktemp("names"))
    return found


def test_so_many_names_went_through_without_a_fault(read_back: dict[str, tuple[Names, bytes, str]]) -> None:
    assert sum(len(names.dealt) for names, _, _ in read_back.values()) >= NAMES
    assert all(len(names.dealt) > 100 for names, _, _ in read_back.values())


@pytest.mark.parametrize("sheet", list(SHEETS))
def test_every_name_in_letters_that_stand_one_after_another_is_read_back(
    sheet: str, read_back: dict[str, tuple[Names, bytes, str]]
) -> None:
    names, _, text = read_back[sheet]
    assert len(names.plain) >= 20
    assert [name for name in names.plain if _bare(name) not in text] == []
    assert sum(any(sign in MARKUP for sign in name) for name in names.plain) >= 10


def test_no_letter_falls_off_its_label(read_back: dict[str, tuple[Names, bytes, str]], tmp_path: Path) -> None:
    """Every word lies within one of the labels of its page, by another program's measure."""
    _, content, _ = read_back["tags"]
    (tmp_path / "a.pdf").write_bytes(content)
    done = subprocess.run(["pdftotext", "-bbox", "a.pdf", "-"], cwd=tmp_path, capture_output=True, check=True)
    labels, mm = LABELS["a4"], pdf.MM_PER_POINT
    boxes = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)"', done.stdout.decode("utf-8"))
    assert len(boxes) > 3 * UNITS
    off = []
    for box in boxes:
        left, top, right, below = (float(side) * mm for side in box)
        if below < labels.top_mm - 2:
            continue  # the line at the head of the page
        column = (left - labels.left_mm) // labels.pitch_x_mm
        row = ((top + below) / 2 - labels.top_mm) // labels.pitch_y_mm
        edges = labels.left_mm + column * labels.pitch_x_mm, labels.top_mm + row * labels.pitch_y_mm
        inside = (
            edges[0] <= left and right <= edges[0] + labels.width_mm,
            edges[1] <= top + 1 and below - 1 <= edges[1] + labels.height_mm,  # a line's box is taller than its letters
        )
        if not all(inside):
            off.append(box)
    assert off == []


def _boxes(content: bytes, folder: Path) -> Iterator[list[tuple[float, float, float, float]]]:
    """Where the words of each page lie, but for those that run from right to left. [pt]"""
    (folder / "a.pdf").write_bytes(content)
    done = subprocess.run(["pdftotext", "-bbox", "a.pdf", "-"], cwd=folder, capture_output=True, check=True)
    word = r'xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">([^<]*)<'
    for page in done.stdout.decode("utf-8").split("<page ")[1:]:
        found = (place for *place, text in re.findall(word, page) if not set(text) & set(ARABIC + HEBREW + THAI))
        yield sorted(((float(a), float(b), float(c), float(d)) for a, b, c, d in found), key=lambda box: box[1])


@pytest.mark.parametrize("sheet", ["inputs", "track-sheet", "tape", "tags", "insurance"])
def test_no_name_is_drawn_over_another(
    sheet: str, read_back: dict[str, tuple[Names, bytes, str]], tmp_path: Path
) -> None:
    _, content, _ = read_back[sheet]
    over = []
    for boxes in _boxes(content, tmp_path):
        for place, (left, top, right, below) in enumerate(boxes):
            for other in boxes[place + 1 :]:
                if other[1] > below:
                    break
                wide = min(right, other[2]) - max(left, other[0])
                high = min(below, other[3]) - max(top, other[1])
                if wide > 1.5 and high > 0.6 * min(below - top, other[3] - other[1]):  # lines lie close
                    over.append(((left, top, right, below), other))
    assert over == []


def test_no_letter_of_any_script_is_an_empty_box(read_back: dict[str, tuple[Names, bytes, str]]) -> None:
    _, content, _ = read_back["tape"]
    assert pdf.missing_glyphs(content) == 0
    assert all(font.startswith(("Barlow", "NotoSans")) for font in pdf.fonts(content))


STRANGE = (
    "🥁 Kick 🎸",
    "👩‍👩‍👧 trio",
    "🇪🇺",
    "ABC" * 66,
    "e\u0301\u0302\u0303" * 20,
    "\u202eabc\u202c x",
    "\u2066\u2067",
)


def test_signs_that_no_font_of_ours_has_and_words_without_an_end_are_set_all_the_same() -> None:
    documents = example.example(len(STRANGE), lambda number: STRANGE[(number - 1) % len(STRANGE)])
    setting = Setting(documents.plan, documents.show, documents.venue, "letter", "C", PRINTED)
    pages = {"inputs": input_sheet(setting), "tape": tape_sheet(setting), "track-sheet": track_sheet(setting)}
    for sheet, page in pages.items():
        assert "ABCABC" in _bare(pdf.all_words(typeset(sheet, page, PRINTED))), sheet
    asked: list[Asked] = [(name, "performer", (name,)) for name in STRANGE]
    content = consent_pdf(documents.show, documents.venue, asked, STRANGE[0], "a4", PRINTED)
    assert len(pdf.page_words(content)) == len(STRANGE)
