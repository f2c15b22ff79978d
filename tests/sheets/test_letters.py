"""Letters ask only what is open, number it, and say the same on paper and in a mail."""

from __future__ import annotations

import pytest
from handover.demo import demo
from sheets import example, pdf
from sheets.example import PRINTED

from fieldfare.sheets.head import Paper, Setting
from fieldfare.sheets.letters import LETTERS, LOCAL_RULES, WIDTH, letter, letter_text
from fieldfare.sheets.stage import stage_sheet
from fieldfare.sheets.track_sheet import track_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.show.plan import OpenQuestion
from fieldfare.show.record import Asked


def _setting(inputs: int = 20, paper: Paper = "a4") -> Setting:
    documents = example.example(inputs)
    return Setting(documents.plan, documents.show, documents.venue, paper, "C", PRINTED)


def _questions(setting: Setting, ask: Asked) -> tuple[OpenQuestion, ...]:
    return tuple(one for one in setting.plan.question if one.ask == ask)


@pytest.mark.parametrize("ask", LETTERS)
def test_a_letter_holds_its_own_questions_and_nobody_else_s(ask: Asked) -> None:
    plan, show, venue, _ = demo()
    setting = Setting(plan, show, venue, "a4", "C", PRINTED)
    page = letter(setting, ask, _questions(setting, ask))
    text, paper = " ".join(letter_text(page).split()), pdf.all_words(typeset("letter", page, PRINTED))
    for one in plan.question:
        assert (one.text in text) == (one.ask == ask)
        assert (one.text in paper) == (one.ask == ask)
    assert [one.number for one in page.questions] == list(range(1, len(page.questions) + 1))
    for words in (text, paper):
        assert LOCAL_RULES in words
        assert "The stage drawing is enclosed" in words


def test_the_stage_drawing_is_the_last_page_of_the_letter() -> None:
    plan, show, venue, kit = demo()
    setting = Setting(plan, show, venue, "a4", "C", PRINTED)
    alone = pdf.read(typeset("stage", stage_sheet(setting, kit), PRINTED)).pages
    content = typeset("letter", letter(setting, "venue", (), stage_sheet(setting, kit)), PRINTED)
    pages = pdf.read(content).pages
    assert pdf.size_mm(pages[-1]) == pdf.size_mm(alone[0]) == (297.0, 210.0)
    text = pdf.words(pages[-1])
    assert [row.label for row in plan.input if row.label not in text] == []
    assert f"page {len(pages)} of {len(pages)}" in text
    assert "page 1 of 2" in pdf.words(pages[0])


def test_needs_are_the_plan_s_own_figures() -> None:
    plan, show, venue, _ = demo()
    setting = Setting(plan, show, venue, "a4", "C", PRINTED)
    house = letter_text(letter(setting, "house", ()))
    split = [row.label for row in plan.input if row.taking == "split"]
    assert len(split) == 3
    assert all(label in " ".join(house.split()) for label in split)
    text = letter_text(letter(setting, "venue", ()))
    rig = next(
        given.value for one in plan.power.circuit for given in one.load.given if given.name == "rig" and given.value
    )
    assert f"{rig:.0f} W at most" in text
    stands = {row.stand.tag for row in plan.input if row.stand}
    assert f"{len(stands)} microphone stands" in text
    assert "Never remove or lift a protective earth" in text


@pytest.mark.parametrize("ask", LETTERS)
def test_plain_text_fits_a_mail_that_is_quoted(ask: Asked) -> None:
    setting = _setting()
    assert max(map(len, letter_text(letter(setting, ask, _questions(setting, ask))).splitlines())) <= WIDTH


@pytest.mark.parametrize(
    ("ask", "paper"), [("venue", "a4"), ("house", "letter"), ("band", "a4"), ("cameras", "letter")]
)
def test_letters_of_nothing_and_of_too_much_are_set_whole(ask: Asked, paper: Paper) -> None:
    long = OpenQuestion(ask=ask, text="Ω" * 60 + " เสียงร้องนำ صوت المغنية?", depends="x" * 60)
    for inputs, questions in ((0, ()), (60, (long,) * 20)):
        setting = _setting(inputs, paper)
        content = typeset("letter", letter(setting, ask, questions), PRINTED)
        assert pdf.missing_glyphs(content) == 0
        pages = pdf.page_words(content)
        assert all(f"page {number} of {len(pages)}" in page for number, page in enumerate(pages, 1))


def test_nothing_open_is_said_to_be_nothing_open() -> None:
    assert "Nothing is open" in letter_text(letter(_setting(0), "venue", ()))


@pytest.mark.parametrize("inputs", [0, 20, 60])
def test_the_track_sheet_holds_every_track_and_says_whether_it_was_checked(inputs: int) -> None:
    setting = _setting(inputs)
    text = pdf.all_words(typeset("track-sheet", track_sheet(setting), PRINTED))
    labels = [row.label for row in setting.plan.input]
    assert [label for label in labels if label not in text] == []
    assert ("The recordings were not checked" in text) == bool(inputs)
    assert "revision C" in text
