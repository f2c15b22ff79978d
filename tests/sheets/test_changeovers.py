"""The changeover sheet and the set list of the example of three acts, in both sizes, and with nothing to tell."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from sheets import example, pdf

from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.sheets.changeovers import changeover_sheet
from fieldfare.sheets.head import Paper, Setting
from fieldfare.sheets.inputs import input_sheet
from fieldfare.sheets.patch import patch_sheet
from fieldfare.sheets.set_list import MORE, UNKNOWN, set_list_sheet
from fieldfare.sheets.stage import stage_sheet
from fieldfare.sheets.tape import tape_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.show.show import Set, Show
from fieldfare.show.toml import read_show

PRINTED = dt.datetime(2026, 11, 25, 12, 0)
THREE_ACTS = Path(__file__).parents[2] / "examples" / "three-acts"
PAPERS = pytest.mark.parametrize("paper", ["a4", "letter"])


@cache
def _setting(paper: Paper) -> Setting:
    read = read_show(THREE_ACTS)
    plan = make_plan(read.show, read.venue, read.kit, read.digest, own_recipes(), explain=False)
    return Setting(plan, read.show, read.venue, paper, "A", PRINTED)


def _empty(**change: object) -> Setting:
    documents = example.example(0)
    show = Show.model_validate({**documents.show.model_dump(), **change})
    return Setting(documents.plan, show, documents.venue, "a4", "A", PRINTED)


@PAPERS
def test_each_changeover_has_one_page(paper: Paper) -> None:
    setting = _setting(paper)
    pages = list(pdf.page_words(typeset("changeovers", changeover_sheet(setting), PRINTED)))
    assert len(pages) == len(setting.plan.changeover) == 2
    for page, one in zip(pages, setting.plan.changeover, strict=True):
        assert f"{one.begins:%H:%M}" in page
        assert f"{one.before}, then {one.after}" in page


@PAPERS
def test_a_page_tells_every_step_and_every_line_in_its_order(paper: Paper) -> None:
    setting = _setting(paper)
    pages = list(pdf.page_words(typeset("changeovers", changeover_sheet(setting), PRINTED)))
    for page, one in zip(pages, setting.plan.changeover, strict=True):
        words = [f"{step.what[0].upper()}{step.what[1:]}" for step in one.step if step.does != "check"]
        places = [page.index(text) for text in words]
        assert places == sorted(places)
        assert max(places) < page.index("Check")
        for line in one.line:
            assert f"{line.box} {line.socket}" in page


def test_what_was_stuck_over_a_track_comes_off_when_its_own_source_is_on() -> None:
    setting = _setting("a4")
    own = {row.label for row in setting.plan.input}
    for page, one in zip(changeover_sheet(setting).pages, setting.plan.changeover, strict=True):
        for drawn, line in zip(page.lines, one.line, strict=True):
            assert (drawn.over is None) == (line.after == line.track)
            assert drawn.track.label in own
            assert drawn.over is None or drawn.over.number == drawn.track.number


def test_one_pair_of_hands_is_not_numbered() -> None:
    setting = _setting("a4")
    alone = Setting(
        setting.plan, setting.show.model_copy(update={"crew": 1}), setting.venue, setting.paper, "A", PRINTED
    )
    assert {
        doing.hands for page in changeover_sheet(alone).pages for stage in page.stages for doing in stage.steps
    } == {""}


def test_without_a_changeover_the_sheet_says_how_one_comes_about() -> None:
    text = pdf.all_words(typeset("changeovers", changeover_sheet(_empty()), PRINTED))
    assert "name the act of each set in the show" in text


@PAPERS
def test_the_set_list_has_a_page_for_each_set_with_room_to_write(paper: Paper) -> None:
    pages = list(pdf.page_words(typeset("set-list", set_list_sheet(_setting(paper)), PRINTED)))
    assert len(pages) == 3
    for page, words in zip(
        pages,
        ("19:30 Set 1: The songwriter", "20:20 Set 2: The string trio", "21:30 Set 3: The rock band"),
        strict=True,
    ):
        assert words in page
        assert "Time of day" in page
        assert "Trouble" in page


def test_songs_are_numbered_and_rows_are_left_for_more() -> None:
    titles = ["Nine Oars", "Το μακρύ κύμα", "The long ebb"]
    setting = _empty(set=[Set(start=dt.time(20), minutes=40, songs=tuple(titles)).model_dump()])
    sheet = set_list_sheet(setting)
    assert [row.number for row in sheet.pages[0].songs] == ["1", "2", "3", *[""] * MORE]
    text = pdf.all_words(typeset("set-list", sheet, PRINTED))
    assert all(title in text for title in titles)


def test_no_set_and_no_songs_still_make_a_page_to_write_on() -> None:
    (page,) = set_list_sheet(_empty(set=[])).pages
    assert len(page.songs) == UNKNOWN
    assert page.unknown


def test_sixty_songs_of_long_names_fill_pages_without_a_row_alone() -> None:
    titles = tuple(f"{'The long ebb that nobody in the harbour remembers any more'} {n}" for n in range(60))
    setting = _empty(set=[Set(start=dt.time(20), minutes=180, songs=titles).model_dump()])
    pages = list(pdf.page_words(typeset("set-list", set_list_sheet(setting), PRINTED)))
    assert 3 <= len(pages) <= 6
    assert all(title in " ".join(pages) for title in titles)


@pytest.mark.parametrize("name", ["inputs", "patch", "stage", "tape"])
def test_what_another_act_plugs_in_stands_on_every_sheet_that_one_rigs_from(name: str) -> None:
    setting, kit = _setting("a4"), read_show(THREE_ACTS).kit
    pages: dict[str, Callable[[], object]] = {
        "inputs": lambda: input_sheet(setting),
        "patch": lambda: patch_sheet(setting, kit),
        "stage": lambda: stage_sheet(setting, kit),
        "tape": lambda: tape_sheet(setting),
    }
    text = pdf.all_words(typeset(name, pages[name](), PRINTED))
    assert setting.plan.guest
    for guest in setting.plan.guest:
        assert guest.label in text
        if name != "stage":
            assert all(cable.tag in text for cable in guest.cable)


def test_leads_are_told_in_feet_where_feet_are_asked() -> None:
    setting = replace(_setting("letter"), units="ft")
    text = pdf.all_words(typeset("inputs", input_sheet(setting), PRINTED))
    assert "lead I-02, white, 9.8 ft" in text
    assert not re.search(r"\d m\b", text)
