"""The track sheet for whoever mixes: what each track is, by what it was heard and where, and what was found in it.

Delays are those of the stage drawing, how long the sound of each source is on its way to a microphone that hears many;
and those that were measured, where somebody did that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.language import Language, said, worded
from fieldfare.sheets.measured import MeasuredLine, measured_lines
from fieldfare.sheets.strips import Strip, strip_of
from fieldfare.sheets.typeset import typeset
from fieldfare.sheets.wording import length, where_words
from fieldfare.show.alignment import Alignment
from fieldfare.show.drawn import role_of
from fieldfare.show.findings import Finding, TakeReport
from fieldfare.show.plan import PlannedInput
from fieldfare.show.songs import SongBook
from fieldfare.units.clock import clock, sample_clock
from fieldfare.units.text import figure

_FAR = ("overhead", "room")


@dataclass(frozen=True, slots=True)
class HeardBy:
    """By what an input is heard: a piece of gear as the kit calls it, and what more is said of it."""

    item: str
    more: str


@dataclass(frozen=True, slots=True)
class FoundLine:
    """What was found, with its place on the clock of the take where it has one."""

    what: str
    at: str
    says: str


@dataclass(frozen=True, slots=True)
class TrackLine:
    """One track."""

    strip: Strip
    heard_by: HeardBy
    where: str
    notes: tuple[str, ...]
    measured: tuple[MeasuredLine, ...]
    found: tuple[FoundLine, ...]


@dataclass(frozen=True, slots=True)
class SongLine:
    """One song on the take's axis."""

    title: str
    take: str
    start: str
    long: str
    tempo: str


@dataclass(frozen=True, slots=True)
class TrackSheet:
    """Everything on the sheet."""

    head: Head
    facts: tuple[tuple[str, str], ...]
    tracks: tuple[TrackLine, ...]
    songs: tuple[SongLine, ...]
    elsewhere: tuple[FoundLine, ...]  # findings that belong to no track of the plan
    was_checked: bool


def track_sheet_pdf(
    setting: Setting,
    names: frozenset[str] = frozenset(),
    takes: Sequence[TakeReport] = (),
    songs: SongBook | None = None,
    measured: Alignment | None = None,
) -> bytes:
    """Set the track sheet as PDF.

    Parameters
    ----------
    setting
        The plan and what all sheets of a printing share.
    names
        What is a name in the kit and the show.
    takes, songs, measured
        As `track_sheet` takes them.

    Raises
    ------
    NotDone
        It could not be set.
    """
    called = {take.take for take in takes}
    called |= {take.take for take in songs.take} if songs else set()
    called |= {take.take for take in measured.take} if measured else set()
    sheet = track_sheet(setting, takes, songs, measured)
    return typeset("track-sheet", sheet, setting.printed, setting.language, names | called)


def track_sheet(
    setting: Setting,
    takes: Sequence[TakeReport] = (),
    songs: SongBook | None = None,
    measured: Alignment | None = None,
) -> TrackSheet:
    """Make the data of the track sheet.

    Parameters
    ----------
    setting
        The plan and what all sheets of a printing share.
    takes
        What was found in the recordings, where they were checked.
    songs
        Where the songs lie, where they were found.
    measured
        Delays and polarity, where they were measured.
    """
    plan = setting.plan
    labels = {row.label for row in plan.input}
    worth = [(take, one) for take in takes for one in take.finding if one.severity != "note"]
    return TrackSheet(
        head=setting.head("track sheet"),
        facts=tuple(_facts(setting, takes, measured)),
        tracks=tuple(_line(row, setting, worth, measured) for row in plan.input),
        songs=tuple(song_lines(songs)) if songs else (),
        elsewhere=tuple(_found(take, one) for take, one in worth if one.track not in labels),
        was_checked=bool(takes),
    )


def _facts(setting: Setting, takes: Sequence[TakeReport], measured: Alignment | None) -> Iterator[tuple[str, str]]:
    plan = setting.plan
    yield "Rate and depth", f"{plan.rate_hz / 1000:g} kHz, {plan.bits} bit; as recorded, nothing processed"
    yield "Tracks", str(len(plan.input))
    for take in takes:
        yield take.take, f"{clock(take.length_s)} at {take.rate_hz / 1000:g} kHz" if take.rate_hz else "–"
    yield (
        "Time and polarity",
        ("measured, told with each track; no shift is applied" if measured else "not measured when this was printed"),
    )
    yield "Recorded by", setting.show.recordist or "not said"
    yield "Sides", "Right and left are the performers', who face the audience"


def _line(
    row: PlannedInput, setting: Setting, worth: Sequence[tuple[TakeReport, Finding]], measured: Alignment | None
) -> TrackLine:
    return TrackLine(
        strip=strip_of(row, setting.units),
        heard_by=_heard_by(row),
        where=_where(row, setting),
        notes=tuple(_notes(row, setting)),
        measured=tuple(measured_lines(measured, row.label)) if measured else (),
        found=tuple(_found(take, one) for take, one in worth if one.track == row.label),
    )


def _heard_by(row: PlannedInput) -> HeardBy:
    if row.unit is None:
        return HeardBy("", "house microphone, split" if row.taking == "split" else "line output")
    pattern = row.pattern if row.pattern and row.pattern not in row.unit.item else ""
    return HeardBy(f"{row.unit.item} {row.unit.tag}", pattern)


def heard_by(row: PlannedInput, language: Language = "en") -> str:
    """Say by what an input is heard: microphone and pattern, DI, split or line."""
    heard = _heard_by(row)
    return ", ".join(part for part in (heard.item, said(heard.more, language)) if part)


def _where(row: PlannedInput, setting: Setting) -> str:
    if row.taking not in ("mic", "split"):
        return ""
    x, y, z = row.at
    above = f", {length(z, setting.units)} above the stage" if z >= 0 else ""
    return where_words((x, y), setting.venue.stage) + above


def _notes(row: PlannedInput, setting: Setting) -> Iterator[str]:
    if row.flip:
        yield "polarity is expected to be reversed"
    if row.pair:
        other = next((one for one in setting.plan.input if one.id == row.pair), None)
        if other:
            yield f"pair with {other.number} {other.label}"
    if row.shared_by:
        yield "used by two sources of one player in turn"
    if row.pad_db:
        yield f"pad {figure(row.pad_db)} dB"
    if row.status == "possible":
        yield "was only possible when this was planned"
    if role_of(row.recipe) in _FAR or role_of(row.label) in _FAR:
        delays = [one.delay_ms for one in setting.plan.spill if one.input == row.id]
        if delays:
            yield f"sound is {figure(min(delays), 1)} to {figure(max(delays), 1)} ms on its way, by the drawing"


def _found(take: TakeReport, finding: Finding) -> FoundLine:
    if finding.start is None:
        return FoundLine(finding.kind, "", finding.says)
    more = f" and {finding.count - 1} more" if finding.count > 1 else ""
    return FoundLine(finding.kind, f"{sample_clock(finding.start, take.rate_hz)}{more}", finding.says)


def found_words(take: TakeReport, finding: Finding, language: Language = "en") -> str:
    """Write a finding with its place on the clock of the take."""
    found = _found(take, finding)
    at = f" {worded('at {x}', language, x=said(found.at, language))}" if found.at else ""
    return f"{said(found.what, language)}{at}: {said(found.says, language)}"


def song_lines(book: SongBook) -> Iterator[SongLine]:
    """Write the songs that are kept, in their order."""
    for take in book.take:
        for song in sorted((one for one in take.song if one.keep), key=lambda one: one.start):
            yield SongLine(
                title=song.title,
                take=take.take,
                start=sample_clock(song.start, take.rate_hz),
                long=clock((song.end - song.start) / take.rate_hz),
                tempo=f"{figure(song.tempo_bpm)} beats a minute" if song.tempo_bpm else "",
            )
