"""The songs of a night from end to end: recordings, set list, marks and an earlier document become a document."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldfare.show.drawn import DrawnInput
from fieldfare.show.night_marks import ClockMark
from fieldfare.show.songs import Handles, ListedSong, NightMark, SongBook
from fieldfare.takes.axis import Axis, find_axes
from fieldfare.takes.songs.clocks import clocks_apart_s, moved, on_axes
from fieldfare.takes.songs.find import find_songs
from fieldfare.takes.songs.levels import Levels, levels_of
from fieldfare.takes.songs.listen import Heard, heard_of
from fieldfare.units.text import figure, slug

Tell = Callable[[float], None]
Measure = Callable[[Axis, Tell | None], Levels]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is known of a night before it is listened to."""

    show: str = ""
    rows: tuple[DrawnInput, ...] = ()
    listed: tuple[ListedSong, ...] = ()
    marks: tuple[ClockMark, ...] = ()
    kept: SongBook | None = None  # an earlier document; what a person set in it stays
    handles: Handles | None = None  # those of the earlier document where none are given


@dataclass(frozen=True)
class Night:
    """What was heard, and the songs that it makes."""

    book: SongBook
    heard: tuple[Heard, ...]
    marks: tuple[NightMark, ...] = ()  # as they lie in the takes


def songs_of(folder: Path, asked: Asked, tell: Tell | None = None, measure: Measure = levels_of) -> Night:
    """Find the songs in the recordings of a folder.

    Parameters
    ----------
    folder
        Where they lie; they are only read.
    asked
        What is known.
    tell
        Called with the share that is done, from 0 to 1.
    measure
        Measures a take; whoever remembers what was measured of it may tell that instead.

    Raises
    ------
    Fault
        The folder is not there, holds no recordings, or one of them cannot be read.
    """
    axes = find_axes(folder, asked.rows)
    heard = tuple(_listened(axes, tell, measure))
    listed = _with_lengths(asked.listed, asked.kept)
    apart_s = 0.0
    if asked.marks:
        apart_s = clocks_apart_s(asked.marks, axes, find_songs(heard, listed, (), asked.show, asked.kept))
    marks, lost = on_axes(moved(asked.marks, apart_s), axes)
    if apart_s:
        off = f"{figure(abs(apart_s))} s {'ahead of' if apart_s > 0 else 'behind'}"
        lost = (*lost, f"the exact time of day: the recorder's clock is about {off} that of the marks, as they lie")
    book = find_songs(heard, listed, marks, asked.show, asked.kept)
    said = {"not_known": (*book.not_known, *lost)}
    return Night(book.model_copy(update=said | ({"handles": asked.handles} if asked.handles else {})), heard, marks)


def _listened(axes: Sequence[Axis], tell: Tell | None, measure: Measure) -> list[Heard]:
    total = sum(axis.frames * len(axis.track) for axis in axes)
    done = 0
    heard = []
    for axis in axes:
        share, before = axis.frames * len(axis.track) / max(1, total), done / max(1, total)
        levels = measure(axis, _from(tell, before, share))
        heard.append(heard_of(axis, levels, [track.role for track in axis.track]))
        done += axis.frames * len(axis.track)
    return heard


def _from(tell: Tell | None, before: float, share: float) -> Tell | None:
    return None if tell is None else lambda done: tell(before + share * done)


def _with_lengths(listed: tuple[ListedSong, ...], kept: SongBook | None) -> tuple[ListedSong, ...]:
    """Fill in from an earlier document what a set list of bare titles does not say; without a list take that one's."""
    before = {slug(one.title): one for one in kept.set_list} if kept else {}
    if not listed:
        return kept.set_list if kept else ()
    return tuple(before.get(slug(one.title), one) if one == ListedSong(title=one.title) else one for one in listed)
