"""The track check on paper: a page a take, a strip a track, and every finding at its place in time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldfare.sheets.axis import Tick, time_ticks
from fieldfare.sheets.closeups import CloseUpPlot, closeup_plots
from fieldfare.sheets.drawing.levels import Span, level_shapes
from fieldfare.sheets.head import Head, Printing, counted
from fieldfare.sheets.strips import Strip, strip_of
from fieldfare.sheets.threads import GRAVITY
from fieldfare.sheets.typeset import set_sheet
from fieldfare.sheets.write import put_all
from fieldfare.show.findings import Finding, TakeReport, TrackMeasure
from fieldfare.show.plan import Plan
from fieldfare.takes.closeup import CloseUp
from fieldfare.units.clock import clock, sample_clock
from fieldfare.units.text import figure, listed

AXIS_TICKS = 5
WORDS = {"stop": "stop", "warn": "warning", "note": "note"}


@dataclass(frozen=True, slots=True)
class Place:
    """Where something was found, 0 to 1 along the take, with the number of its finding."""

    start: float
    end: float
    finding: str
    severity: str


@dataclass(frozen=True, slots=True)
class TrackRow:
    """One track."""

    strip: Strip
    file: str
    places: tuple[Place, ...]
    plot: str  # level over time: SVG shapes, 1000 by 60; blank where there is no track
    length: float  # 0 to 1 of the take
    peak: str
    loud: str
    floor: str
    verdict: str
    severity: str


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One finding in words."""

    number: str
    severity: str
    track: str
    what: str
    at: str
    says: str
    sounds: str
    remedy: str
    sure: str


@dataclass(frozen=True, slots=True)
class TakePage:
    """Everything on one take's page."""

    take: str
    summary: str
    detail: str
    axis: tuple[Tick, ...]
    tracks: tuple[TrackRow, ...]
    findings: tuple[FindingRow, ...]
    closeups: tuple[CloseUpPlot, ...]
    not_known: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TakesSheet:
    """The whole report."""

    head: Head
    pages: tuple[TakePage, ...]


def write_takes(
    reports: Sequence[TakeReport],
    folder: Path,
    printing: Printing,
    shown: Mapping[str, Sequence[CloseUp]] | None = None,
) -> tuple[Path, ...]:
    """Write the track check of some takes as one PDF, each take from a new page on.

    Parameters
    ----------
    reports
        The takes, checked.
    folder
        Where the PDF goes; made if it is not there.
    printing
        Paper, time and language, and the show that they belong to.
    shown
        The sound around the gravest findings, by take; see `takes.closeup`.

    Raises
    ------
    NotDone
        The sheet could not be set, or the folder cannot be written to; nothing was changed.
    """
    sheet = takes_sheet(reports, printing, shown)
    return put_all({"track-check.pdf": set_sheet("takes", sheet, printing, names_of(reports))}, folder)


def names_of(reports: Sequence[TakeReport]) -> frozenset[str]:
    """Return every name of a take, a track or a file."""
    files = (one.path for report in reports for one in report.file)
    labels = (name for report in reports for one in report.track for name in (one.label, one.file))
    found = (name for report in reports for one in report.finding for name in (one.track, one.file))
    return frozenset((*files, *labels, *found, *(report.take for report in reports)))


def takes_sheet(
    reports: Sequence[TakeReport], printing: Printing, shown: Mapping[str, Sequence[CloseUp]] | None = None
) -> TakesSheet:
    """Make the data of the whole report: the same for paper and for the screen."""
    title = next((report.show for report in reports if report.show), "")
    head = printing.head("track check", counted(len(reports), "take", printing.language), title)
    pages = (take_page(report, printing.plan, (shown or {}).get(report.take, ())) for report in reports)
    return TakesSheet(head, tuple(pages))


def take_page(report: TakeReport, plan: Plan | None = None, shown: Sequence[CloseUp] = ()) -> TakePage:
    """Make the data of one take's page."""
    findings = sorted(report.finding, key=lambda one: (GRAVITY.index(one.severity), one.start or 0, one.track))
    numbered = [(str(number), one) for number, one in enumerate(findings, 1)]
    counts = Counter(one.severity for one in findings)
    parts = [counted(counts[one], WORDS[one]) for one in GRAVITY if counts[one]]
    bits = sorted({track.bits for track in report.track})
    facts = [f"{figure(report.rate_hz / 1000, 1 if report.rate_hz % 1000 else 0)} kHz"] if report.rate_hz else []
    if bits:
        facts.append(f"{listed(str(one) for one in bits)} bit")
    return TakePage(
        take=report.take,
        summary=f"{counted(len(report.track), 'track')}, {_length(report)}: {listed(parts) or 'nothing found'}",
        detail=", ".join([*facts, counted(len(report.file), "file")]),
        axis=time_ticks(report.length_s, AXIS_TICKS),
        tracks=(*_tracks(report, numbered, plan), *_lost(report, numbered)),
        findings=tuple(_finding(number, one, report.rate_hz) for number, one in numbered),
        closeups=tuple(closeup_plots(shown, {id(one): number for number, one in numbered})),
        not_known=report.not_known,
    )


def _length(report: TakeReport) -> str:
    return clock(report.length_s)


def _tracks(report: TakeReport, numbered: list[tuple[str, Finding]], plan: Plan | None) -> Iterator[TrackRow]:
    planned = {row.id: row for row in plan.input} if plan else {}
    order = sorted(report.track, key=lambda one: (one.number is None, one.number or 0, one.file, one.channel))
    for track in order:
        own = [(number, one) for number, one in numbered if _about(one, track)]
        row = planned.get(track.input)
        strip = strip_of(row) if row else Strip(str(track.number) if track.number else "–", track.label)
        worst = min((one.severity for _, one in own), key=GRAVITY.index, default="")
        places = tuple(_places(own, report.frames))
        spans = [Span(one.start, one.end, one.severity) for one in places]
        yield TrackRow(
            strip=strip,
            file=track.file if report.track and track.file != track.label else "",
            places=places,
            plot=level_shapes(track.course, report.frames, spans),
            length=round(min(1.0, track.frames / report.frames), 6) if report.frames else 0.0,
            peak=_level(track.peak_dbfs),
            loud=_level(track.loud_dbfs),
            floor=_level(track.floor_dbfs),
            verdict=listed(dict.fromkeys(one.kind for _, one in own)) or "nothing found",
            severity=worst,
        )


def _about(finding: Finding, track: TrackMeasure) -> bool:
    """Tell whether a finding is about a track: by its label, or by its file where that holds one track alone."""
    if finding.track:
        return finding.track == track.label
    return bool(finding.file) and finding.file == track.file


def _places(own: list[tuple[str, Finding]], frames: int) -> Iterator[Place]:
    if frames <= 0:
        return
    for number, one in own:
        spans = one.places or (((one.start, one.end or one.start),) if one.start is not None else ())
        for start, end in spans:
            first, last = (round(min(1.0, max(0.0, at / frames)), 6) for at in (start, end))
            yield Place(first, max(first, last), number, one.severity)


def _lost(report: TakeReport, numbered: list[tuple[str, Finding]]) -> Iterator[TrackRow]:
    """Give a dashed strip to each track that something was found about and that is not there."""
    there = {track.label for track in report.track}
    for label in dict.fromkeys(one.track for _, one in numbered if one.track and one.track not in there):
        own = [one for _, one in numbered if one.track == label]
        worst = min((one.severity for one in own), key=GRAVITY.index)
        kinds = listed(dict.fromkeys(one.kind for one in own))
        yield TrackRow(Strip("–", label, left_out=True), "", (), "", 0.0, "", "", "", kinds, worst)


def _level(level_dbfs: float | None) -> str:
    return "silent" if level_dbfs is None else figure(level_dbfs, 1)


def _finding(number: str, one: Finding, rate_hz: int) -> FindingRow:
    if one.start is None:
        at = "whole take"
    else:
        at = sample_clock(one.start, rate_hz)
        if one.count > 1:
            at += f" and {one.count - 1} more"
    return FindingRow(
        number, one.severity, one.track or one.file or "the take", one.kind, at, one.says, one.sounds, one.remedy,
        f"{figure(100 * one.confidence)} %",
    )  # fmt: skip
