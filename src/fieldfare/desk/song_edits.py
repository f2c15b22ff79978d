"""What a person changes about the songs of a night, as pure functions from one document to the next."""

from __future__ import annotations

from hashlib import sha256

from pydantic import ValidationError

from fieldfare.show.songs import Handles, Song, SongBook, TakeSongs, clock_samples
from fieldfare.units.faults import Fault


def take_of(book: SongBook, number: int) -> TakeSongs:
    """Return a take by its number, from 0.

    Raises
    ------
    Fault
        There is none.
    """
    if not 0 <= number < len(book.take):
        raise Fault("there is no such take", f"take {number + 1}", "the page of songs has them all")
    return book.take[number]


def song_of(book: SongBook, take: int, number: int) -> Song:
    """Return a song by its number in its take, from 0.

    Raises
    ------
    Fault
        There is none.
    """
    songs = take_of(book, take).song
    if not 0 <= number < len(songs):
        raise Fault("there is no such song", f"song {number + 1}", "the page of songs has them all")
    return songs[number]


def mark_of(song: Song) -> str:
    """Return a mark of all that a song says, by which a page tells which song it speaks of, as it saw it."""
    return sha256(song.model_dump_json().encode()).hexdigest()[:16]


def number_of(book: SongBook, take: int, mark: str) -> int:
    """Return the number of the song that bears a mark, from 0; other songs may have come before it since.

    Raises
    ------
    Fault
        It is no longer as it was seen.
    """
    numbers = [number for number, song in enumerate(take_of(book, take).song) if mark_of(song) == mark]
    if not numbers:
        what = "this song was changed meanwhile, in another window or by finding the songs again"
        raise Fault(what, take_of(book, take).take, "load the page again, look at the song, then change it")
    return numbers[0]


def place_of(take: TakeSongs, said: str, where: str) -> int:
    """Read a place in a take as a person types it: 0:12:31.250, or a sample.

    Raises
    ------
    Fault
        It is none, or lies outside the take.
    """
    sample = clock_samples(said, take.rate_hz)
    if sample is None:
        raise Fault(f"{said.strip()[:40]!r} is no place in a take", where, "write a time from its start: 0:12:31.250")
    if not 0 <= sample <= take.frames:
        raise Fault(f"{said.strip()[:40]} lies outside the take", where, "the take's length stands above its songs")
    return sample


def set_song(book: SongBook, take: int, number: int, **changed: object) -> SongBook:
    """Return a document in which a song has another title, start or end, or is none.

    Raises
    ------
    Fault
        There is no such song, or it would overlap with another, or end before it begins.
    """
    song = song_of(book, take, number)
    if "start" in changed and song.first_note is not None and changed["start"] != song.start:
        changed["first_note"] = None  # of the count-in that was found where the song began
    songs = list(book.take[take].song)
    songs[number] = song.model_copy(update=changed)
    return _with_songs(book, take, songs)


def add_song(book: SongBook, take: int, title: str, start: int, end: int) -> SongBook:
    """Return a document with one more song, put in by hand.

    Raises
    ------
    Fault
        It would overlap with another, or end before it begins.
    """
    if not title.strip():
        raise Fault("a song needs a title", "songs", "write one")
    songs = [*take_of(book, take).song, _checked(title.strip(), start, end)]
    return _with_songs(book, take, sorted(songs, key=lambda song: song.start))


def set_handles(book: SongBook, **said: object) -> SongBook:
    """Return a document with other handles around its cuts.

    Raises
    ------
    Fault
        One of them cannot be.
    """
    try:
        return book.model_copy(update={"handles": Handles.model_validate(said)})
    except ValidationError as wrong:
        raise _fault(wrong, "handles") from None


def _checked(title: str, start: int, end: int) -> Song:
    try:
        return Song(title=title, start=start, end=end)
    except ValidationError as wrong:
        raise _fault(wrong, title) from None


def _with_songs(book: SongBook, take: int, songs: list[Song]) -> SongBook:
    before = book.take[take]
    try:
        after = TakeSongs.model_validate(before.model_dump() | {"song": [song.model_dump() for song in songs]})
    except ValidationError as wrong:
        raise _fault(wrong, before.take) from None
    return book.model_copy(update={"take": tuple(after if n == take else one for n, one in enumerate(book.take))})


def _fault(wrong: ValidationError, where: str) -> Fault:
    said = str(wrong.errors()[0]["msg"]).removeprefix("Value error, ")
    what, _, remedy = said.partition(": ")
    return Fault(what, where, remedy or "put that right and send it again")
