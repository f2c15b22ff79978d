"""What must be known before the day: facts with who confirmed them, and the questions that are open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel

from fieldfare.desk.book import Last, Open
from fieldfare.desk.desk import Editing, Missing
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.printing import Printed, Printing
from fieldfare.desk.render import html
from fieldfare.handover.answers import Answer, accepts, answered, read_reply
from fieldfare.handover.sent import keep_letter, log_answers, sent_letter
from fieldfare.plan.recipes import show_recipes
from fieldfare.sheets.head import Setting
from fieldfare.sheets.letters import LETTERS, Letter, letter, letter_text
from fieldfare.sheets.questions import ASKED
from fieldfare.sheets.stage import stage_sheet
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.write import names_of
from fieldfare.show.facts import fact_label, facts_of, said_value, with_fact
from fieldfare.show.plan import Hit, OpenQuestion
from fieldfare.show.record import Asked
from fieldfare.show.show import Show, Times
from fieldfare.show.typed import read_sets, read_time, write_sets
from fieldfare.show.venue import Venue
from fieldfare.show.written import Loc
from fieldfare.store.undo import Steps
from fieldfare.units.faults import Fault

router = APIRouter(prefix="/shows/{key}")
Clock = Annotated[str, Form(max_length=8)]


@dataclass(frozen=True, slots=True)
class FactLine:
    """One fact, as it is known."""

    document: str
    at: str  # where it stands in its document: "circuit.0.other_load_w"
    label: str
    about: str
    value: str
    status: str
    by: str
    on: str
    ask: str


@dataclass(frozen=True, slots=True)
class Question:
    """One open question, by its number in the letter."""

    number: int
    question: OpenQuestion
    accepts: str  # in what form an answer is read


@dataclass(frozen=True, slots=True)
class QuestionGroup:
    """The open questions for one of those who can answer."""

    ask: Asked
    whom: str
    questions: tuple[Question, ...]
    has_letter: bool


@dataclass(frozen=True, slots=True)
class AdvancePage:
    """Facts and questions."""

    frame: Frame
    groups: tuple[QuestionGroup, ...]
    troubles: tuple[Hit, ...]
    facts: tuple[FactLine, ...]
    show: Show
    sets: str
    today: str
    last: Last
    steps: Steps


@router.get("/advance")
def advance(here: TheShow) -> HTMLResponse:
    """Show what is known, and what is not."""
    now = here.book.open()
    plan = now.plan
    documents: tuple[tuple[str, BaseModel], ...] = (("venue", now.read.venue), ("show", now.read.show))
    return html(
        "advance.html",
        AdvancePage(
            frame=here.frame("advance", "advance", now),
            groups=tuple(_groups(here, now)),
            troubles=tuple(hit for hit in plan.hit if hit.severity != "note"),
            facts=tuple(_facts(documents)),
            show=now.read.show,
            sets=write_sets(now.read.show.set),
            today=_today(now.read.venue).isoformat(),
            last=here.book.last if here.book.last.digest == now.read.digest else Last(),
            steps=here.book.steps(),
        ),
    )


def _groups(here: TheShow, now: Open) -> Iterator[QuestionGroup]:
    show, venue = now.read.show, now.read.venue
    for ask, whom in ASKED.items():
        numbered = sent_letter(here.book.store, show, venue, ask)
        known = {one.question.text for one in numbered}
        later = [one for one in now.plan.question if one.ask == ask and one.text not in known]
        rows = [(one.number, one.question) for one in numbered if one.is_open]
        rows += [(0, one) for one in later]  # not in the letter that was sent
        if rows:
            questions = tuple(Question(number, one, accepts(one, show, venue)) for number, one in rows)
            yield QuestionGroup(ask, whom, questions, ask in LETTERS)


def _facts(documents: tuple[tuple[str, BaseModel], ...]) -> Iterator[FactLine]:
    for name, document in documents:
        for loc, fact, about in facts_of(document):
            yield FactLine(
                document=name,
                at=".".join(str(step) for step in loc),
                label=fact_label(document, loc),
                about=about,
                value=said_value(fact),
                status=fact.status,
                by=fact.by,
                on=fact.on.isoformat() if fact.on else "",
                ask=fact.ask,
            )


@router.post("/advance")
def set_fact(
    here: TheShow,
    editor: Editing,
    document: Annotated[str, Form(max_length=10)],
    at: Annotated[str, Form(max_length=200)],
    value: Annotated[str, Form(max_length=200)] = "",
    status: Annotated[str, Form(max_length=12)] = "unknown",
    by: Annotated[str, Form(max_length=200)] = "",
    on: Annotated[str, Form(max_length=10)] = "",
) -> RedirectResponse:
    """Say what is known of a fact, how sure it is, and who confirmed it."""
    read, _ = here.book.documents()
    loc: Loc = tuple(int(step) if step.isdecimal() else step for step in at.split("."))
    of: Any = read.venue if document == "venue" else read.show
    changed = with_fact(of, loc, {"value": value, "status": status, "by": by, "on": on})
    says = f"{fact_label(of, loc)}: {status}."
    here.book.save(says, **{"venue" if document == "venue" else "show": changed})
    return here.to("advance")


@router.post("/advance/day")
def set_day(
    here: TheShow,
    editor: Editing,
    date: Annotated[dt.date, Form()],
    load_in: Clock = "",
    soundcheck: Clock = "",
    doors: Clock = "",
    curfew: Clock = "",
    crew: Annotated[int, Form(ge=1, le=50)] = 1,
    recordist: Annotated[str, Form(max_length=200)] = "",
    house_engineer: Annotated[str, Form(max_length=200)] = "",
    sets: Annotated[str, Form(max_length=4000)] = "",
) -> RedirectResponse:
    """Say when the day is, its times and sets, and who works."""
    read, _ = here.book.documents()
    clocks = {"load_in": load_in, "soundcheck": soundcheck, "doors": doors, "curfew": curfew}
    times = Times(**{name: read_time(said, name.replace("_", "-")) for name, said in clocks.items() if said.strip()})
    show = read.show.model_copy(
        update={
            "date": date,
            "times": times,
            "crew": crew,
            "recordist": recordist.strip(),
            "house_engineer": house_engineer.strip(),
            "set": read_sets(sets),
        }
    )
    here.book.save("The day: changed.", show=show)
    return here.to("advance")


@router.post("/advance/answer")
def answer(
    here: TheShow,
    editor: Editing,
    question: Annotated[str, Form(max_length=1000)],
    said: Annotated[str, Form(max_length=1000)] = "",
    by: Annotated[str, Form(max_length=200)] = "",
    on: Annotated[dt.date | None, Form()] = None,
) -> RedirectResponse:
    """Make an answer a confirmed fact, with who gave it and when."""
    now = here.book.open()
    asked = next((one for one in now.plan.question if one.text == question), None)
    if asked is None:
        raise Fault("this question is no longer open", question[:80], "load the page again")
    if not said.strip() or not by.strip():
        raise Fault("an answer needs what was said, and by whom", question[:80], "fill in both")
    _answered(here, (Answer(asked, said.strip(), by.strip(), on or _today(now.read.venue)),))
    return here.to("advance")


@router.post("/advance/reply")
def reply(
    here: TheShow,
    editor: Editing,
    ask: Annotated[Asked, Form()],
    text: Annotated[str, Form(max_length=20_000)] = "",
    by: Annotated[str, Form(max_length=200)] = "",
    on: Annotated[dt.date | None, Form()] = None,
) -> RedirectResponse:
    """Take in a whole reply: lines that begin with the number of a question in the letter."""
    now = here.book.open()
    numbered = {one.number: one for one in sent_letter(here.book.store, now.read.show, now.read.venue, ask)}
    said = {number: words for number, words in read_reply(text).items() if words}
    if not said or not by.strip():
        raise Fault("there is no answer in it, or nobody gave it", ask, "give who answered, and lines like 1: yes")
    for number in said:
        if number not in numbered or not numbered[number].is_open:
            raise Fault(f"question {number} is not open", ask, "look at the numbers of the letter")
    day = on or _today(now.read.venue)
    _answered(here, tuple(Answer(numbered[number].question, words, by.strip(), day) for number, words in said.items()))
    return here.to("advance")


def _today(venue: Venue) -> dt.date:
    """Return the day by the venue's clock, as every date of a show is."""
    return dt.datetime.now(ZoneInfo(venue.zone)).date()


def _answered(here: TheShow, answers: tuple[Answer, ...]) -> None:
    read, _ = here.book.documents()
    after = answered(read.show, read.venue, read.kit, answers)
    says = f"{len(answers)} {'answer' if len(answers) == 1 else 'answers'} of {answers[0].by}."
    here.book.save(says, show=after.show, venue=after.venue)
    log_answers(here.book.store, read.show.title, answers)


@router.get("/advance/{ask}.pdf", response_class=Response)
def letter_pdf(here: TheShow, ask: Asked, printing: Printed) -> Response:
    """Give the letter to one of those who can answer, to be sent; its numbers are kept for the reply."""
    page, setting, names = _letter(here, ask, printing)
    content = typeset("letter", page, setting.printed, setting.language, names)
    return Response(content, media_type="application/pdf", headers=_named(f"{ask}.pdf"))


@router.get("/advance/{ask}.txt", response_class=Response)
def letter_words(here: TheShow, ask: Asked, printing: Printed) -> Response:
    """Give the letter as text, to be pasted into a mail and answered between its lines."""
    page, setting, names = _letter(here, ask, printing)
    text = letter_text(page, setting.language, names)
    return Response(text, media_type="text/plain; charset=utf-8", headers=_named(f"{ask}.txt"))


def _letter(here: TheShow, ask: Asked, printing: Printing) -> tuple[Letter, Setting, frozenset[str]]:
    if ask not in LETTERS:
        raise Missing("there is no letter to ourselves", ask, "find it out")
    now = here.book.open()
    read = now.read
    printed = dt.datetime.now(ZoneInfo(read.venue.zone))
    questions = tuple(one for one in now.plan.question if one.ask == ask)
    keep_letter(here.book.store, read.show.title, ask, questions)
    setting = Setting(
        now.plan, read.show, read.venue, printing.paper, now.revision, printed, printing.units, printing.language
    )
    stage = stage_sheet(setting, read.kit, show_recipes(read.folder))
    return letter(setting, ask, questions, stage), setting, names_of(read.show, read.kit, read.venue)


def _named(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'inline; filename="{name}"'}
