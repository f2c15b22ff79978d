"""Delays, polarity and labels: what was measured against the drawing, and what a person accepts of what is offered."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import HTMLResponse, RedirectResponse

from fieldfare.desk.desk import Editing, Local
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.pages.jobs import JobView, begin_job, job_view
from fieldfare.desk.render import html
from fieldfare.show.alignment import OWN_SOURCE, Alignment, PairDelay, Shift, TakeAlignment
from fieldfare.takes.alignment.kept import keep_alignment, kept_alignment
from fieldfare.takes.offload.kept import copies_name, kept_report
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure, slug

router = APIRouter(prefix="/shows/{key}")


@dataclass(frozen=True, slots=True)
class PairLine:
    """One delay."""

    a: str
    b: str
    delay: str
    drawn: str
    turned: bool
    sure: str


@dataclass(frozen=True, slots=True)
class ShiftLine:
    """One shift that is offered."""

    shift: Shift
    says: str


@dataclass(frozen=True, slots=True)
class TimedTake:
    """One take as measured."""

    number: int
    take: TakeAlignment
    pairs: tuple[PairLine, ...]
    shifts: tuple[ShiftLine, ...]
    offer: str  # a mark of them
    folder: str  # a name for the new files


@dataclass(frozen=True, slots=True)
class TimingPage:
    """Time and polarity."""

    frame: Frame
    offloaded: bool
    takes: tuple[TimedTake, ...]
    measuring: JobView | None
    shifting: JobView | None
    local: bool


@router.get("/timing")
def timing(here: TheShow) -> HTMLResponse:
    """Show what was measured, and what is offered."""
    now = here.book.open()
    report, measured = kept_report(here.book.folder), kept_alignment(here.book.folder)
    place = Path(report.destination[0]) if report and report.destination else Path()
    name = copies_name(now.plan)
    return html(
        "timing.html",
        TimingPage(
            frame=here.frame("timing", "time and polarity", now),
            offloaded=report is not None,
            takes=tuple(
                _take(number, one, str(place / f"{name}-{slug(one.take) or 'take'}-shifted"))
                for number, one in enumerate(measured.take if measured else ())
            ),
            measuring=job_view(here, "timing"),
            shifting=job_view(here, "shift"),
            local=here.session.local,
        ),
    )


def _take(number: int, take: TakeAlignment, folder: str) -> TimedTake:
    resting = [{one.track, one.against} for one in take.shift]
    pairs = [one for one in take.pair if one.kind in OWN_SOURCE or {one.a, one.b} in resting]
    shifts = tuple(ShiftLine(one, _says(one, take.rate_hz)) for one in take.shift)
    return TimedTake(number, take, tuple(_pair(one) for one in pairs), shifts, offer_of(take), folder)


def _pair(pair: PairDelay) -> PairLine:
    return PairLine(
        a=pair.a,
        b=pair.b,
        delay=figure(pair.delay_ms, 2, sign=True),
        drawn=""
        if pair.drawn is None
        else figure(pair.drawn * pair.delay_ms / pair.delay, 2, sign=True)
        if pair.delay
        else "",
        turned=pair.polarity < 0,
        sure=figure(100 * pair.confidence),
    )


def _says(shift: Shift, rate_hz: int) -> str:
    when = "earlier" if shift.samples < 0 else "later"
    moved = f"{figure(abs(shift.samples) * 1000 / rate_hz, 2)} ms {when}" if shift.samples else ""
    return " and ".join(part for part in (moved, "turned over" if shift.flip else "") if part)


@router.post("/timing/measure")
def measure(here: TheShow, editor: Editing) -> RedirectResponse:
    """Measure delays and polarity."""
    begin_job(here, "timing", {}, "listening")
    return here.to("timing")


@router.post("/timing/accept")
def accept(
    here: TheShow,
    editor: Editing,
    take: Annotated[int, Form(ge=0, le=10_000)],
    offer: Annotated[str, Form(max_length=16)],
    track: Annotated[list[str], Form(max_length=512)] = [],  # noqa: B006  (FastAPI copies it)
    was: Annotated[list[str], Form(max_length=512)] = [],  # noqa: B006
) -> RedirectResponse:
    """Accept shifts that are offered for a take, or no longer: those whose tick was changed; nothing is written yet."""
    measured = _measured(here, take)
    of = measured.take[take]
    if offer != offer_of(of):
        what = "the takes were measured again meanwhile: other shifts are offered now"
        raise Fault(what, of.take, "load the page again, look at what is offered, then accept it")
    turned = set(track) ^ set(was)
    shifts = tuple(
        one.model_copy(update={"apply": one.track in track}) if one.track in turned else one for one in of.shift
    )
    takes = list(measured.take)
    takes[take] = takes[take].model_copy(update={"shift": shifts})
    keep_alignment(here.book.folder, measured.model_copy(update={"take": tuple(takes)}))
    return here.to("timing")


def offer_of(take: TakeAlignment) -> str:
    """Return a mark of the shifts that are offered for a take, accepted or not."""
    said = repr([(one.track, one.samples, one.flip) for one in take.shift])
    return sha256(f"{take.take} {said}".encode()).hexdigest()[:16]


@router.post("/timing/write")
def write(
    here: TheShow,
    local: Local,
    take: Annotated[int, Form(ge=0, le=10_000)],
    folder: Annotated[str, Form(max_length=1000)] = "",
) -> RedirectResponse:
    """Write what was accepted into new files; the recordings are only read."""
    if not folder.strip():
        raise Fault("no folder is named", "writing", "name a new folder for the shifted tracks")
    asks = {"take": _measured(here, take).take[take].take, "folder": folder.strip()}
    begin_job(here, "shift", {**asks}, "writing")
    return here.to("timing")


def _measured(here: TheShow, take: int) -> Alignment:
    measured = kept_alignment(here.book.folder)
    if measured is None or take >= len(measured.take):
        raise Fault("there is no such take", f"take {take + 1}", "measure the takes first")
    return measured
