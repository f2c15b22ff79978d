"""Which stretches of a take are cut, each with its handles: songs, the applause after them, talk as asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from fieldfare.show.songs import BetweenSongs, Handles, Song, TakeSongs

NEAR_S = 3.0  # tuning or a breath between two words of one speech
LEAST_TALK_S = 2.0


@dataclass(frozen=True, slots=True)
class Piece:
    """One stretch to cut, in samples of the take."""

    title: str
    kind: Literal["song", "talk"]
    start: int
    end: int
    song_start: int  # where what it is called after begins in it, after its handle
    song_end: int


def pieces_of(take: TakeSongs, handles: Handles) -> tuple[Piece, ...]:
    """Tell which stretches of a take are cut, in order.

    Parameters
    ----------
    take
        Its songs and what lies between.
    handles
        How much is kept around them. A handle never reaches into another song, and where one runs into the next the cut
        is the seam itself.
    """
    songs = sorted((song for song in take.song if song.keep), key=lambda song: song.start)
    before, after = (round(side * take.rate_hz) for side in (handles.before_s, handles.after_s))
    edges = [0, *(edge for song in songs for edge in (song.start, song.end)), take.frames]
    found: list[Piece] = []
    for number, song in enumerate(songs):
        earliest, latest = edges[2 * number], edges[2 * number + 3]
        start = song.start
        if handles.talk == "before":
            start = _talk_before(take, earliest, start)
        end = _applause_after(take.between, song, latest, take.rate_hz) if handles.applause else song.end
        first, last = max(earliest, start - before), min(latest, end + after)
        found.append(Piece(song.title, "song", first, last, song.start, song.end))
    if handles.talk == "own":
        talks = (talk for gap in zip(edges[::2], edges[1::2], strict=True) for talk in _talks(take, *gap))
        for start, end, low, high in talks:
            found.append(Piece("Talk", "talk", max(low, start - before), min(high, end + after), start, end))
    return tuple(sorted(found, key=lambda piece: piece.song_start))


def _applause_after(between: Sequence[BetweenSongs], song: Song, latest: int, rate_hz: int) -> int:
    """Where the applause ends that follows a song; the song's own end where nobody claps."""
    end = song.end
    for one in between:
        if one.kind == "applause" and song.end <= one.start < latest and one.start - end <= NEAR_S * rate_hz:
            end = one.end
    return end


def _talk_before(take: TakeSongs, earliest: int, start: int) -> int:
    """Where the talk begins that leads up to a song; where the song does, if nobody talks."""
    talks = [(first, last) for first, last, *_ in _talks(take, earliest, start)]
    return talks[-1][0] if talks else start


def _talks(take: TakeSongs, low: int, high: int) -> Iterator[tuple[int, int, int, int]]:
    """Stretches of talk between two places, and those: what is parted by a breath or a tuned string is one."""
    near = round(NEAR_S * take.rate_hz)
    spans = [(one.start, one.end) for one in take.between if one.kind == "talk" and low <= one.start < high]
    joined: list[tuple[int, int]] = spans[:1]
    for last, one in pairwise(spans):
        if one[0] - last[1] <= near:
            joined[-1] = (joined[-1][0], one[1])
        else:
            joined.append(one)
    for start, end in joined:
        if end - start >= LEAST_TALK_S * take.rate_hz:
            yield start, min(end, high), low, high
