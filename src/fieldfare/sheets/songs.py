"""The songs of a night on paper: what was heard along each take, where it is cut and why, and every edge close up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fieldfare.sheets.axis import Tick, time_ticks
from fieldfare.sheets.head import Head, Printing, counted
from fieldfare.sheets.typeset import set_sheet
from fieldfare.sheets.write import put_all
from fieldfare.show.songs import NightMark, Song, TakeSongs
from fieldfare.takes.songs.activity import FRAME_S, own_tracks, smoothed
from fieldfare.takes.songs.listen import Heard
from fieldfare.takes.songs.night_songs import Night
from fieldfare.units.clock import clock
from fieldfare.units.text import figure

ROW_S = 900.0  # of a take on one line
COLUMNS = 500  # of a line
SMOOTH_S = 1.0
TICKS = 9  # steps of a line's axis
CLOSE_S = 4.0  # shown on each side of an edge
CLOSE_TRACKS = 5
CLOSE_STEP_S = 0.05
LOW_DB, HIGH_DB = -80.0, 0.0


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a line, 0 to 1 along it, with what it is; whole where both its edges are on the line."""

    start: float
    end: float
    text: str
    kind: str
    begins: bool
    ends: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """A part of a take: what was played along it, and what it was taken for."""

    length: float  # of the line's width
    ticks: tuple[Tick, ...]
    playing: tuple[tuple[float, float], ...]  # along, share of the tracks
    songs: tuple[Span, ...]
    between: tuple[Span, ...]
    first_notes: tuple[float, ...]
    marks: tuple[Tick, ...]


@dataclass(frozen=True, slots=True)
class SongRow:
    """One song in words."""

    number: str
    title: str
    start: str
    end: str
    length: str
    sure: str
    why: str


@dataclass(frozen=True, slots=True)
class Close:
    """One edge of a song close up: levels of the tracks that tell most, 0 to 1 from bottom to top."""

    says: str
    at: str
    cut: float
    first_note: float | None
    lines: tuple[tuple[tuple[float, float], ...], ...]
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TakePage:
    """One take."""

    take: str
    summary: str
    strips: tuple[Strip, ...]
    songs: tuple[SongRow, ...]
    close: tuple[Close, ...]


@dataclass(frozen=True, slots=True)
class SongSheet:
    """The whole report."""

    head: Head
    levels: tuple[Tick, ...]
    pages: tuple[TakePage, ...]
    not_played: tuple[str, ...]
    not_known: tuple[str, ...]


def write_song_sheet(night: Night, folder: Path, printing: Printing) -> tuple[Path, ...]:
    """Write what was heard and where it is cut as one PDF, each take from a new page on.

    Parameters
    ----------
    night
        The songs, and what was heard.
    folder
        Where the PDF goes; made if it is not there.
    printing
        Paper, time and language, and the show that they belong to.

    Raises
    ------
    NotDone
        The sheet could not be set, or the folder cannot be written to; nothing was changed.
    """
    return put_all({"songs.pdf": set_sheet("songs", song_sheet(night, printing), printing, _names(night))}, folder)


def _names(night: Night) -> frozenset[str]:
    """Everything on the sheet that somebody named."""
    pages = [(take, number, song.title) for take in night.book.take for number, song in enumerate(_kept(take), 1)]
    labels = (track.label for one in night.heard for track in one.axis.track)
    marks = (mark.text for mark in night.marks)
    titles = (_called(number, title) for _, number, title in pages)
    return frozenset((*labels, *marks, *titles, *night.book.not_played, *(take.take for take in night.book.take)))


def _kept(take: TakeSongs) -> list[Song]:
    return sorted((song for song in take.song if song.keep), key=lambda song: song.start)


def _called(number: int, title: str) -> str:
    return f"{number}  {title}"


def song_sheet(night: Night, printing: Printing) -> SongSheet:
    """Make the data of the sheet."""
    book = night.book
    head = printing.head("songs", counted(len(book.take), "take", printing.language), book.show)
    pages = [_page(one, take, night.marks) for one, take in zip(night.heard, book.take, strict=True)]
    levels = tuple(Tick(_height(level), figure(level)) for level in (-80.0, -60.0, -40.0, -20.0, 0.0))
    return SongSheet(head, levels, tuple(pages), book.not_played, book.not_known)


def _page(one: Heard, take: TakeSongs, marks: Sequence[NightMark]) -> TakePage:
    songs = _kept(take)
    long_s = take.frames / take.rate_hz
    rows = max(1, round(np.ceil(long_s / ROW_S)))
    width_s = long_s / rows if rows > 1 else long_s
    mine = [mark for mark in marks if mark.take == take.take]
    return TakePage(
        take=take.take,
        summary=f"{counted(len(songs), 'song')} in {clock(long_s)}",
        strips=tuple(_strip(one, take, songs, mine, row * width_s, width_s) for row in range(rows)),
        songs=tuple(_row(number, song, take.rate_hz) for number, song in enumerate(songs, 1)),
        close=tuple(close for number, song in enumerate(songs, 1) for close in _closes(one, song, number)),
    )


def _strip(
    one: Heard, take: TakeSongs, songs: Sequence[Song], marks: Sequence[NightMark], begin_s: float, width_s: float
) -> Strip:
    rate = take.rate_hz

    def along(sample: float) -> float:
        return round((sample / rate - begin_s) / width_s, 5)

    def spans(rows: Sequence[tuple[int, int, str, str]]) -> tuple[Span, ...]:
        inside = [(along(start), along(end), text, kind) for start, end, text, kind in rows]
        return tuple(
            Span(max(0.0, start), min(1.0, end), text, kind, start >= 0, end <= 1)
            for start, end, text, kind in inside
            if end > 0 and start < 1
        )

    called = [(song.start, song.end, _called(number, song.title), "song") for number, song in enumerate(songs, 1)]
    notes = [along(song.first_note) for song in songs if song.first_note is not None]
    return Strip(
        length=1.0,
        ticks=time_ticks(width_s, TICKS, begin_s),
        playing=tuple(_playing(one, begin_s, width_s)),
        songs=spans(called),
        between=spans([(gap.start, gap.end, "", gap.kind) for gap in take.between]),
        first_notes=tuple(at for at in notes if 0 <= at <= 1),
        marks=tuple(Tick(along(mark.sample), mark.text) for mark in marks if 0 <= along(mark.sample) <= 1),
    )


def _playing(one: Heard, begin_s: float, width_s: float) -> Iterator[tuple[float, float]]:
    """Share of the tracks that is played on, in so many columns."""
    own = own_tracks(one.activity.roles)
    share = one.activity.playing[own].mean(axis=0, dtype=np.float64)
    smooth = smoothed(share, round(SMOOTH_S / FRAME_S))
    for column in range(COLUMNS + 1):
        at = column / COLUMNS
        frame = min(len(smooth) - 1, round((begin_s + at * width_s) / FRAME_S))
        if frame >= 0:
            yield round(at, 4), round(float(smooth[frame]), 3)


def _row(number: int, song: Song, rate_hz: int) -> SongRow:
    sure = (song.title_confidence, song.start_confidence, song.end_confidence)
    return SongRow(
        number=str(number),
        title=song.title,
        start=clock(song.start / rate_hz, 3),
        end=clock(song.end / rate_hz, 3),
        length=clock((song.end - song.start) / rate_hz),
        sure=" / ".join(figure(100 * part) for part in sure),
        why=song.why,
    )


def _closes(one: Heard, song: Song, number: int) -> Iterator[Close]:
    for says, sample in (("begins", song.start), ("ends", song.end)):
        by_hand = ", by hand" if {"begins": "start", "ends": "end"}[says] in song.by_hand else ""
        at_s = sample / one.axis.rate_hz
        note = None
        if says == "begins" and song.first_note is not None:
            note = _near(song.first_note / one.axis.rate_hz, at_s)
        lines, names = _lines(one, at_s)
        yield Close(f"{number} {says}{by_hand}", clock(at_s, 3), 0.5, note, lines, names)


def _near(time_s: float, at_s: float) -> float | None:
    place = (time_s - at_s + CLOSE_S) / (2 * CLOSE_S)
    return round(place, 4) if 0 <= place <= 1 else None


def _lines(one: Heard, at_s: float) -> tuple[tuple[tuple[tuple[float, float], ...], ...], tuple[str, ...]]:
    """Levels around a time of the tracks that change most there, each as points along and up."""
    hop_s, step = one.levels.hop_s, max(1, round(CLOSE_STEP_S / one.levels.hop_s))
    first, last = round((at_s - CLOSE_S) / hop_s), round((at_s + CLOSE_S) / hop_s)
    inside = slice(max(0, first), min(one.levels.hops, last))
    db = one.levels.db[own_tracks(one.activity.roles), 0, inside].astype(np.float64)
    names = [track.label for track, own in zip(one.axis.track, own_tracks(one.activity.roles), strict=True) if own]
    middle = round(at_s / hop_s) - inside.start
    if not db.shape[1]:
        return (), ()
    before, after = db[:, : max(1, middle)].mean(axis=1), db[:, min(middle, db.shape[1] - 1) :].mean(axis=1)
    chosen = np.argsort(-np.abs(after - before), kind="stable")[:CLOSE_TRACKS]
    along = [round((inside.start - first + hop) / max(1, last - first), 4) for hop in range(0, db.shape[1], step)]
    highest = np.maximum.reduceat(db, np.arange(0, db.shape[1], step), axis=1)
    lines = tuple(
        tuple((at, _height(float(level))) for at, level in zip(along, highest[track], strict=True)) for track in chosen
    )
    return lines, tuple(names[track] for track in chosen)


def _height(level_db: float) -> float:
    return round(min(1.0, max(0.0, (level_db - LOW_DB) / (HIGH_DB - LOW_DB))), 4)
