"""fieldfare letters and fieldfare answer: what is not known is asked, and what is answered becomes a fact."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer

from fieldfare.cli.options import Lengths, MetresOrFeet, Paper, PaperSize, ShowPath, Speaks, Tongue
from fieldfare.cli.say import Status, heading, leave, say, show_json
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed

if TYPE_CHECKING:
    from fieldfare.cli.planned import Planned
    from fieldfare.handover.answers import Answer
    from fieldfare.handover.sent import Numbered
    from fieldfare.sheets.language import Language
    from fieldfare.show.plan import OpenQuestion
    from fieldfare.show.record import Asked

FOLDER = "letters"


def letters(
    show: ShowPath,
    to: Annotated[Path | None, typer.Option(help="Folder for the letters; letters/ in the show's folder.")] = None,
    paper: PaperSize = Paper.a4,
    lengths: MetresOrFeet = Lengths.metres,
    language: Speaks = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write the files' names and the questions as JSON.")] = False,
) -> None:
    """Write the advance to venue, house engineer, band and cameras: only what is not known yet, and what we need."""
    from fieldfare.cli.planned import planned, show_store
    from fieldfare.handover.sent import keep_letter
    from fieldfare.sheets.head import Setting
    from fieldfare.sheets.letters import LETTERS, letter, letter_text
    from fieldfare.sheets.stage import stage_sheet
    from fieldfare.sheets.typeset import typeset
    from fieldfare.sheets.write import names_of, put_all

    made = planned(show)
    read = made.read
    printed = dt.datetime.now(ZoneInfo(read.venue.zone))
    tongue: Language = language.value
    setting = Setting(made.plan, read.show, read.venue, paper.value, made.revision, printed, lengths.value, tongue)
    stage = stage_sheet(setting, read.kit, made.recipes)
    names = names_of(read.show, read.kit, read.venue)
    files = {"stage.pdf": typeset("stage", stage, printed, tongue, names)}
    sent: dict[Asked, tuple[OpenQuestion, ...]] = {}
    for ask in LETTERS:
        questions = tuple(one for one in made.plan.question if one.ask == ask)
        if ask == "cameras" and not (questions or read.show.camera):
            continue
        page = letter(setting, ask, questions, stage)
        files[f"{ask}.pdf"] = typeset("letter", page, printed, tongue, names)
        files[f"{ask}.txt"] = letter_text(page, tongue, names).encode()
        sent[ask] = questions
    folder = to or read.folder / FOLDER
    written = put_all(files, folder)
    with show_store(read.folder) as store:
        for ask, questions in sent.items():
            keep_letter(store, read.show.title, ask, questions)
    if as_json:
        asked: dict[str, object] = {ask: [one.model_dump(mode="json") for one in rows] for ask, rows in sent.items()}
        show_json({"file": [str(path) for path in written], "question": asked})
        leave(Status.LOOK if any(sent.values()) else Status.DONE)
    for ask, questions in sent.items():
        say(f"{folder / ask}.pdf and .txt: {len(questions)} {'question' if len(questions) == 1 else 'questions'}")
    say(f"{folder / 'stage.pdf'}: the drawing that is enclosed in each of them, for a mail")
    leave(Status.LOOK if any(sent.values()) else Status.DONE)


def answer(
    show: ShowPath,
    whom: Annotated[str, typer.Argument(help="Who answers: venue, house, band, cameras, ourselves.")] = "",
    number: Annotated[int, typer.Argument(min=0, help="Number of the question in the letter.")] = 0,
    text: Annotated[str, typer.Argument(help="What was said.")] = "",
    by: Annotated[str, typer.Option(help="Who said so: the manager, by telephone.")] = "",
    on: Annotated[str, typer.Option(metavar="DATE", help="When; today if not given.")] = "",
    reply: Annotated[Path | None, typer.Option(help="A reply saved as text: lines that begin with 1: 2: 3:")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Write what is still open as JSON.")] = False,
) -> None:
    """Put answers into the show as confirmed facts; without one, say what is open and in what form it is read."""
    from fieldfare.cli.planned import planned

    made = planned(show)
    if whom:
        answers = _answers(made, whom, number, text, by, on, reply)
        _put(made, show, answers, quiet=as_json)
        made = planned(show)
    open_ = made.plan.question
    if as_json:
        show_json({"question": [one.model_dump(mode="json") for one in open_]})
    elif not whom:
        _tell_open(made)
    else:
        say(f"{len(open_)} {'question is' if len(open_) == 1 else 'questions are'} still open.")
    leave(Status.LOOK if open_ else Status.DONE)


def _answers(
    made: Planned, whom: str, number: int, text: str, by: str, on: str, reply: Path | None
) -> tuple[Answer, ...]:
    from fieldfare.handover.answers import Answer, read_reply

    questions = _asked(made, whom)
    if not by:
        raise Fault("it is not said who answered", "--by", 'write --by "the manager, by telephone"')
    try:
        day = dt.date.fromisoformat(on) if on else dt.datetime.now(ZoneInfo(made.read.venue.zone)).date()
    except ValueError:
        raise Fault(f"{on!r} is not a date", "--on", "write it as 2026-12-04") from None
    said = {number: text} if number else {}
    if reply is not None:
        try:
            said = read_reply(reply.read_text("utf-8-sig"))
        except (OSError, UnicodeDecodeError):
            raise Fault("cannot be read as text", str(reply), "save the reply as a text file in UTF-8") from None
    if not any(said.values()):
        raise Fault("there is no answer", whom, "give number and answer, or a reply whose lines begin with 1: 2: 3:")
    found = {one.number: one for one in questions}
    for wanted in said:
        if wanted not in found:
            listing = f"the letter has 1 to {len(questions)}" if questions else "nothing was asked of them"
            raise Fault(f"there is no question {wanted}", whom, listing)
        if not found[wanted].is_open:
            what = f"question {wanted} is answered already: {found[wanted].question.text}"
            raise Fault(what, whom, "change it in the documents, or on the desk")
    return tuple(Answer(found[one].question, words, by, day) for one, words in said.items() if words)


def _asked(made: Planned, whom: str) -> tuple[Numbered, ...]:
    """Return the questions by the numbers of the letter that was sent last; without one, as they are numbered now."""
    from typing import get_args

    from fieldfare.cli.planned import show_store
    from fieldfare.handover.sent import sent_letter
    from fieldfare.show.record import Asked

    known: tuple[Asked, ...] = get_args(Asked)
    ask = next((one for one in known if one == whom), None)
    if ask is None:
        raise Fault(f"nobody is asked as {whom!r}", "the command", f"one of {listed(known)}")
    with show_store(made.read.folder) as store:
        return sent_letter(store, made.read.show, made.read.venue, ask)


def _put(made: Planned, path: Path, answers: tuple[Answer, ...], *, quiet: bool) -> None:
    from fieldfare.cli.planned import show_store
    from fieldfare.handover.answers import answered
    from fieldfare.handover.sent import log_answers
    from fieldfare.show.edit_toml import edit_toml
    from fieldfare.show.toml import SHOW_FILE

    read = made.read
    now = answered(read.show, read.venue, read.kit, answers)
    kept = True
    if now.venue != read.venue:
        kept = edit_toml(read.folder / read.show.venue, now.venue)
    if now.show != read.show:
        kept = edit_toml(path if path.is_file() else read.folder / SHOW_FILE, now.show) and kept
    with show_store(read.folder) as store:
        log_answers(store, read.show.title, answers)
    if not quiet:
        for one in answers:
            say(f"{one.question.text} {one.text} ({one.by}, {one.on})", hang=2)
        if not kept:
            say("A document could not be changed in place and was written anew: its remarks are gone.")


def _tell_open(made: Planned) -> None:
    from typing import get_args

    from fieldfare.handover.answers import accepts
    from fieldfare.show.record import Asked

    for ask in get_args(Asked):
        numbered = _asked(made, ask)
        known = {one.question.text for one in numbered}
        new = [one for one in made.plan.question if one.ask == ask and one.text not in known]
        if new or any(one.is_open for one in numbered):
            heading(ask)
        for one in (one for one in numbered if one.is_open):
            say(f"{one.number}. {one.question.text}", indent=1, hang=3)
            say(accepts(one.question, made.read.show, made.read.venue), indent=4)
        for question in new:
            say(f"not in the letter yet: {question.text}", indent=1, hang=3)
