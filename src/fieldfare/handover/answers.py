"""Answers to the advance, typed back in: each becomes a confirmed fact of the documents, by whom and when.

An answer to a question about a fact is read as that fact asks for it; one that does not fit changes nothing. An answer
in words alone is kept beside its question. Either all answers given at once go in, or none.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from fieldfare.plan.questions import open_questions
from fieldfare.show.facts import with_fact
from fieldfare.show.kit import Kit
from fieldfare.show.plan import OpenQuestion
from fieldfare.show.record import Asked, Fact
from fieldfare.show.show import Question, Show
from fieldfare.show.toml import faults_of
from fieldfare.show.typed import read_sets, read_time
from fieldfare.show.venue import Venue
from fieldfare.show.written import Loc
from fieldfare.units.faults import BadDocuments, Blemish, Fault

_YES_NO = re.compile(r"(?P<word>yes|no)\b[\s,;:.–-]*(?P<rest>.*)", re.IGNORECASE | re.DOTALL)
_NUMBERED = re.compile(r"\s*(?:answer\s+)?(?P<number>\d{1,3})\s*[.:)]\s*(?P<text>.*)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Answer:
    """What somebody said to a question."""

    question: OpenQuestion
    text: str
    by: str
    on: dt.date


@dataclass(frozen=True, slots=True)
class Answered:
    """The documents as they are after some answers."""

    show: Show
    venue: Venue


def answered(show: Show, venue: Venue, kit: Kit, answers: Sequence[Answer]) -> Answered:
    """Put answers into the documents.

    Raises
    ------
    BadDocuments
        Every answer that does not fit its question, and what the documents would then be at fault for.
    """
    now, faults = Answered(show, venue), []
    # What is taken out of a list goes last, so that the places of the others stay what they were.
    for answer in sorted(answers, key=_order):
        try:
            now = _put(now, answer)
        except Fault as fault:
            faults.append(Blemish(answer.question.text, "", "", fault.what, fault.remedy))
    if not faults:
        before = set(faults_of(show, venue, kit))
        faults = [one for one in faults_of(now.show, now.venue, kit) if one not in before]
    if faults:
        raise BadDocuments(tuple(faults))
    return now


def _order(answer: Answer) -> tuple[int, int, str]:
    """Facts first, in any order; then what may take a source out, the last one of the list first."""
    place = re.fullmatch(r"show\.act\.(\d+)\.source\.(\d+)\.status", answer.question.about)
    return (1, -int(place[2]), place[1]) if place else (0, 0, answer.question.about)


def _put(now: Answered, answer: Answer) -> Answered:
    document, _, place = answer.question.about.partition(".")
    loc: Loc = tuple(int(step) if step.isdecimal() else step for step in place.split(".")) if place else ()
    if not document:
        return Answered(_remembered(now.show, answer), now.venue)
    if document == "venue":
        venue, rest = _with_said(now.venue, loc, answer)
        return Answered(_remembered(now.show, answer) if rest else now.show, venue)
    if loc[0] == "times":
        times = now.show.times.model_copy(update={str(loc[1]): read_time(answer.text, "the answer")})
        return Answered(_remembered(now.show.model_copy(update={"times": times}), answer), now.venue)
    if loc == ("set",):
        return Answered(_remembered(now.show.model_copy(update={"set": read_sets(answer.text)}), answer), now.venue)
    if loc[-1] == "status":
        return Answered(_remembered(_with_source(now.show, loc, answer), answer), now.venue)
    show, rest = _with_said(now.show, loc, answer)
    return Answered(_remembered(show, answer) if rest else show, now.venue)


def _with_said(document: Any, loc: Loc, answer: Answer) -> tuple[Any, str]:
    """Set one fact, and give back what was said beyond it."""
    value, rest = _value_of(_fact_at(document, loc), answer.text)
    if isinstance(document, Venue) and loc == ("limiter",):
        value = {one.name.casefold(): one.name for one in document.circuit}.get(value.casefold(), value)
    said = {"value": value, "status": "confirmed", "by": answer.by, "on": answer.on.isoformat()}
    return with_fact(document, loc, said), rest


def _fact_at(document: Any, loc: Loc) -> Fact[Any]:
    here = document
    for step in loc:
        here = here[step] if isinstance(step, int) else getattr(here, step)
    fact: Fact[Any] = here
    return fact


def _value_of(fact: Fact[Any], text: str) -> tuple[str, str]:
    """Take from an answer what its fact asks for, and what is said beyond that."""
    kind = str(type(fact).model_fields["value"].annotation)
    bare = text.strip()
    if "bool" in kind:
        found = _YES_NO.fullmatch(bare)
        return (found["word"].casefold(), found["rest"]) if found else (bare, "")
    if "float" in kind:
        number = re.fullmatch(r"(?:about |ca\.? |≈ ?)?([-−]?\d+(?:[.,]\d+)?)\s*(.*)", bare, re.IGNORECASE | re.DOTALL)
        return (number[1], number[2]) if number else (bare, "")
    if "Literal" in kind:
        return bare.casefold(), ""
    return ("none", "") if bare.casefold() in ("no", "none", "no limiter", "there is none") else (bare, "")


def _with_source(show: Show, loc: Loc, answer: Answer) -> Show:
    """Say that a source plays, or take it out: no answer is lost by that, since every revision is kept."""
    found = _YES_NO.fullmatch(answer.text.strip())
    if found is None:
        raise Fault(f"{answer.text[:40]!r} is neither yes nor no", "the answer", "write yes or no")
    act, place = int(loc[1]), int(loc[3])
    acts = list(show.act)
    sources = list(acts[act].source)
    if found["word"].casefold() == "yes":
        sources[place] = sources[place].model_copy(update={"status": "confirmed"})
    else:
        del sources[place]
    acts[act] = acts[act].model_copy(update={"source": tuple(sources)})
    return show.model_copy(update={"act": tuple(acts)})


def _remembered(show: Show, answer: Answer) -> Show:
    """Keep what was said in words beside its question."""
    asked = answer.question
    said = Question(ask=asked.ask, text=asked.text, answer=answer.text.strip(), by=answer.by, on=answer.on)
    if any((one.ask, one.text) == (asked.ask, asked.text) for one in show.question):
        questions = [said if (one.ask, one.text) == (asked.ask, asked.text) else one for one in show.question]
    else:
        questions = [*show.question, said]
    return show.model_copy(update={"question": tuple(questions)})


def read_reply(text: str) -> dict[int, str]:
    """Read the answers of a pasted mail: lines that begin with a question's number, and what follows them.

    What is quoted (> at the start of a line) is the letter, and not an answer.

    >>> read_reply("Hello,\\n> 1. Is there a limiter?\\n1: none\\n2. yes,\\n  the second side\\n\\nbye")
    {1: 'none', 2: 'yes, the second side'}
    """
    found: dict[int, list[str]] = {}
    current: list[str] | None = None
    for line in text.splitlines():
        if line.lstrip().startswith(">"):
            current = None
        elif match := _NUMBERED.fullmatch(line):
            current = found.setdefault(int(match["number"]), [])
            current.append(match["text"].strip())
        elif not line.strip():
            current = None
        elif current is not None:
            current.append(line.strip())
    return {number: " ".join(words).strip() for number, words in found.items() if " ".join(words).strip()}


def questions_for(show: Show, venue: Venue, ask: Asked) -> tuple[OpenQuestion, ...]:
    """Return what is open for one of those who can answer, in the order of the letter."""
    return tuple(one for one in open_questions(show, venue) if one.ask == ask)


def accepts(question: OpenQuestion, show: Show, venue: Venue) -> str:
    """Say in what form an answer is read."""
    document, _, place = question.about.partition(".")
    for ending, words in _FORMS.items():
        if question.about.endswith(ending):
            return words(venue)
    if not document:
        return "in your own words"
    loc: Iterable[str | int] = [int(step) if step.isdecimal() else step for step in place.split(".")]
    fact = _fact_at(venue if document == "venue" else show, tuple(loc))
    kind = str(type(fact).model_fields["value"].annotation)
    return (
        "yes or no, and more if there is more to say"
        if "bool" in kind
        else "a number"
        if "float" in kind
        else "in words"
    )


_FORMS: dict[str, Callable[[Venue], str]] = {
    "venue.limiter": lambda venue: (
        "none, or the circuit: " + (" / ".join(one.name for one in venue.circuit) or "its name")
    ),
    ".house_mic.owner": lambda venue: "house, band, ours or hired",
    ".status": lambda venue: "yes or no",
    "show.set": lambda venue: "start, minutes and songs: 19:45 50 First song; Second song",
    "show.times.load_in": lambda venue: "a time: 15:00",
    "show.times.soundcheck": lambda venue: "a time: 17:00",
    "show.times.doors": lambda venue: "a time: 19:00",
    "show.times.curfew": lambda venue: "a time: 22:30",
}
