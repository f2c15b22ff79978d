"""The input list as tape strips: what each input uses, why, and what a person has decided by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from fieldfare.desk.book import Last, Open
from fieldfare.desk.desk import Editing
from fieldfare.desk.edits import move_input, pin_input, set_kept
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html
from fieldfare.sheets.figures import FigureRow, figure_row
from fieldfare.sheets.inputs import taken_words
from fieldfare.sheets.strips import Strip, left_out_strip, strip_of
from fieldfare.sheets.wording import cable_words, reading, run_words
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Hit, LeftOut, Plan, PlannedInput
from fieldfare.show.show import Pin
from fieldfare.store.undo import Steps

router = APIRouter(prefix="/shows/{key}")


@dataclass(frozen=True, slots=True)
class InputLine:
    """One row of the list."""

    id: str
    strip: Strip
    taken: str
    tag: str
    stand: str
    run: str
    socket: str
    channel: str
    phantom: str
    gain: str
    reserve: str
    pinned: bool
    changed: bool
    trouble: str
    possible: bool


@dataclass(frozen=True, slots=True)
class Station:
    """One hop of the opened thread."""

    kind: str
    name: str
    tag: str
    detail: str
    shades: tuple[str, ...]
    fails: str


@dataclass(frozen=True, slots=True)
class Choices:
    """What may be pinned on the opened input."""

    pin: Pin
    units: tuple[tuple[str, str], ...]  # tag and what it is
    stands: tuple[tuple[str, str], ...]
    boxes: tuple[tuple[str, str], ...]
    channels: int


@dataclass(frozen=True, slots=True)
class Thread:
    """The opened input."""

    id: str
    label: str
    stations: tuple[Station, ...]
    reason: str
    next_best: str
    aiming: tuple[str, ...]
    waiting: bool  # the reasons are still being found
    figures: tuple[FigureRow, ...]
    troubles: tuple[Hit, ...]
    choices: Choices


@dataclass(frozen=True, slots=True)
class LostLine:
    """One input that has no row of its own."""

    id: str
    strip: Strip
    importance: str
    blocks: str
    cure: str
    shares: bool  # it is on the row of another, while that one is silent
    kept_out: bool  # by a pin


@dataclass(frozen=True, slots=True)
class InputsPage:
    """The input list."""

    frame: Frame
    count: str
    detail: str
    proof: str
    waiting: bool
    lines: tuple[InputLine, ...]
    thread: Thread | None
    lost: tuple[LostLine, ...]
    last: Last
    steps: Steps


@router.get("/inputs")
def inputs(here: TheShow, open: Annotated[str, Query(max_length=200)] = "") -> HTMLResponse:
    """Show the list, one input of it opened."""
    now = here.book.open()
    return html("inputs.html", inputs_page(here, now, open))


def inputs_page(here: TheShow, now: Open, opened: str) -> InputsPage:
    """Make the page of a show as it stands."""
    plan, show = now.plan, now.read.show
    last = here.book.last if here.book.last.digest == now.read.digest else Last()
    changed = {one.id for one in last.changed}
    pins = {pin.input: pin for pin in show.pin}
    row = next((one for one in plan.input if one.id == opened), None)
    return InputsPage(
        frame=here.frame("inputs", "inputs", now),
        count=f"{plan.kept} of {plan.wanted} inputs kept on {len(plan.input)} lines",
        detail=plan.kept_words,
        proof="proven best" if all(goal.proven for goal in plan.goal) else "the best that was found",
        waiting=not now.explained,
        lines=tuple(_line(one, plan, one.id in pins, one.id in changed) for one in plan.input),
        thread=_thread(row, plan, now.read.kit, pins.get(row.id, Pin(input=row.id)), now.explained) if row else None,
        lost=tuple(sorted((_lost(one, pins.get(one.id)) for one in plan.left_out), key=lambda one: one.shares)),
        last=last,
        steps=here.book.steps(),
    )


def _line(row: PlannedInput, plan: Plan, pinned: bool, changed: bool) -> InputLine:
    taken = taken_words(row)
    worst = [hit.severity for hit in plan.hit if hit.input == row.id and hit.severity != "note"]
    return InputLine(
        id=row.id,
        strip=strip_of(row),
        taken=taken.words,
        tag=taken.tag,
        stand=row.stand.item if row.stand else "",
        run=run_words(row.cable),
        socket=f"{row.box} {row.socket}",
        channel=str(row.channel),
        phantom="48 V" if row.phantom else "",
        gain=reading(row.gain, sign=True, said_above=row.gain.sure) if row.preamp_channel else "–",
        reserve=reading(row.reserve, said_above=row.reserve.sure),
        pinned=pinned,
        changed=changed,
        trouble=min(worst, key=("stop", "warn").index) if worst else "",
        possible=row.status == "possible",
    )


def _thread(row: PlannedInput, plan: Plan, kit: Kit, pin: Pin, explained: bool) -> Thread:
    hits = tuple(hit for hit in plan.hit if hit.input == row.id)
    return Thread(
        id=row.id,
        label=row.label,
        stations=tuple(stations(row, hits)),
        reason=row.reason,
        next_best=row.next_best,
        aiming=row.aiming.says if row.aiming else (),
        waiting=not explained,
        figures=tuple(_figures(row)),
        troubles=hits,
        choices=_choices(plan, kit, pin),
    )


def stations(row: PlannedInput, hits: tuple[Hit, ...]) -> Iterator[Station]:
    """Lay out the thread of an input, hop by hop."""
    leads = {lead.tag: lead for lead in (*row.lead, *row.cable)}
    for hop in row.thread:
        lead = leads.get(hop.tag)
        here = [hit.severity for hit in hits if hit.hop and hit.hop in (hop.tag, hop.name)]
        yield Station(
            kind=hop.kind,
            name=cable_words(lead) if lead else hop.name,
            tag=hop.tag,
            detail="" if lead else hop.detail,
            shades=(lead.colour,) if lead and lead.colour else (),
            fails=min(here, key=("stop", "warn", "note").index) if here else "",
        )


def _figures(row: PlannedInput) -> Iterator[FigureRow]:
    for name, working in (
        ("Level at the mic", row.spl),
        ("Level at the preamp", row.level),
        ("Gain", row.gain),
        ("In hand", row.reserve),
        ("Noise", row.noise),
        ("Own sound over spill", row.spill),
        ("Turned, it gains", row.aiming.turn if row.aiming else None),
        ("The pair takes in", row.aiming.covers if row.aiming else None),
        ("Run", row.run.needed),
    ):
        if working is not None:
            yield figure_row(name, working, 1)


def _choices(plan: Plan, kit: Kit, pin: Pin) -> Choices:
    units = [(tag, thing.item) for thing in (*kit.mic, *kit.di) for tag in thing.good_tags]
    stands = [(tag, thing.item) for thing in kit.stand for tag in thing.good_tags]
    boxes = [(tag, thing.item) for thing in (*kit.box, *kit.trunk) for tag in thing.good_tags]
    return Choices(pin, tuple(units), tuple(stands), tuple(boxes), plan.channels)


def _lost(row: LeftOut, pin: Pin | None) -> LostLine:
    kept_out = pin is not None and pin.keep is False
    return LostLine(row.id, left_out_strip(row), row.importance, row.blocks, row.cure, bool(row.shares), kept_out)


@router.post("/inputs/{id}/pin")
def pin(
    here: TheShow,
    editor: Editing,
    id: str,
    use: Annotated[str, Form(max_length=200)] = "",
    stand: Annotated[str, Form(max_length=200)] = "",
    box: Annotated[str, Form(max_length=200)] = "",
    channel: Annotated[str, Form(max_length=4)] = "",
    keep: Annotated[str, Form(max_length=5)] = "",
) -> RedirectResponse:
    """Decide by hand what an input uses; a blank leaves it to the program."""
    read, _ = here.book.documents()
    label = _label(here, id)
    show = pin_input(read.show, id, use=use, stand=stand, box=box, channel=channel, keep=keep)
    here.book.save(f"{label}: decided by hand.", show=show)
    return here.to(f"inputs?open={quote(id)}")


@router.post("/inputs/{id}/move")
def move(here: TheShow, editor: Editing, id: str, number: Annotated[int, Form(ge=1, le=512)]) -> RedirectResponse:
    """Give an input another number; whoever had it takes the one that is free now."""
    now = here.book.open()
    here.book.save(f"{_label(here, id)}: number {number}.", show=move_input(now.read.show, now.plan, id, number))
    return here.to("inputs")


@router.post("/inputs/{id}/keep")
def keep(here: TheShow, editor: Editing, id: str, keep: Annotated[str, Form(max_length=5)] = "") -> RedirectResponse:
    """Keep an input whatever else goes, leave it out, or leave that to the program."""
    read, _ = here.book.documents()
    says = {"yes": "kept whatever else goes", "no": "left out"}.get(keep, "left to the program")
    here.book.save(f"{_label(here, id)}: {says}.", show=set_kept(read.show, id, keep))
    return here.to("inputs")


@router.post("/undo")
def undo(here: TheShow, editor: Editing) -> Response:
    """Go one step back."""
    steps = here.book.steps()
    if steps.back:
        here.book.go_to(steps.back.number, "The last change was taken back.")
    return here.to("inputs")


@router.post("/redo")
def redo(here: TheShow, editor: Editing) -> Response:
    """Do again what was taken back."""
    steps = here.book.steps()
    if steps.forward:
        here.book.go_to(steps.forward.number, "What was taken back was done again.")
    return here.to("inputs")


@router.get("/inputs/explained")
def explained(
    here: TheShow,
    digest: Annotated[str, Query(max_length=64)] = "",
    open: Annotated[str, Query(max_length=200)] = "",
) -> Response:
    """Give the list with its reasons once they are known; nothing until then."""
    read, _ = here.book.documents()
    if digest == read.digest and not here.book.explained(digest):
        return Response(status_code=204)
    return html("inputs.html", inputs_page(here, here.book.open(), open))


def _label(here: TheShow, id: str) -> str:
    plan = here.book.open().plan
    labels = {lost.id: lost.label for lost in plan.left_out} | {row.id: row.label for row in plan.input}
    return labels.get(id, id)
