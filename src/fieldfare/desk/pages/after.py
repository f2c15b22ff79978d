"""The day after: offload as work that goes on by itself, and what was found in the tracks, to hear and to see."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup

from fieldfare.desk.book import Open
from fieldfare.desk.desk import Editing, Local, Missing
from fieldfare.desk.frame import Frame
from fieldfare.desk.jobs import Job, Tell
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html, svg
from fieldfare.sheets.drawing.plot import sound_plot
from fieldfare.sheets.strips import Strip, strip_of
from fieldfare.show.findings import Finding, OffloadReport, TakeReport, TrackMeasure
from fieldfare.show.plan import Plan
from fieldfare.takes.excerpt import Excerpt, as_wav, excerpt, outline
from fieldfare.takes.offload.kept import TAKES, copies_of, kept_report
from fieldfare.units.clock import clock, sample_clock
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure, listed

router = APIRouter(prefix="/shows/{key}")
JOB_FILE = "offload-job.json"
COLUMNS = 640


@dataclass(frozen=True, slots=True)
class OffloadPage:
    """Copying a card."""

    frame: Frame
    job: Job | None
    percent: int
    report: OffloadReport | None
    sizes: str
    local: bool


@dataclass(frozen=True, slots=True)
class TrackLine:
    """One track as measured."""

    strip: Strip
    peak: str
    loud: str
    floor: str
    worst: str


@dataclass(frozen=True, slots=True)
class FoundLine:
    """One finding."""

    number: int
    finding: Finding
    when: str
    can_hear: bool


@dataclass(frozen=True, slots=True)
class Heard:
    """The finding that is opened."""

    number: int
    plot: Markup
    span: str


@dataclass(frozen=True, slots=True)
class TakePart:
    """One take."""

    number: int
    name: str
    length: str
    tracks: tuple[TrackLine, ...]
    found: tuple[FoundLine, ...]
    not_known: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TracksPage:
    """What was found in the tracks."""

    frame: Frame
    takes: tuple[TakePart, ...]
    take: int  # of the finding that is opened
    heard: Heard | None


def _job_file(here: TheShow) -> Path:
    return here.book.folder / TAKES / JOB_FILE


@router.get("/offload")
def offload(here: TheShow) -> HTMLResponse:
    """Show how far the offload is, what lies where, and what may be wiped."""
    now = here.book.open()
    job = here.desk.jobs.look(_job_file(here))
    report = kept_report(here.book.folder)
    size = sum(file.bytes for file in report.file) if report else 0
    return html(
        "offload.html",
        OffloadPage(
            frame=here.frame("offload", "offload", now),
            job=job,
            percent=round(100 * job.share) if job else 0,
            report=report,
            sizes=f"{len(report.file)} files, {figure(size / 1e9, 2)} GB" if report else "",
            local=here.session.local,
        ),
    )


@router.post("/offload")
def begin(
    here: TheShow,
    local: Local,
    card: Annotated[str, Form(max_length=1000)] = "",
    first: Annotated[str, Form(max_length=1000)] = "",
    second: Annotated[str, Form(max_length=1000)] = "",
    same_device: Annotated[str, Form(max_length=3)] = "",
) -> RedirectResponse:
    """Begin to copy a card, or go on where it was stopped. Only the laptop's own browser may name folders."""
    places = [place.strip() for place in (first, second) if place.strip()]
    if not card.strip() or not Path(card.strip()).is_dir():
        raise Fault("there is no such folder", card.strip()[:200] or "the card", "name the card, or the folder on it")
    if len(places) < 2 and not same_device:
        raise Fault("one copy is not safe", "offload", "name two folders, on different devices")
    job = Job(
        kind="offload",
        asks={"card": card.strip(), "to": places, "same_device": bool(same_device)},
        state="running",
        stage="reading the card",
    )
    here.desk.jobs.begin(_job_file(here), job, lambda tell: _copy(here.book.folder, here.book.open(), job, tell))
    return here.to("offload")


def _copy(folder: Path, now: Open, job: Job, tell: Tell) -> str:
    from fieldfare.takes.offload.checked import offload_show

    places = job.asks["to"]
    report = offload_show(
        Path(str(job.asks["card"])),
        [Path(place) for place in places] if isinstance(places, list) else [],
        folder,
        now.plan,
        float(now.read.venue.mains.frequency_hz),
        same_device=bool(job.asks["same_device"]),
        tell=lambda at: tell(at.stage, at.done_bytes / max(1, at.total_bytes)),
    )
    if report.complete:
        return "Two copies on different devices were read back equal."
    return f"Not safe to wipe the card: {listed(report.missing)}."


@router.post("/offload/stop")
def stop(here: TheShow, editor: Editing) -> RedirectResponse:
    """Stop the work where it is."""
    here.desk.jobs.stop(_job_file(here))
    here.desk.jobs.wait(_job_file(here), 5)
    return here.to("offload")


@router.get("/tracks")
def tracks(
    here: TheShow,
    take: Annotated[int, Query(ge=0, le=10_000)] = 0,
    open: Annotated[int, Query(ge=0, le=100_000)] = 0,
) -> HTMLResponse:
    """Show every track as measured and every finding; one of them opened, to see and to hear."""
    now = here.book.open()
    report = kept_report(here.book.folder)
    found = report.take if report else ()
    heard = None
    if open and take < len(found) and open <= len(found[take].finding):
        finding = found[take].finding[open - 1]
        heard = _heard(open, finding, _read(here, now, found[take], finding))
    return html(
        "tracks.html",
        TracksPage(
            frame=here.frame("tracks", "tracks", now),
            takes=tuple(_take(number, one, now.plan) for number, one in enumerate(found)),
            take=take,
            heard=heard,
        ),
    )


@router.get("/tracks/{take}/{number}.wav", response_class=Response)
def listen(here: TheShow, take: int, number: int) -> Response:
    """Give the sound of a finding."""
    now = here.book.open()
    report = kept_report(here.book.folder)
    if not report or not 0 <= take < len(report.take) or not 1 <= number <= len(report.take[take].finding):
        raise Missing("there is no such finding", here.key, "the page of tracks has them all")
    finding = report.take[take].finding[number - 1]
    sound = _read(here, now, report.take[take], finding)
    return Response(as_wav(sound), media_type="audio/wav")


def _read(here: TheShow, now: Open, take: TakeReport, finding: Finding) -> Excerpt:
    track = _track_of(take, finding)
    if track is None or finding.start is None:
        raise Missing("this finding has no place to listen to", finding.kind, "read what it says")
    root = copies_of(here.book.folder, now.plan)
    file = (root / track.file).resolve()
    if not file.is_relative_to(root.resolve()):
        raise Missing("this file lies outside the copies", track.file, "offload again")
    return excerpt(file, track.channel, finding.start, finding.end or finding.start + 1)


def _track_of(take: TakeReport, finding: Finding) -> TrackMeasure | None:
    return next((one for one in take.track if one.label == finding.track), None)


def _heard(number: int, finding: Finding, sound: Excerpt) -> Heard:
    begin, end = sound.first / sound.rate_hz, (sound.first + len(sound.samples)) / sound.rate_hz
    start = finding.start or 0
    marked = (start / sound.rate_hz, (finding.end or start + 1) / sound.rate_hz)
    points = [[float(low), float(high)] for low, high in outline(sound, COLUMNS)]
    span = f"{clock(begin, 1)} to {clock(end, 1)}"
    return Heard(number, svg(sound_plot(points, begin, end, marked)), span)


def _take(number: int, report: TakeReport, plan: Plan) -> TakePart:
    rows = {row.id: row for row in plan.input}
    return TakePart(
        number=number,
        name=report.take,
        length=f"{len(report.track)} tracks, {clock(report.frames / max(1, report.rate_hz))}",
        tracks=tuple(
            TrackLine(
                strip=strip_of(rows[one.input]) if one.input in rows else Strip(str(one.number or "–"), one.label),
                peak=_db(one.peak_dbfs),
                loud=_db(one.loud_dbfs),
                floor=_db(one.floor_dbfs),
                worst=_worst(report, one.label),
            )
            for one in report.track
        ),
        found=tuple(_found(report)),
        not_known=report.not_known,
    )


def _found(report: TakeReport) -> Iterator[FoundLine]:
    for number, one in enumerate(report.finding, start=1):
        when = sample_clock(one.start, report.rate_hz) if one.start is not None else ""
        yield FoundLine(number, one, when, one.start is not None and _track_of(report, one) is not None)


def _worst(report: TakeReport, label: str) -> str:
    found = [one.severity for one in report.finding if one.track == label]
    return min(found, key=("stop", "warn", "note").index) if found else ""


def _db(level_dbfs: float | None) -> str:
    return "silent" if level_dbfs is None else figure(level_dbfs, 1)
