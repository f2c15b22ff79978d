"""What a person set in a songs document, and how the songs are found again around it.

A place that was moved is one at which a song begins or ends, to the sample; a title that was given is that song's,
wherever the list has it; a stretch that was said to be no song is none. Everything else is found as if it were new.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.songs import ListedSong, Song, SongBook
from fieldfare.takes.axis import Axis
from fieldfare.takes.songs.activity import FRAME_S
from fieldfare.takes.songs.night import NEVER, Places
from fieldfare.takes.songs.wishes import ADDED
from fieldfare.units.text import listed, slug

COUNTED = "counted in"  # what the reason for a count-in begins with
NEAR_S = 3.0  # of where it began: there a song is the one that was given a title
SEAM = -2.0  # what a place set by hand has for a seam, where no change of pulse says more


@dataclass(frozen=True, slots=True)
class Pin:
    """What a person set about one song; places are frames of its take."""

    take: int
    song: Song
    begin: int | None
    end: int | None
    titled: tuple[int, int] | None  # frames between which a song that begins has its title
    nothing: tuple[int, int] | None  # no song is between these


def pins_of(book: SongBook | None, takes: Sequence[tuple[Axis, int]]) -> tuple[Pin, ...]:
    """Gather what a person set, for the takes that are there, each with how many frames it has."""
    places = {axis.name: number for number, (axis, _) in enumerate(takes)}
    return tuple(
        _pin(places[take.take], song, round(FRAME_S * take.rate_hz), takes[places[take.take]][1])
        for take in (book.take if book else ())
        if take.take in places
        for song in take.song
        if song.by_hand
    )


def _pin(take: int, song: Song, frame: int, frames: int) -> Pin:
    by_hand = song.by_hand
    first, last = min(frames - 1, round(song.start / frame)), min(frames, round(song.end / frame))
    if not song.keep:
        return Pin(take, song, None, None, None, (first, last))
    near = 0 if "start" in by_hand else round(NEAR_S / FRAME_S)
    return Pin(
        take,
        song,
        first if "start" in by_hand else None,
        max(last, first + 1) if "end" in by_hand else None,
        (first - near, first + near) if "title" in by_hand else None,
        None,
    )


def free_list(songs: Sequence[ListedSong], pins: Sequence[Pin]) -> tuple[int, ...]:
    """Places in the set list of the songs to which nobody gave a place by hand."""
    taken = {slug(pin.song.title) for pin in pins if pin.titled is not None}
    return tuple(place for place, one in enumerate(songs) if slug(one.title) not in taken)


def with_pins(places: Places, frames: NDArray[np.int64], pins: Sequence[Pin]) -> Places:
    """Bind places to what a person set.

    Parameters
    ----------
    places
        As they were heard; every frame that is set is among them.
    frames
        Of the places, each in its take.
    pins
        What was set.
    """
    if not pins:
        return places
    begins, ends, seams = places.begins.copy(), places.ends.copy(), places.seams.copy()
    titled, unlisted, must = places.titled.copy(), places.unlisted.copy(), places.must.copy()
    mine = [(pin, places.part == pin.take) for pin in pins]
    for pin, own in mine:
        if pin.begin is not None and pin.end is not None:
            inside = own & (frames > pin.begin) & (frames < pin.end)
            begins[inside] = ends[inside] = seams[inside] = NEVER
        if pin.titled is not None:
            near = own & (frames >= pin.titled[0]) & (frames <= pin.titled[1])
            titled[:, near], unlisted[near] = NEVER, -ADDED
    at_begin, at_end = np.zeros(len(frames), np.bool_), np.zeros(len(frames), np.bool_)
    for pin, own in mine:
        at_begin |= own & (frames == pin.begin)
        at_end |= own & (frames == pin.end)
    must = at_begin | at_end
    begins[must], ends[must] = NEVER, NEVER
    begins[at_begin & ~at_end] = 0.0
    ends[at_end & ~at_begin] = 0.0
    seams[must] = np.maximum(seams[must], SEAM)
    return replace(places, begins=begins, ends=ends, seams=seams, titled=titled, unlisted=unlisted, must=must)


def held(song: Song, pin: Pin) -> Song:
    """Return a song as found again, with what a person had set about it."""
    old = pin.song
    names = old.by_hand
    kept: dict[str, object] = {}
    for name in ("title", "start", "end"):
        if name in names:
            kept[name] = getattr(old, name)
            kept[f"found_{name}"] = getattr(old, f"found_{name}")
            kept[f"{name}_confidence"] = 1.0
    if "start" in names:
        first = song.first_note
        kept["first_note"] = first if first is not None and old.start < first else None
    said = [part for part in song.why.split("; ") if part and not (part.startswith(COUNTED) and "start" in names)]
    kept["why"] = "; ".join([*said, f"{listed(names)} by hand"])
    return song.model_copy(update=kept)


def apart(songs: Sequence[Song], frames: int) -> list[Song]:
    """Keep songs from overlapping: what a person set stays, and its neighbour gives way; none is outside the take.

    Parameters
    ----------
    songs
        Of one take, in order.
    frames
        Of the take.
    """
    done: list[Song] = []
    for song in songs:
        start, end = min(song.start, frames - 1), min(song.end, frames)
        if done and done[-1].end > start:
            last = done[-1]
            if "start" in song.by_hand and "end" not in last.by_hand and start > last.start:
                done[-1] = last.model_copy(update={"end": start})
            else:
                start = last.end
        if end <= start:
            end = min(frames, start + 1)
        done.append(song.model_copy(update={"start": start, "end": end}))
    return done
