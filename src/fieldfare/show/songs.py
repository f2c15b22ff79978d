"""The songs of a night: what the set list said, what was found in the takes, and what a person made of it.

Places are samples on the take's axis: 0 is the first sample of the take. A person may change any title and any place;
what was found stands beside it, so that a later look knows which points were moved by hand and leaves those alone.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any, Literal

from pydantic import Field, model_validator

from fieldfare.show.record import Name, NotNegative, Positive, Record
from fieldfare.units.clock import sample_clock

Between = Literal["applause", "talk", "tuning", "quiet"]
_CLOCK = re.compile(r"(?:(\d+):)?(\d{1,2}):(\d{2}(?:\.\d+)?)")


class ListedSong(Record):
    """One song of the set list."""

    title: Name
    length_s: Positive | None = Field(default=None, description="Rough length; none where nobody said")
    tempo_bpm: Positive | None = Field(default=None, description="Beats a minute; none where nobody said")
    runs_on: bool = Field(default=False, description="Into the next song, without a gap")


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
    def by_hand(self) -> tuple[str, ...]:
        """What a person changed."""
        changed = {
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

    @model_validator(mode="before")
    @classmethod
    def _read_clocks(cls, data: Any) -> Any:
        """Read places that a person wrote as clock times."""
        if not isinstance(data, dict) or not isinstance(data.get("rate_hz"), int):
            return data
        songs = data.get("song", ())
        if not isinstance(songs, list | tuple) or not all(isinstance(song, dict) for song in songs):
            return data
        return data | {"song": [_with_samples(song, data["rate_hz"]) for song in songs]}

    @model_validator(mode="after")
    def _one_after_another(self) -> TakeSongs:
        kept = sorted((song for song in self.song if song.keep), key=lambda song: song.start)
        for one, other in pairwise(kept):
            if other.start < one.end:
                raise ValueError(f"{other.title} starts before {one.title} has ended: move one of the two points")
        return self


class SongBook(Record):
    """All songs of a night."""

    show: str = ""
    set_list: tuple[ListedSong, ...] = ()
    take: tuple[TakeSongs, ...]
    not_played: tuple[str, ...] = Field(default=(), description="Songs of the list that were not found")
    not_known: tuple[str, ...] = Field(default=(), description="What could not be told, and why")


class Handles(Record):
    """How much of a take a cut keeps around a song."""

    before_s: NotNegative = 2.0
    after_s: NotNegative = 2.0
    applause: bool = Field(default=True, description="The applause after a song belongs to it")
    talk: Literal["leave", "before", "own"] = Field(
        default="leave", description="Talk is left out, goes before the song it announces, or is cut by itself"
    )


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


def _with_samples(song: dict[str, Any], rate_hz: int) -> dict[str, Any]:
    read = dict(song)
    for name in ("start", "end"):
        if isinstance(song.get(name), str):
            sample = clock_samples(song[name], rate_hz)
            if sample is not None:
                read[name] = sample
    return read
