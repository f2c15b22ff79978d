"""From takes, set list and marks to the songs of a night: places laid by the programme, then looked at closely."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.songs import BetweenSongs, Handles, ListedSong, NightMark, Song, SongBook, TakeSongs, clock_words
from fieldfare.takes.songs.activity import FRAME_S
from fieldfare.takes.songs.between import stretches_between
from fieldfare.takes.songs.countin import count_in_hop
from fieldfare.takes.songs.edges import begin_hop, end_hop, seam_hop
from fieldfare.takes.songs.listen import Heard
from fieldfare.takes.songs.night import Places
from fieldfare.takes.songs.pins import COUNTED, Pin, apart, free_list, held, pins_of
from fieldfare.takes.songs.places import Sign, places_of
from fieldfare.takes.songs.program import Answer, lay_songs
from fieldfare.units.clock import clock
from fieldfare.units.text import figure, slug

DOUBTFUL = 0.8  # a song told with less wants a person's eye
COOL = 0.7  # what scores are multiplied by before it is told how sure they are: frames are not quite independent
NEAR_S = 1.0  # places that are one and the same once they were looked at closely
MOVED_LN, MOVED_SURE = 0.3, 0.5  # how far a dropped song's length may be off to be one that was added, and how sure
F64 = NDArray[np.float64]


@dataclass(frozen=True)
class _Found:
    """One song as found, on its take: hops, and how sure."""

    take: int
    begin: int  # hop, the count-in with it
    first_note: int | None
    end: int
    runs_on: bool
    listed: int | None
    sure: tuple[float, float, float]  # title, start, end
    frames: tuple[int, int]  # of its take, between which it was laid


def find_songs(
    heard: Sequence[Heard],
    listed: Sequence[ListedSong] = (),
    marks: Sequence[NightMark] = (),
    show: str = "",
    kept: SongBook | None = None,
) -> SongBook:
    """Find the songs of a night.

    Parameters
    ----------
    heard
        Its takes, in order of time.
    listed
        The set list, in order; empty where there is none.
    marks
        Marks of the night, on the takes' axes.
    show
        What it is called.
    kept
        An earlier document of the same takes; what a person set in it stays.
    """
    starts_s = np.cumsum([0.0, *(one.activity.frames * FRAME_S for one in heard)])
    pins = pins_of(kept, [(one.axis, one.activity.frames) for one in heard])
    free = free_list(listed, pins)
    asked = [listed[place] for place in free]
    signs = _signs(heard, starts_s, asked, marks)
    places = places_of([(one.activity, one.pulse) for one in heard], signs, asked, pins)
    answer = lay_songs(places, asked, COOL)
    found = [_close(heard, starts_s, places, answer, number) for number in range(len(answer.laid))]
    found = [replace(one, listed=None if one.listed is None else free[one.listed]) for one in found]
    found = _moved(found, heard, listed, free)
    takes = [_songs(number, one, found, listed, pins) for number, one in enumerate(heard)]
    played = {song.listed for songs in takes for song in songs if song.keep}
    return SongBook(
        show=show,
        handles=kept.handles if kept else Handles(),
        set_list=tuple(listed),
        take=tuple(_take(one, songs) for one, songs in zip(heard, takes, strict=True)),
        not_played=tuple(one.title for place, one in enumerate(listed, 1) if place not in played),
        not_known=tuple(_not_known(heard, listed)),
    )


def _signs(
    heard: Sequence[Heard], starts_s: F64, listed: Sequence[ListedSong], marks: Sequence[NightMark]
) -> list[Sign]:
    """Put marks on the axis of all takes; a mark that names a song of the list speaks for that one."""
    takes = {one.axis.name: place for place, one in enumerate(heard)}
    titles = {slug(one.title): place for place, one in enumerate(listed)}
    signs = []
    for mark in marks:
        take = takes.get(mark.take)
        if take is not None and 0 <= mark.sample < heard[take].axis.frames:
            at_s = starts_s[take] + mark.sample / heard[take].axis.rate_hz
            signs.append(Sign(float(at_s), titles.get(slug(mark.text))))
    return signs


def _close(heard: Sequence[Heard], starts_s: F64, places: Places, answer: Answer, number: int) -> _Found:
    """Look closely at where one song begins and ends."""
    laid = answer.laid[number]
    take = int(places.part[laid.begin])
    one, offset_s = heard[take], starts_s[take]
    begin_s, end_s = (float(places.at_s[place] - offset_s) for place in (laid.begin, laid.end))
    before = answer.laid[number - 1] if number else None
    after = answer.laid[number + 1] if number + 1 < len(answer.laid) else None
    out_of = before is not None and before.end == laid.begin
    runs_on = after is not None and after.begin == laid.end
    begin = _begin(one, begin_s, seam=out_of)
    end = seam_hop(one.edges, end_s) if runs_on else _end(one, end_s)
    first_note = None
    if not out_of and begin and (count_in := count_in_hop(one.levels, one.counting, begin)) is not None:
        last = round((places.at_s[before.end] - offset_s) / one.levels.hop_s) if before is not None else 0
        if count_in > last:
            first_note, begin = begin, count_in
    title = float(answer.titles[number][-1 if laid.listed is None else laid.listed])
    sure = (title, _sure(places.at_s, answer.begins, laid.begin), _sure(places.at_s, answer.ends, laid.end))
    frames = (round(begin_s / FRAME_S), round(end_s / FRAME_S))
    return _Found(take, begin, first_note, max(end, begin + 1), runs_on, laid.listed, sure, frames)


def _begin(one: Heard, begin_s: float, *, seam: bool) -> int:
    if begin_s < FRAME_S:
        return 0  # the take was begun late, or is all song
    return seam_hop(one.edges, begin_s) if seam else begin_hop(one.edges, begin_s)


def _end(one: Heard, end_s: float) -> int:
    return one.levels.hops if end_s > (one.activity.frames - 1.5) * FRAME_S else end_hop(one.edges, end_s)


def _sure(at_s: F64, shares: F64, place: int) -> float:
    near = np.abs(at_s - at_s[place]) <= NEAR_S
    return float(min(1.0, shares[near].sum()))


def _moved(
    found: list[_Found], heard: Sequence[Heard], listed: Sequence[ListedSong], asked: Sequence[int]
) -> list[_Found]:
    """Give songs that are not where the list has them the titles that nobody played, where their lengths fit."""
    free = {place for place in asked if listed[place].length_s} - {one.listed for one in found}
    pairs = []
    for number, one in enumerate(found):
        length_s = (one.end - (one.first_note or one.begin)) * heard[one.take].levels.hop_s
        pairs += [
            (abs(log(length_s / (listed[place].length_s or 1.0))), number, place)
            for place in free
            if one.listed is None
        ]
    moved = list(found)
    for off, number, place in sorted(pairs):
        if off <= MOVED_LN and moved[number].listed is None and place in free:
            moved[number] = replace(moved[number], listed=place, sure=(MOVED_SURE, *moved[number].sure[1:]))
            free.discard(place)
    return moved


def _songs(
    number: int, one: Heard, found: Sequence[_Found], listed: Sequence[ListedSong], pins: Sequence[Pin]
) -> tuple[Song, ...]:
    """Return the songs of one take, those with them that a person took out."""
    songs = [(song, _song(place, song, one, listed)) for place, song in enumerate(found, 1) if song.take == number]
    mine = [pin for pin in pins if pin.take == number]
    done: list[Song] = []
    for found_song, song in songs:
        for pin in mine:
            if _same(found_song, pin):
                song = held(song, pin)
        done.append(song)
    out = [pin.song for pin in mine if pin.nothing is not None]
    rate_hz = one.axis.rate_hz
    told = [_told(song, listed, rate_hz) for song in apart(done, one.axis.frames)]
    return tuple(sorted([*told, *out], key=lambda song: song.start))


def _same(found: _Found, pin: Pin) -> bool:
    """Whether a song that was found is the one about which something was set."""
    if pin.begin is not None or pin.end is not None:
        return found.frames[0] == pin.begin or found.frames[1] == pin.end
    return pin.titled is not None and pin.titled[0] <= found.frames[0] <= pin.titled[1]


def _told(song: Song, listed: Sequence[ListedSong], rate_hz: int) -> Song:
    """Bring what is said of a song up to date with where it is and what it is called."""
    titles = {slug(one.title): place for place, one in enumerate(listed, 1)}
    place = titles.get(slug(song.title)) if "title" in song.by_hand else song.listed
    why = song.why
    if place is not None and (length_s := listed[place - 1].length_s) is not None:
        long = f"{clock((song.end - song.start) / rate_hz)} long, {clock(length_s)} by the list"
        why = f"{why}; {long}" if why else long
    said = {"listed": place, "why": why, "clock": clock_words(song.start, song.end, rate_hz)}
    return song.model_copy(update=said)


def _take(one: Heard, songs: tuple[Song, ...]) -> TakeSongs:
    axis = one.axis
    edges = [0, *(edge for song in songs if song.keep for edge in (song.start, song.end)), axis.frames]
    between = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        frame = FRAME_S * axis.rate_hz
        for kind, begin, end in stretches_between(one.kinds, round(first / frame), round(last / frame)):
            start, stop = max(first, round(begin * frame)), min(last, round(end * frame))
            if stop > start:
                between.append(BetweenSongs(kind=kind, start=start, end=stop))
    return TakeSongs(
        take=axis.name,
        rate_hz=axis.rate_hz,
        frames=axis.frames,
        begin=axis.begin,
        song=songs,
        between=tuple(between),
    )


def _song(place: int, found: _Found, one: Heard, listed: Sequence[ListedSong]) -> Song:
    hop, axis = one.levels.hop, one.axis
    start, end = found.begin * hop, min(axis.frames, found.end * hop)
    wished = listed[found.listed] if found.listed is not None else None
    title = wished.title if wished else f"Song {place}"
    hop_s = one.levels.hop_s
    tempo = one.pulse.tempo_bpm((found.first_note or found.begin) * hop_s, found.end * hop_s)
    return Song(
        title=title,
        start=start,
        end=end,
        found_title=title,
        found_start=start,
        found_end=end,
        first_note=None if found.first_note is None else found.first_note * hop,
        listed=None if found.listed is None else found.listed + 1,
        runs_on=found.runs_on,
        title_confidence=round(found.sure[0], 2) if listed else 0.0,
        start_confidence=round(found.sure[1], 2),
        end_confidence=round(found.sure[2], 2),
        tempo_bpm=None if tempo is None else round(tempo, 1),
        why=_why(found, one),
        clock=clock_words(start, end, axis.rate_hz),
    )


def _why(found: _Found, one: Heard) -> str:
    parts = []
    if found.first_note is not None:
        parts.append(f"{COUNTED} {figure((found.first_note - found.begin) * one.levels.hop_s, 1)} s before it")
    if found.runs_on:
        parts.append("the next begins without a gap, where the pulse changes")
    return "; ".join(parts)


def _not_known(heard: Sequence[Heard], listed: Sequence[ListedSong]) -> list[str]:
    said = [text for one in heard for text in one.axis.left_out]
    if not listed:
        said.append("titles: there is no set list")
    elif not any(one.length_s for one in listed):
        said.append("the set list has no lengths: where a song was dropped or added, the titles after it may be off")
    for one in heard:
        if not any(track.role == "room" for track in one.axis.track):
            said.append(f"{one.axis.name}: no room microphones, so applause is told from the others, and less surely")
    said.append("a song that is only spoken or sung alone: it sounds like talk; put it in by hand")
    return said
