"""The kit: what there is, and taking it in from a spreadsheet after a look at what each row becomes."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, File, Form, Query, UploadFile
from fastapi import Path as PathPart
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.book import Book
from fieldfare.desk.desk import Editing, Missing
from fieldfare.desk.faultlines import FaultLine, lines_of
from fieldfare.desk.frame import Frame
from fieldfare.desk.library import find_shows
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html
from fieldfare.sheets.wording import day
from fieldfare.show.kit import Kit, Thing
from fieldfare.show.plan import PlannedInput
from fieldfare.show.toml import SPREADSHEETS, read_kit
from fieldfare.show.write_toml import short_tags
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure

router = APIRouter(prefix="/shows/{key}")
ENDINGS = (*SPREADSHEETS, ".toml")


@dataclass(frozen=True, slots=True)
class ThingLine:
    """One entry of the kit."""

    kind: str
    item: str
    count: int
    tags: str
    units: tuple[str, ...]
    owner: str
    bin: str
    faulty: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Preview:
    """A file that was sent, as it would be read."""

    name: str
    token: str
    lines: tuple[ThingLine, ...]
    faults: tuple[FaultLine, ...]


@dataclass(frozen=True, slots=True)
class UnitDone:
    """What happened with a unit at one show."""

    key: str
    title: str
    date: str
    sorts: str
    planned: str  # what it does there by the plan, where that has been made
    events: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class UnitPage:
    """One unit with its history."""

    frame: Frame
    tag: str
    item: str
    says: tuple[tuple[str, str], ...]  # what the kit says of it
    faulty: str
    done: tuple[UnitDone, ...]


@dataclass(frozen=True, slots=True)
class KitPage:
    """The kit."""

    frame: Frame
    files: tuple[str, ...]
    lines: tuple[ThingLine, ...]
    units: int
    asked: str
    preview: Preview | None


@router.get("/kit")
def kit(here: TheShow, find: Annotated[str, Query(max_length=200)] = "") -> HTMLResponse:
    """Show the kit, or what of it holds the words that were looked for."""
    return html("kit.html", _page(here, find, None))


@router.get("/kit/units/{tag}")
def unit(here: TheShow, tag: Annotated[str, PathPart(max_length=200)]) -> HTMLResponse:
    """Show one unit: what the kit says of it, and what happened with it at every show that has it."""
    now = here.book.open()
    found = next(((kind, thing) for kind, thing in _things(now.read.kit) if tag in thing.tags), None)
    if found is None:
        raise Missing("there is no such unit in the kit", tag[:60], "the page of the kit has them all")
    kind, thing = found
    return html(
        "unit.html",
        UnitPage(
            frame=here.frame("kit", f"kit, {tag}", now),
            tag=tag,
            item=thing.item,
            says=tuple(_said(kind, thing, tag)),
            faulty=thing.faulty.get(tag, ""),
            done=tuple(sorted(_done(here, tag, thing.item), key=lambda one: one.sorts, reverse=True)),
        ),
    )


def _said(kind: str, thing: Thing, tag: str) -> Iterator[tuple[str, str]]:
    yield "Kind", kind
    yield "Owner", thing.owner
    for name, said in (
        ("Bin", thing.bin),
        ("Serial number", thing.serials.get(tag, "")),
        ("Value", figure(thing.value_each, 2) if thing.value_each is not None else ""),
        ("Weight", f"{figure(thing.weight_kg, 2)} kg" if thing.weight_kg is not None else ""),
        ("Comes with", ", ".join(thing.comes_with)),
        ("Note", thing.note),
    ):
        if said:
            yield name, said


def _done(here: TheShow, tag: str, item: str) -> Iterator[UnitDone]:
    """Look through every show of the desk that has the unit; one that cannot be read is left out."""
    for listed in find_shows(here.desk.settings.root):
        book = here.desk.book(listed.key)
        try:
            read, _ = book.documents()
        except Fault:
            continue
        if any(tag in thing.tags and thing.item == item for _, thing in _things(read.kit)):
            plan = here.desk.planner.made(read.digest)
            roles = [row.label for row in plan.input if tag in _used(row)] if plan else []
            yield UnitDone(
                key=listed.key,
                title=read.show.title,
                date=day(read.show.date),
                sorts=read.show.date.isoformat(),
                planned=", ".join(roles),
                events=tuple(_told(book, tag, read.venue.zone)),
            )


def _used(row: PlannedInput) -> tuple[str, ...]:
    own = (row.unit.tag if row.unit else "", row.stand.tag if row.stand else "", row.box, row.preamp)
    return (*own, *(lead.tag for lead in (*row.lead, *row.cable)))


def _told(book: Book, tag: str, zone: str) -> Iterator[str]:
    words = {"packed": "counted out", "back": "counted back", "faulty": "faulty", "note": "noted", "open": "taken back"}
    for kept in book.events():
        event = kept.event
        if event.about == tag or f"{tag} is out of use" in event.text:
            at = event.at.astimezone(ZoneInfo(zone))
            yield f"{at:%d %B, %H:%M}: {event.text or words.get(event.kind, event.kind)} ({event.device})"


def _page(here: TheShow, find: str, preview: Preview | None) -> KitPage:
    now = here.book.open()
    words = find.casefold().split()
    lines = tuple(_lines(now.read.kit))
    kept = [
        one for one in lines if all(word in f"{one.kind} {one.item} {one.tags} {one.bin}".casefold() for word in words)
    ]
    return KitPage(
        frame=here.frame("kit", "kit", now),
        files=now.read.show.kit,
        lines=tuple(kept),
        units=sum(one.count for one in kept),
        asked=find,
        preview=preview,
    )


def _things(of: Kit) -> Iterator[tuple[str, Thing]]:
    for name in type(of).model_fields:
        for thing in getattr(of, name) if name not in ("owner_name", "length_colours", "bin") else ():
            yield name, thing


def _lines(of: Kit) -> Iterator[ThingLine]:
    for name, thing in _things(of):
        yield _line(name, thing)


def _line(kind: str, thing: Thing) -> ThingLine:
    return ThingLine(
        kind=kind,
        item=thing.item,
        count=len(thing.tags),
        tags=", ".join(one.replace("..", " to ") for one in short_tags(thing.tags)),
        units=tuple(thing.tags),
        owner="" if thing.owner == "ours" else thing.owner,
        bin=thing.bin,
        faulty=tuple(f"{tag}: {symptom}" for tag, symptom in thing.faulty.items()),
    )


@router.post("/kit/preview")
def preview(here: TheShow, editor: Editing, file: Annotated[UploadFile, File()]) -> HTMLResponse:
    """Show what each row of a file becomes; nothing is kept yet."""
    token, upload = here.desk.uploads.keep(file.filename or "", file.file.read(), ENDINGS)
    lines: tuple[ThingLine, ...] = ()
    faults: tuple[FaultLine, ...] = ()
    with tempfile.TemporaryDirectory(prefix="fieldfare-") as folder:
        path = Path(folder) / upload.name
        path.write_bytes(upload.content)
        try:
            lines = tuple(_lines(read_kit(path)))
        except Fault as fault:
            faults = tuple(lines_of(fault))
    return html("kit.html", _page(here, "", Preview(upload.name, token, lines, faults)))


@router.post("/kit/import")
def take_in(
    here: TheShow,
    editor: Editing,
    token: Annotated[str, Form(max_length=60)],
    how: Annotated[str, Form(max_length=8)] = "",
) -> RedirectResponse:
    """Use a file that was looked at, beside the kit or instead of it."""
    upload = here.desk.uploads.fetch(token)
    here.book.add_kit(upload.name, upload.content, instead=how == "instead")
    return here.to("kit")
