"""The kit: what there is, and taking it in from a spreadsheet after a look at what each row becomes."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, File, Form, Query, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Editing
from fieldfare.desk.faultlines import FaultLine, lines_of
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html
from fieldfare.show.kit import Kit, Thing
from fieldfare.show.toml import SPREADSHEETS, read_kit
from fieldfare.show.write_toml import short_tags
from fieldfare.units.faults import Fault

router = APIRouter(prefix="/shows/{key}")
ENDINGS = (*SPREADSHEETS, ".toml")


@dataclass(frozen=True, slots=True)
class ThingLine:
    """One entry of the kit."""

    kind: str
    item: str
    count: int
    tags: str
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


def _lines(of: Kit) -> Iterator[ThingLine]:
    for name in type(of).model_fields:
        for thing in getattr(of, name) if name not in ("owner_name", "length_colours", "bin") else ():
            yield _line(name, thing)


def _line(kind: str, thing: Thing) -> ThingLine:
    return ThingLine(
        kind=kind,
        item=thing.item,
        count=len(thing.tags),
        tags=", ".join(one.replace("..", " to ") for one in short_tags(thing.tags)),
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
