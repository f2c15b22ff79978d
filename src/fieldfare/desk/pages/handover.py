"""Handing over: who gets what, what is still missing, and what has left the house."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePath
from tempfile import TemporaryDirectory
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from fastapi import APIRouter, File, Form, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Editing, Local
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.jobs import JobView, begin_job, job_view
from fieldfare.desk.printing import Printed, Printing
from fieldfare.desk.render import html
from fieldfare.desk.works.parcels import FOLDER, contents_of
from fieldfare.handover.consents import keep_evidence, parties, standing_consents
from fieldfare.handover.parcel import Contents, refusals, withheld
from fieldfare.handover.receivers import receivers
from fieldfare.sheets.head import Paper
from fieldfare.sheets.language import Language
from fieldfare.show.consent import USES, Consent, Use, add_consent
from fieldfare.show.receiver import Receiver
from fieldfare.units.faults import Fault
from fieldfare.units.text import file_stem

router = APIRouter(prefix="/shows/{key}")


@dataclass(frozen=True, slots=True)
class ReceiverLine:
    """One receiver, with what keeps them from getting it."""

    receiver: Receiver
    missing: tuple[str, ...]
    withheld: tuple[str, ...]  # who keeps the pictures from them


@dataclass(frozen=True, slots=True)
class Left:
    """One parcel that has left."""

    when: str
    whom: str
    says: str


@dataclass(frozen=True, slots=True)
class PartyLine:
    """Somebody who must be asked, and what they agree to."""

    name: str
    does: str
    agreed: str


@dataclass(frozen=True, slots=True)
class HandoverPage:
    """Handing over."""

    frame: Frame
    parties: tuple[PartyLine, ...]
    uses: tuple[tuple[str, str], ...]
    today: str
    lines: tuple[ReceiverLine, ...]
    trouble: str
    left: tuple[Left, ...]
    folder: str
    work: JobView | None
    local: bool
    printing: Printing


@router.get("/handover")
def handover(here: TheShow, printing: Printed) -> HTMLResponse:
    """Show who gets what, what is missing, and what has left."""
    now = here.book.open()
    zone = ZoneInfo(now.read.venue.zone)
    today = dt.datetime.now(zone).date()
    trouble = ""
    try:
        contents = contents_of(here.book, with_tracks=True)
    except Fault as fault:  # the disc with the tracks is not connected
        trouble, contents = str(fault), contents_of(here.book, with_tracks=False)
    left = [one.event for one in here.book.events() if one.event.kind == "handed over"]
    return html(
        "handover.html",
        HandoverPage(
            frame=here.frame("handover", "handover", now),
            parties=tuple(_parties(contents, today)),
            uses=tuple(USES.items()),
            today=today.isoformat(),
            lines=tuple(
                ReceiverLine(
                    one,
                    tuple(blemish.read for blemish in refusals(contents, one, today)),
                    withheld(contents, one, today),
                )
                for one in receivers(here.book.folder).values()
            ),
            trouble=trouble,
            left=tuple(Left(f"{one.at.astimezone(zone):%d %B, %H:%M}", one.about, one.text) for one in reversed(left)),
            folder=str(here.book.folder / FOLDER),
            work=job_view(here, "parcel"),
            local=here.session.local,
            printing=printing,
        ),
    )


def _parties(contents: Contents, today: dt.date) -> Iterator[PartyLine]:
    for one in parties(contents.show, contents.venue, contents.recipes, contents.consents):
        stands = standing_consents(contents.consents, one.name, today)
        yield PartyLine(one.name, one.does or one.side, ", ".join(stands))


@router.post("/handover/consent")
def agree(
    here: TheShow,
    editor: Editing,
    how: Annotated[str, Form(max_length=200)] = "",
    on: Annotated[dt.date | None, Form()] = None,
    given: Annotated[Literal["yes", "no"], Form()] = "yes",
    note: Annotated[str, Form(max_length=1000)] = "",
    who: Annotated[list[str], Form(max_length=200)] = [],  # noqa: B006  (FastAPI copies it)
    use: Annotated[list[Use], Form(max_length=10)] = [],  # noqa: B006
    evidence: Annotated[UploadFile | None, File()] = None,
) -> RedirectResponse:
    """Record what some of those who must be asked agreed to, or took back, with the paper that shows it."""
    if not who or not use or not how.strip():
        raise Fault("who, what for, and in what form are needed", "consent", "tick whom and what, and write the form")
    contents = contents_of(here.book, with_tracks=False)
    asked = {one.name: one for one in parties(contents.show, contents.venue, contents.recipes, contents.consents)}
    for name in who:
        if name not in asked:
            raise Fault("nobody is called that", name[:80], "choose from the list")
    kept, digest = _evidence(here, evidence)
    day = on or dt.datetime.now(ZoneInfo(contents.venue.zone)).date()
    for name in who:
        said = Consent(
            of=name, side=asked[name].side, given=given == "yes", uses=tuple(use), on=day, how=how.strip(),
            evidence=kept, sha256=digest, note=note.strip(),
        )  # fmt: skip
        add_consent(here.book.folder, said)
    return here.to("handover")


def _evidence(here: TheShow, evidence: UploadFile | None) -> tuple[str, str]:
    """Keep the paper that shows it in the show's folder, under its hash."""
    if evidence is None or not evidence.filename:
        return "", ""
    name = PurePath(evidence.filename.replace("\\", "/"))
    with TemporaryDirectory(prefix="fieldfare-") as folder:
        file = Path(folder) / f"{file_stem(name.stem, 'paper')}{name.suffix.lower()[:8]}"
        file.write_bytes(evidence.file.read())
        return keep_evidence(here.book.folder, file)


@router.post("/handover")
def make(
    here: TheShow,
    local: Local,
    receiver: Annotated[str, Form(max_length=200)] = "",
    folder: Annotated[str, Form(max_length=1000)] = "",
    language: Annotated[Language, Form()] = "en",
    paper: Annotated[Paper, Form()] = "a4",
) -> RedirectResponse:
    """Make a parcel for one receiver; it is refused while anybody's consent is missing."""
    place = folder.strip() or str(here.book.folder / FOLDER)
    begin_job(
        here, "parcel", {"receiver": receiver, "folder": place, "language": language, "paper": paper}, "gathering"
    )
    return here.to("handover")
