"""What came of finding the songs of a night, and of cutting them: every file with its samples and their hash."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fieldfare.show.record import Name, Record
from fieldfare.show.songs import Handles, Song, SongBook, TakeSongs


class CutFile(Record):
    """One track of one piece."""

    file: str = Field(description="From the folder of the cuts")
    label: Name = Field(description="Of the track")
    source: tuple[str, ...] = Field(description="The files that it was cut from")
    channel: int = Field(ge=1, description="Of those files")
    sha256: str = Field(description="Of its samples as they lie in the file, equal to the take's")
    silent: int = Field(default=0, description="Samples of silence, where the track has none: armed late, or a gap")


class CutPiece(Record):
    """One stretch, cut at the same samples from all tracks."""

    title: Name
    kind: Literal["song", "talk"]
    take: Name
    start: int = Field(description="First sample of the take, its handle with it")
    end: int = Field(description="Sample after the last")
    song_start: int = Field(description="Where the song begins in the take")
    song_end: int
    start_s: float = Field(description="As start, in seconds")
    end_s: float
    file: tuple[CutFile, ...]


class CutReport(Record):
    """All that was cut."""

    folder: str
    rate_hz: int
    handles: Handles
    piece: tuple[CutPiece, ...]
    left_out: tuple[str, ...] = Field(
        default=(), description="Chunks of the recordings that a part of them cannot keep"
    )


class PlacedSong(Record):
    """A song with its places in samples and in seconds of the take's axis."""

    take: Name
    title: Name
    start: int
    end: int
    first_note: int | None
    start_s: float
    end_s: float
    first_note_s: float | None
    listed: int | None = Field(description="Place in the set list, from 1")
    runs_on: bool
    title_confidence: float
    start_confidence: float
    end_confidence: float
    by_hand: tuple[str, ...] = Field(description="What a person set: title, start, end")
    why: str


class SongsReport(Record):
    """What `fieldfare songs --json` writes."""

    folder: str = Field(description="Of the recordings")
    document: str | None = Field(description="The songs document; none where none was written")
    songs: SongBook
    song: tuple[PlacedSong, ...] = Field(description="Those that are kept, in order")
    cut: CutReport | None = Field(default=None, description="Where it was asked to cut")


def placed(book: SongBook) -> tuple[PlacedSong, ...]:
    """Return the songs that are kept, in order, with their places in seconds too."""
    return tuple(
        _placed(take, song)
        for take in book.take
        for song in sorted(take.song, key=lambda song: song.start)
        if song.keep
    )


def _placed(take: TakeSongs, song: Song) -> PlacedSong:
    return PlacedSong(
        take=take.take,
        title=song.title,
        start=song.start,
        end=song.end,
        first_note=song.first_note,
        start_s=song.start / take.rate_hz,
        end_s=song.end / take.rate_hz,
        first_note_s=None if song.first_note is None else song.first_note / take.rate_hz,
        listed=song.listed,
        runs_on=song.runs_on,
        title_confidence=song.title_confidence,
        start_confidence=song.start_confidence,
        end_confidence=song.end_confidence,
        by_hand=song.by_hand,
        why=song.why,
    )
