"""The set list: a page a set, with room for the marks of the night: when a song began, and what went wrong in it."""

from __future__ import annotations

from dataclasses import dataclass

from fieldfare.sheets.head import Head, Setting
from fieldfare.show.show import Set
from fieldfare.units.text import figure, listed

MORE = 3  # rows for encores, and for what is played instead
UNKNOWN = 15  # rows where no songs are known
MARKS = 6  # rows for what happens beside the songs


@dataclass(frozen=True, slots=True)
class SongRow:
    """One song; without a title it is to be written in."""

    number: str
    title: str


@dataclass(frozen=True, slots=True)
class SetPage:
    """One set."""

    begins: str
    name: str
    about: str
    songs: tuple[SongRow, ...]
    unknown: bool


@dataclass(frozen=True, slots=True)
class SetListSheet:
    """Everything on the set list."""

    head: Head
    pages: tuple[SetPage, ...]
    marks: int
    key: str


def set_list_sheet(setting: Setting) -> SetListSheet:
    """Make the data of the set list; one page to write on where the show gives no sets."""
    sets = setting.show.set
    pages = tuple(_page(one, number, setting) for number, one in enumerate(sets, start=1))
    blank = SetPage("", "Set", "no sets are known yet", _rows(()), unknown=True)
    return SetListSheet(
        head=setting.head("set list"),
        pages=pages or (blank,),
        marks=MARKS,
        key="Write the clock of the recorder, or of one watch for all. A mark is worth more than a memory.",
    )


def _page(one: Set, number: int, setting: Setting) -> SetPage:
    acts = listed(one.act) or listed(act.name for act in setting.show.act)
    songs = len(one.songs)
    known = f"{songs} song{'s' if songs > 1 else ''}" if songs else "songs not known: write them as they come"
    return SetPage(
        begins=f"{one.start:%H:%M}",
        name=f"Set {number}" + (f": {acts}" if acts else ""),
        about=f"{figure(one.minutes)} min; {known}",
        songs=_rows(one.songs),
        unknown=not songs,
    )


def _rows(songs: tuple[str, ...]) -> tuple[SongRow, ...]:
    known = tuple(SongRow(str(number), title) for number, title in enumerate(songs, start=1))
    more = MORE if songs else UNKNOWN
    return (*known, *(SongRow("", "") for _ in range(more)))
