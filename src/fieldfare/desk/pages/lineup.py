"""Who plays: a line-up typed as it is said on the telephone, then each source put right."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.datastructures import FormData

from fieldfare.desk.book import Last, Open
from fieldfare.desk.desk import Editing
from fieldfare.desk.edits import add_sources, change_source, remove_source
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html
from fieldfare.plan.lineup import MOST, Lineup, read_lineup
from fieldfare.plan.recipes import Recipe, show_recipes
from fieldfare.show.plan import Plan
from fieldfare.show.show import Importance, Source
from fieldfare.store.undo import Steps
from fieldfare.units.faults import Fault

router = APIRouter(prefix="/shows/{key}")
MOST_TEXT = 2000
Likely = Literal["confirmed", "expected", "possible"]
SAID = ("sure", "has", "counts")  # of a source that was understood, in fields of the form
COUNTS = frozenset(str(count) for count in range(MOST + 1))


@dataclass(frozen=True, slots=True)
class SourceLine:
    """One source with what became of it."""

    source: Source
    act: str
    inputs: str
    can_have: tuple[str, ...]
    counts: tuple[tuple[str, int], ...]
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LineupPage:
    """Who plays."""

    frame: Frame
    lines: tuple[SourceLine, ...]
    acts: tuple[str, ...]
    recipes: tuple[Recipe, ...]
    typed: str
    read: Lineup | None
    last: Last
    steps: Steps


@router.get("/lineup")
def lineup(here: TheShow) -> HTMLResponse:
    """Show who plays."""
    return html("lineup.html", _page(here, here.book.open(), "", None))


@router.post("/lineup/read")
def read(here: TheShow, editor: Editing, text: Annotated[str, Form(max_length=MOST_TEXT)] = "") -> HTMLResponse:
    """Show what a typed line-up is understood as; nothing is kept yet."""
    now = here.book.open()
    recipes = show_recipes(here.book.folder)
    understood = read_lineup(text, recipes, now.read.venue.stage, now.read.show.sources)
    return html("lineup.html", _page(here, now, text, understood))


def _page(here: TheShow, now: Open, typed: str, understood: Lineup | None) -> LineupPage:
    recipes = show_recipes(here.book.folder)
    show = now.read.show
    return LineupPage(
        frame=here.frame("lineup", "line-up", now),
        lines=tuple(_line(source, act.name, now, recipes) for act in show.act for source in act.source),
        acts=tuple(act.name for act in show.act),
        recipes=tuple(sorted(recipes.values(), key=lambda one: (one.family, one.name))),
        typed=typed,
        read=understood,
        last=here.book.last if here.book.last.digest == now.read.digest else Last(),
        steps=here.book.steps(),
    )


def _line(source: Source, act: str, now: Open, recipes: dict[str, Recipe] | object) -> SourceLine:
    known = recipes if isinstance(recipes, dict) else {}
    recipe: Recipe | None = known.get(source.recipe)
    return SourceLine(
        source=source,
        act=act,
        inputs=_inputs(source, now.plan),
        can_have=recipe.uses if recipe else (),
        counts=tuple((name, source.counts.get(name, usual)) for name, usual in recipe.usual.items()) if recipe else (),
        parts=tuple(dict.fromkeys(part.part for part in recipe.part)) if recipe else (),
    )


def _inputs(source: Source, plan: Plan) -> str:
    """Say which rows a source is on, whose rows it uses while they are silent, and how many inputs are left out."""
    rows = {row.id: row for row in plan.input}
    missing = [row for row in plan.left_out if row.source == source.name]
    kept = [str(row.number) for row in plan.input if row.source == source.name]
    parts = [f"on {', '.join(kept)}"] if kept else []
    parts += [f"on {rows[one.shares].number} with {rows[one.shares].label}" for one in missing if one.shares in rows]
    lost = sum(one.shares not in rows for one in missing)
    return "; ".join([*(parts or ["none recorded"]), *([f"{lost} left out"] if lost else [])])


@router.post("/lineup/add")
async def add(here: TheShow, editor: Editing, request: Request) -> RedirectResponse:
    """Add the sources that were chosen of those that were understood."""
    form = await request.form()
    recipes = show_recipes(here.book.folder)
    sources = []
    for number in range(len(form.getlist("name"))):
        if str(number) in form.getlist("take"):
            sources.append(
                Source(
                    name=str(form.getlist("name")[number])[:200].strip() or f"Source {number + 1}",
                    recipe=str(form.getlist("recipe")[number]),
                    at=(_number(form.getlist("x")[number]), _number(form.getlist("y")[number])),
                    **_besides(form, number, recipes.get(str(form.getlist("recipe")[number]))),
                )
            )
    if not sources:
        raise Fault("no source was chosen", "line-up", "tick those that play")
    act = str(form.get("act", ""))[:200].strip()
    now, _ = here.book.documents()
    here.book.save(f"{len(sources)} sources added.", show=add_sources(now.show, act, tuple(sources)))
    return here.to("lineup")


def _besides(form: FormData, number: int, recipe: Recipe | None) -> dict[str, Any]:
    """What was understood of a source besides its kind, as far as the kind that was chosen knows it."""
    sure, has, counts = ("".join(map(str, form.getlist(name)[number : number + 1])) for name in SAID)
    parted = (piece.partition("=") for piece in counts.split(";"))
    return {
        "status": "possible" if sure == "possible" else "expected",
        "has": tuple(word for word in has.split(";") if recipe and word in recipe.uses),
        "counts": {
            part: int(count) for part, _, count in parted if recipe and part in recipe.usual and count in COUNTS
        },
    }


def _number(said: object) -> float:
    try:
        value = float(str(said).replace("−", "-").replace(",", "."))
    except ValueError:
        raise Fault(f"{str(said)[:40]!r} is not a place", "line-up", "write metres, such as -1.5") from None
    if not -500 <= value <= 500:
        raise Fault(f"{str(said)[:40]} m is off any stage", "line-up", "write metres from the middle of the edge")
    return value


@router.post("/lineup/change")
async def change(
    here: TheShow,
    editor: Editing,
    request: Request,
    source: Annotated[str, Form(max_length=200)],
    name: Annotated[str, Form(max_length=200)] = "",
    recipe: Annotated[str, Form(max_length=200)] = "",
    status: Annotated[Likely, Form()] = "expected",
    importance: Annotated[Importance | Literal[""], Form()] = "",
    player: Annotated[str, Form(max_length=200)] = "",
    doubles_with: Annotated[str, Form(max_length=200)] = "",
    alone: Annotated[Literal["yes", ""], Form()] = "",
    note: Annotated[str, Form(max_length=1000)] = "",
) -> RedirectResponse:
    """Put a source right."""
    form = await request.form()
    recipes = show_recipes(here.book.folder)
    usual = recipes[recipe].usual if recipe in recipes else {}
    counts = {
        one: int(said)
        for one, number in usual.items()
        if (said := str(form.get(f"count {one}", ""))).isdecimal() and len(said) < 4 and int(said) != number
    }
    read, _ = here.book.documents()
    show = change_source(
        read.show,
        source,
        name=name.strip() or source,
        recipe=recipe,
        status=status,
        importance=importance or None,
        player=player.strip(),
        doubles_with=doubles_with,
        alone=alone == "yes",
        note=note.strip(),
        has=tuple(str(one) for one in form.getlist("has")),
        leave_out=tuple(str(one) for one in form.getlist("leave_out")),
        counts=counts,
    )
    here.book.save(f"{name or source}: changed.", show=show)
    return here.to("lineup")


@router.post("/lineup/remove")
def remove(here: TheShow, editor: Editing, source: Annotated[str, Form(max_length=200)]) -> RedirectResponse:
    """Take a source out."""
    read, _ = here.book.documents()
    here.book.save(f"{source}: taken out.", show=remove_source(read.show, source))
    return here.to("lineup")
