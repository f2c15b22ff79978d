"""What must be known before the day: facts with who confirmed them, and the questions that are open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse
from pydantic import BaseModel

from fieldfare.desk.book import Last
from fieldfare.desk.desk import Editing
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html
from fieldfare.sheets.questions import ASKED
from fieldfare.show.facts import Loc, fact_label, facts_of, said_value, with_fact
from fieldfare.show.plan import Hit, OpenQuestion
from fieldfare.show.show import Show, Times
from fieldfare.show.typed import read_sets, read_time, write_sets
from fieldfare.store.undo import Steps

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
class Asking:
    """The open questions for one of those who can answer."""

    whom: str
    questions: tuple[OpenQuestion, ...]


@dataclass(frozen=True, slots=True)
class AdvancePage:
    """Facts and questions."""

    frame: Frame
    asking: tuple[Asking, ...]
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
            asking=tuple(
                Asking(whom, rows)
                for ask, whom in ASKED.items()
                if (rows := tuple(one for one in plan.question if one.ask == ask))
            ),
            troubles=tuple(hit for hit in plan.hit if hit.severity != "note"),
            facts=tuple(_facts(documents)),
            show=now.read.show,
            sets=write_sets(now.read.show.set),
            today=dt.date.today().isoformat(),
            last=here.book.last if here.book.last.digest == now.read.digest else Last(),
            steps=here.book.steps(),
        ),
    )


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
