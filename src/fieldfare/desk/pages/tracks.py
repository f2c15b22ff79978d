"""What was found in the tracks, to hear and to see."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import HTMLResponse, Response
from markupsafe import Markup

from fieldfare.desk.book import Open
from fieldfare.desk.desk import Missing
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html, svg
from fieldfare.sheets.drawing.plot import sound_plot
from fieldfare.sheets.strips import Strip, strip_of
from fieldfare.show.findings import Finding, TakeReport, TrackMeasure
from fieldfare.show.plan import Plan
from fieldfare.takes.excerpt import Excerpt, as_wav, excerpt, outline
from fieldfare.takes.offload.kept import copies_of, kept_report
from fieldfare.units.clock import clock, sample_clock
from fieldfare.units.text import figure

router = APIRouter(prefix="/shows/{key}")
COLUMNS = 640


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
        length=f"{len(report.track)} tracks, {clock(report.length_s)}",
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
