"""The songs of a night: what the set list said, what was found in the takes, and what a person made of it.

Places are samples on the take's axis: 0 is the first sample of the take. A person may change any title and any place;
what was found stands beside it, so that a later look knows which points were moved by hand and leaves those alone.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, model_validator

from fieldfare.show.edit_toml import edited, with_values
from fieldfare.show.files import write_whole
from fieldfare.show.record import Name, NotNegative, Positive, Record
from fieldfare.show.wording import validated
from fieldfare.show.write_toml import write_toml
from fieldfare.show.written import read_toml
from fieldfare.units.clock import sample_clock
from fieldfare.units.faults import BadDocuments

SONGS_FILE = "songs.toml"
REMARK = """The songs of the night. What you change here stays; all else is found anew around it.
A place is a sample of the take, or a time from its start in quotes: start = "0:12:31.250".
keep = false takes a song out. A song of your own needs title, start and end alone."""
Between = Literal["applause", "talk", "tuning", "quiet"]
_CLOCK = re.compile(r"(?:(\d+):)?(\d{1,2}):(\d{2}(?:\.\d+)?)")


class ListedSong(Record):
    """One song of the set list."""

    title: Name
    length_s: Positive | None = Field(default=None, description="Rough length; none where nobody said")
    tempo_bpm: Positive | None = Field(default=None, description="Beats a minute; none where nobody said")
    runs_on: bool = Field(default=False, description="Into the next song, without a gap")
    act: str = Field(default="", description="Who plays it, where there are several acts")
    note: str = Field(default="", description="Anything worth remembering")


class NightMark(Record):
    """A mark that somebody made on the night, on the axis of one take."""

    take: Name
    sample: int
    text: str = ""


class Song(Record):
    """One song of a take."""

    title: Name = Field(description="By the set list; one that is not on it is numbered")
    start: int = Field(ge=0, description="First sample, the count-in with it; a clock time 0:12:31.250 is read too")
    end: int = Field(gt=0, description="Sample after the last, where the last chord has died or the next song begins")
    keep: bool = Field(default=True, description="false: it is no song, and is not cut")
    found_title: str = Field(default="", description="As found; leave it. Blank: put in by hand")
    found_start: int | None = Field(default=None, description="As found; leave it")
    found_end: int | None = Field(default=None, description="As found; leave it")
    first_note: int | None = Field(default=None, description="After the count-in, where there is one")
    listed: int | None = Field(default=None, description="Place in the set list, from 1; none where it is not on it")
    runs_on: bool = Field(default=False, description="Into the next song: its end is that song's start")
    title_confidence: float = Field(default=1.0, ge=0, le=1)
    start_confidence: float = Field(default=1.0, ge=0, le=1, description="That it lies within half a second")
    end_confidence: float = Field(default=1.0, ge=0, le=1, description="That it lies within half a second")
    tempo_bpm: float | None = Field(default=None, description="Strongest beat, where one was heard")
    why: str = Field(default="", description="What spoke for it")
    clock: str = Field(default="", description="Start, end and length for reading; the samples count")

    @model_validator(mode="after")
    def _ends_after_it_starts(self) -> Song:
        if self.end <= self.start:
            raise ValueError(f"the song ends at sample {self.end}, before it starts at {self.start}: move one of them")
        return self

    @property
    def by_hand(self) -> tuple[Literal["title", "start", "end", "keep"], ...]:
        """What a person changed."""
        changed: dict[Literal["title", "start", "end", "keep"], bool] = {
            "title": self.title != self.found_title,
            "start": self.start != self.found_start,
            "end": self.end != self.found_end,
            "keep": not self.keep,
        }
        return tuple(name for name, value in changed.items() if value)


class BetweenSongs(Record):
    """What is heard in a stretch without a song."""

    kind: Between
    start: int
    end: int


class TakeSongs(Record):
    """The songs of one take."""

    take: Name
    rate_hz: int = Field(gt=0)
    frames: int = Field(ge=0)
    begin: int | None = Field(default=None, description="Samples since midnight at sample 0, where a clock was kept")
    song: tuple[Song, ...] = ()
    between: tuple[BetweenSongs, ...] = ()

    @model_validator(mode="after")
    def _one_after_another(self) -> TakeSongs:
        kept = sorted((song for song in self.song if song.keep), key=lambda song: song.start)
        for one, other in pairwise(kept):
            if other.start < one.end:
                raise ValueError(f"{other.title} starts before {one.title} has ended: move one of the two points")
        return self


class Handles(Record):
    """How much of a take a cut keeps around a song."""

    before_s: NotNegative = Field(default=2.0, description="Ahead of the count-in; none where one song runs into it")
    after_s: NotNegative = Field(default=2.0, description="After the end; none where it runs into the next song")
    applause: bool = Field(default=True, description="The applause after a song belongs to it")
    talk: Literal["leave", "before", "own"] = Field(
        default="leave", description="Talk is left out, goes before the song it announces, or is cut by itself"
    )


class SongBook(Record):
    """All songs of a night."""

    show: str = ""
    handles: Handles = Handles()
    set_list: tuple[ListedSong, ...] = ()
    take: tuple[TakeSongs, ...]
    not_played: tuple[str, ...] = Field(default=(), description="Songs of the list that were not found")
    not_known: tuple[str, ...] = Field(default=(), description="What could not be told, and why")


def read_songs(path: Path) -> SongBook:
    """Read a songs document that people may have changed.

    Raises
    ------
    BadDocuments
        Every fault of it.
    """
    written = read_toml(path)
    takes = written.data.get("take")
    if isinstance(takes, list):
        written = replace(written, data=written.data | {"take": [_with_samples(take) for take in takes]})
    book, faults = validated(written, SongBook)
    if faults or book is None:
        raise BadDocuments(faults)
    return book


def write_songs(path: Path, book: SongBook) -> None:
    """Write a songs document; in one that is there, and can be read, every remark stays.

    Raises
    ------
    NotDone
        It cannot be written; what was there is as it was.
    """
    if not path.exists():
        write_toml(book, path, REMARK)
        return
    before = path.read_text("utf-8-sig")
    in_samples = _in_samples(before)
    text = edited(in_samples, book)
    if text is None:
        write_toml(book, path, REMARK, replace=True)
    elif text != before:
        write_whole(path, text.encode(), replace=True)


def clock_samples(text: str, rate_hz: int) -> int | None:
    """Read a clock time on the take's axis as a sample; none where it is none.

    >>> clock_samples("0:12:31.250", 48_000), clock_samples("12:31", 48_000), clock_samples("later", 48_000)
    (36060000, 36048000, None)
    """
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        return int(text) if text.strip().isdecimal() else None
    hours, minutes, seconds = (float(part or 0) for part in match.groups())
    return round((hours * 3600 + minutes * 60 + seconds) * rate_hz)


def clock_words(start: int, end: int, rate_hz: int) -> str:
    """Write start, end and length for reading.

    >>> clock_words(0, 48_000, 48_000)
    '0:00:00.000 to 0:00:01.000, 0:00:01.000 long'
    """
    first, last, length = (sample_clock(sample, rate_hz) for sample in (start, end, end - start))
    return f"{first} to {last}, {length} long"


def _in_samples(text: str) -> str:
    """Return a document with the times that a person wrote in it as samples."""
    data = tomllib.loads(text)
    places: dict[tuple[str | int, ...], object] = {}
    for number, take in enumerate(data.get("take", ())):
        for place, song in enumerate(_with_samples(take).get("song", ())):
            for name in ("start", "end", "first_note"):
                if song.get(name) != take["song"][place].get(name):
                    places["take", number, "song", place, name] = song[name]
    return with_values(text, places)


def _with_samples(take: Any) -> Any:
    """Turn times in a take that a person wrote in quotes into samples; what is none is left for the model to refuse."""
    if not isinstance(take, dict) or type(take.get("rate_hz")) is not int or not isinstance(take.get("song"), list):
        return take
    return take | {"song": [_song_with_samples(song, take["rate_hz"]) for song in take["song"]]}


def _song_with_samples(song: Any, rate_hz: int) -> Any:
    if not isinstance(song, dict):
        return song
    times = {name: song[name] for name in ("start", "end", "first_note") if isinstance(song.get(name), str)}
    samples = {name: clock_samples(text, rate_hz) for name, text in times.items()}
    return song | {name: sample for name, sample in samples.items() if sample is not None}
