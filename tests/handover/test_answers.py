"""Answers become confirmed facts, by whom and when, in the files themselves; what does not fit changes nothing."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from shutil import copytree

import pytest
from handover.demo import FOLDER
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.handover.answers import Answer, accepts, answered, questions_for, read_reply
from fieldfare.handover.sent import keep_letter, log_answers, sent_letter
from fieldfare.plan.questions import open_questions
from fieldfare.show.edit_toml import edit_toml
from fieldfare.show.plan import OpenQuestion
from fieldfare.show.show import Times
from fieldfare.show.toml import ShowFolder, read_show
from fieldfare.store.events import events
from fieldfare.store.store import open_store, url_of
from fieldfare.units.faults import BadDocuments

ON = dt.date(2026, 11, 20)
SAID = {
    "venue.limiter": "stage only",
    "venue.house_box.0.splits_isolated": "Yes, the secondary side",
    "venue.circuit.0.other_load_w": "about 600 W, the fridge mostly",
    "show.times.load_in": "15:30",
    "show.times.soundcheck": "17:00",
    "show.times.doors": "19:00",
    "show.times.curfew": "22:15",
    "show.set": "19:45 50 Nine Oars; The Long Ebb",
    "": "the first six",
}


def _said(question: OpenQuestion, text: str = "") -> Answer:
    by_ending = {"owner": "band", "status": "no"}
    words = text or SAID.get(question.about) or by_ending[question.about.rpartition(".")[2]]
    return Answer(question, words, "the manager", ON)


@pytest.fixture
def read(tmp_path: Path) -> ShowFolder:
    folder = tmp_path / "show"
    copytree(FOLDER, folder, ignore=lambda _, names: [name for name in names if not name.endswith(".toml")])
    return read_show(folder)


def test_every_question_of_the_demo_can_be_answered_until_nothing_is_open(read: ShowFolder) -> None:
    bare = read.show.model_copy(update={"times": Times(), "set": ()})
    asked = open_questions(bare, read.venue)
    assert {one.about for one in asked} >= {"venue.limiter", "show.set", "show.times.curfew", ""}
    now = answered(bare, read.venue, read.kit, [_said(one) for one in asked])
    (follows,) = open_questions(now.show, now.venue)  # a limiter that cuts one circuit may cut the other
    assert follows.about == "venue.circuit.0.cut_by_limiter"
    last = answered(now.show, now.venue, read.kit, [_said(follows, "no")])
    assert open_questions(last.show, last.venue) == ()
    limiter = now.venue.limiter
    assert (limiter.value, limiter.status, limiter.by, limiter.on) == ("Stage only", "confirmed", "the manager", ON)
    assert now.venue.house_box[0].splits_isolated.value is True
    assert now.venue.circuit[0].other_load_w.value == 600
    assert now.show.times.curfew == dt.time(22, 15)
    assert now.show.set[0].songs == ("Nine Oars", "The Long Ebb")
    assert "Harmonium" not in [one.name for one in now.show.sources]
    kept = {one.text: (one.answer, one.by, one.on) for one in now.show.question if one.answer}
    assert kept["Which six songs are put to pictures?"] == ("the first six", "the manager", ON)
    assert ("Yes, the secondary side", "the manager", ON) in kept.values()  # more than a yes is not lost


def test_answers_go_into_the_files_and_every_remark_stays(read: ShowFolder) -> None:
    before = {name: (read.folder / name).read_text("utf-8") for name in ("show.toml", "venue.toml")}
    now = answered(read.show, read.venue, read.kit, [_said(one) for one in open_questions(read.show, read.venue)])
    assert edit_toml(read.folder / "show.toml", now.show)
    assert edit_toml(read.folder / "venue.toml", now.venue)
    again = read_show(read.folder)
    assert (again.show, again.venue) == (now.show, now.venue)
    for name, text in before.items():
        remarks = [line for line in text.splitlines() if line.startswith("#")]
        assert remarks
        assert set(remarks) <= set((read.folder / name).read_text("utf-8").splitlines())


@pytest.mark.parametrize(
    ("about", "text", "says"),
    [
        ("venue.limiter", "the bar", 'there is no circuit "the bar"'),
        ("venue.house_box.0.splits_isolated", "perhaps", "neither yes nor no"),
        ("venue.circuit.0.other_load_w", "a lot", "'a lot' is not a number"),
        ("show.act.0.source.14.status", "perhaps", "neither yes nor no"),
    ],
)
def test_an_answer_that_does_not_fit_changes_nothing_and_says_what_would(
    about: str, text: str, says: str, read: ShowFolder
) -> None:
    asked = open_questions(read.show, read.venue)
    kind = about.rpartition(".")[2]
    question = next(one for one in asked if one.about.rpartition(".")[2] == kind)
    with pytest.raises(BadDocuments, match=says):
        answered(read.show, read.venue, read.kit, [_said(question, text)])


def test_all_that_does_not_fit_is_told_at_once(read: ShowFolder) -> None:
    asked = [one for one in open_questions(read.show, read.venue) if one.about.endswith(("isolated", "load_w"))]
    with pytest.raises(BadDocuments, match="neither") as caught:
        answered(read.show, read.venue, read.kit, [_said(one, "?") for one in asked])
    assert len(caught.value.blemishes) == 2


def test_two_that_do_not_play_are_both_taken_out_and_no_other(read: ShowFolder) -> None:
    acts = read.show.act
    sources = tuple(
        one.model_copy(update={"status": "possible"}) if one.name in ("Fiddle", "Hand percussion") else one
        for one in acts[0].source
    )
    show = read.show.model_copy(update={"act": (acts[0].model_copy(update={"source": sources}), *acts[1:])})
    gone = {"Fiddle", "Hand percussion", "Harmonium"}
    asked = [one for one in open_questions(show, read.venue) if one.about.endswith(".status")]
    now = answered(show, read.venue, read.kit, [_said(one, "no") for one in asked])
    assert {one.name for one in show.sources} - {one.name for one in now.show.sources} == gone
    one, *_ = asked
    yes = answered(show, read.venue, read.kit, [_said(one, "Yes.")])
    assert sum(source.status == "confirmed" for source in yes.show.sources) == 1 + sum(
        source.status == "confirmed" for source in show.sources
    )


def test_numbers_stay_those_of_the_letter_while_answers_come_in(read: ShowFolder, tmp_path: Path) -> None:
    with open_store(url_of(tmp_path)) as store:
        asked = questions_for(read.show, read.venue, "venue")
        keep_letter(store, read.show.title, "venue", asked)
        first = _said(asked[0])
        now = answered(read.show, read.venue, read.kit, [first])
        numbered = sent_letter(store, now.show, now.venue, "venue")
        assert [(one.number, one.is_open) for one in numbered] == [(1, False), (2, True)]
        assert [one.question.text for one in numbered] == [one.text for one in asked]
        log_answers(store, read.show.title, [first])
        (kept,) = events(store, read.show.title)
        assert (kept.event.kind, kept.event.about) == ("answered", "venue.limiter")
        assert "(the manager, 2026-11-20)" in kept.event.text
        band = sent_letter(store, read.show, read.venue, "band")  # no letter went to the band
        assert [one.question for one in band] == list(questions_for(read.show, read.venue, "band"))


def test_every_question_says_in_what_form_its_answer_is_read(read: ShowFolder) -> None:
    bare = read.show.model_copy(update={"times": Times(), "set": ()})
    forms = {one.about: accepts(one, bare, read.venue) for one in open_questions(bare, read.venue)}
    assert forms["venue.limiter"] == "none, or the circuit: Kitchen and stage / Stage only"
    assert forms["show.times.doors"] == "a time: 19:00"
    assert forms[""] == "in your own words"
    assert all(forms.values())


REPLY = """Hello, here you are.

> 1. Is there a sound limiter, and which sockets does it cut?
> 1:
1: none
> 2. Are the splits isolated?
Answer 2) yes, the second side,
   as far as I know

3. not known

Regards
"""


def test_a_pasted_reply_is_read_past_what_it_quotes() -> None:
    assert read_reply(REPLY) == {1: "none", 2: "yes, the second side, as far as I know", 3: "not known"}


@given(st.text(max_size=300))
def test_any_text_can_be_read_as_a_reply(text: str) -> None:
    assert all(number >= 0 and words.strip() == words and words for number, words in read_reply(text).items())
