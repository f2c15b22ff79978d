"""If this dies, do that: ordered by what dies, in both sizes, with nothing to tell and with far too much."""

from __future__ import annotations

import pytest
from sheets import example, pdf
from sheets.example import PRINTED

from fieldfare.sheets.head import Paper, Setting
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.whatif import whatif_sheet
from fieldfare.show.whatif import Failure, Lost, Move, Outcome, Possible, WhatIf

LONG = "Second accordion of the guest from the neighbouring village, treble side"
PAPERS = pytest.mark.parametrize("paper", ["a4", "letter"])


def _setting(paper: Paper, inputs: int = 6) -> Setting:
    plan, show, venue, _ = example.example(inputs)
    return Setting(plan, show, venue, paper, "C", PRINTED)


def _found(setting: Setting, *failures: Failure, possible: tuple[Possible, ...] = ()) -> WhatIf:
    plan = setting.plan
    return WhatIf(
        title=plan.title, date=plan.date, venue=plan.venue, digest=plan.digest, tried=len(failures), failure=failures,
        possible=possible,
    )  # fmt: skip


def _mic(tag: str, label: str, says: str) -> Failure:
    move = Move(input=label.casefold(), label=label, says=says)
    outcome = Outcome(dead=(tag,), serves=(label,), move=(move,), changes=1)
    return Failure(kind="mic", what="small dynamic, cardioid", says=f"{label}: {says}", outcome=(outcome,))


def _recorder() -> Failure:
    lost = tuple(Lost(input=f"i{number}", label=f"Input {number}", importance="must") for number in range(20))
    outcome = Outcome(dead=("REC-1",), serves=("Kick",), lost=lost, stops=True)
    return Failure(kind="recorder", what="recorder", says="nothing takes its place", outcome=(outcome,))


def test_what_dies_stands_in_the_order_in_which_one_looks_for_it() -> None:
    setting = _setting("a4")
    found = _found(setting, _mic("M-10", "Lead vocal", "take M-09"), _mic("M-9", "Kick", "take M-1"), _recorder())
    page = whatif_sheet(setting, found)
    assert [part.title for part in page.parts] == ["Recorder and media", "Mics"]
    assert [row.dead for row in page.parts[1].rows] == ["M-9", "M-10"]
    assert page.parts[0].rows[0].lost == "20 inputs, 20 of them must"
    assert page.parts[0].rows[0].steps == ("Nothing takes its place.",)
    assert page.alone == ("REC-1: 20 inputs, 20 of them must",)


def test_lines_that_are_cured_alike_are_counted_together() -> None:
    setting = _setting("a4")
    outcomes = tuple(
        Outcome(dead=(f"line {n}",), serves=(f"In {n}",), move=(Move(input="a", label=f"In {n}", says="line 21"),))
        for n in (1, 2, 3, 7)
    )
    failure = Failure(kind="line", what="line of the trunk", says="Line 21", outcome=outcomes)
    (part,) = whatif_sheet(setting, _found(setting, failure)).parts
    assert part.rows[0].dead == "lines 1 to 3, 7"
    assert part.rows[0].steps == ("Line 21.",)


@PAPERS
def test_everything_is_on_the_sheet(paper: Paper) -> None:
    setting = _setting(paper)
    comes = Outcome(dead=(), note="it has its place in the plan: nothing changes")
    possible = Possible(source="Harmonium", planned=True, comes=comes, stays_away="channel 9 is free")
    found = _found(
        setting, _mic("M-07", "Lead vocal", "take M-09; same stand; same line"), _recorder(), possible=(possible,)
    )
    words = pdf.all_words(typeset("whatif", whatif_sheet(setting, found), PRINTED))
    for text in (
        "M-07",
        "take M-09; same stand; same line",
        "REC-1",
        "recording stops",
        "Harmonium",
        "Channel 9 is free",
    ):
        assert " ".join(text.split()) in words


@PAPERS
def test_with_nothing_the_sheet_says_what_belongs_there(paper: Paper) -> None:
    setting = _setting(paper, 0)
    words = pdf.all_words(typeset("whatif", whatif_sheet(setting, _found(setting)), PRINTED))
    assert "Once inputs are chosen, everything that may fail stands here" in words


@PAPERS
def test_long_names_and_very_many_failures_find_room(paper: Paper) -> None:
    setting = _setting(paper)
    failures = [_mic(f"MICROPHONE-{number}", LONG, f"take M-{number} ({LONG}); same stand") for number in range(80)]
    words = pdf.all_words(typeset("whatif", whatif_sheet(setting, _found(setting, *failures)), PRINTED))
    assert "M-79" in words
