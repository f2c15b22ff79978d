"""The set list: a line a song, in CSV or XLSX, or bare titles one under the other.

| column | what stands there |
| --- | --- |
| title | what the song is called |
| order | its place, from 1; without it the rows are in order |
| length | rough length, m:ss |
| act | who plays it |
| tempo | beats a minute |
| runs on | yes where it runs into the next without a gap |
| notes | anything worth remembering |
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeAlias

from fieldfare.show.cells import Unreadable, cell_number, cell_text
from fieldfare.show.expected import Slot, shown
from fieldfare.show.rows import Cell, Table, read_tables
from fieldfare.show.songs import ListedSong
from fieldfare.units.faults import BadDocuments, Blemish
from fieldfare.units.text import nearest

COLUMNS = ("title", "order", "length", "act", "tempo", "runs on", "notes")
LONGEST_S = 3600.0
_CALLED = {  # columns as others name them
    "song": "title", "tune": "title", "name": "title", "song title": "title", "piece": "title",
    "no": "order", "nr": "order", "number": "order", "#": "order", "place": "order", "position": "order",
    "duration": "length", "time": "length", "rough length": "length", "mins": "length", "minutes": "length",
    "min": "length", "band": "act", "artist": "act", "who": "act",
    "bpm": "tempo", "note": "notes", "remarks": "notes", "comment": "notes", "comments": "notes",
    "segue": "runs on", "runs into next": "runs on", "into": "runs on",
}  # fmt: skip
_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,2})[:′'](\d{2})[″\"]?(?:\.0+)?")
_PLAIN = re.compile(r"(\d+(?:[.,]\d+)?)\s*(min|mins|minutes|m|s|sec|secs|seconds)")
_YES, _NO = {"yes", "y", "true", "1", "x", ">", "→"}, {"no", "n", "false", "0", "-", "–"}

Cells: TypeAlias = Mapping[str, Cell]  # of a row, by column; without empty ones


@dataclass
class _Reading:
    """Where a file is read, and what was found wrong so far."""

    file: str
    unit: str = ""  # of lengths without one, by the column's name
    faults: list[Blemish] = field(default_factory=list)

    def fault(self, place: str, column: str, read: str, remedy: str) -> None:
        """Keep what is wrong in one cell, so that all is told at once."""
        self.faults.append(Blemish(self.file, place, column, read, remedy))


def read_set_list(path: Path) -> tuple[ListedSong, ...]:
    """Read a set list.

    Parameters
    ----------
    path
        CSV with commas, semicolons or tabs, in UTF-8 with or without its mark, UTF-16 or cp1252; or XLSX. Without a
        row of column names the first column holds titles, and the second lengths where it has some.

    Returns
    -------
    The songs in order.

    Raises
    ------
    BadDocuments
        Every fault of the file at once, each with its row and column.
    """
    reading = _Reading(path.name)
    tables = read_tables(path, reading.file, _fits)
    table = max(tables, key=_headed, default=None)
    rows = _numbered(table, reading) if table is not None else []
    songs = [_song(cells, place, reading) for place, cells in rows]
    kept = [(order, song) for order, song in songs if song is not None]
    _refuse_twice([place for place, _ in rows], [order for order, _ in songs], reading)
    if not kept and not reading.faults:
        reading.fault("", "", "names no song", "write a title a row below a row with the word title")
    if reading.faults:
        raise BadDocuments(tuple(reading.faults))
    return tuple(song for _, song in sorted(kept, key=lambda one: one[0] if one[0] is not None else 0))


def _key(cell: Cell) -> str:
    """Return a column's name without unit, case and signs.

    >>> _key("Length (m:ss)"), _key("#"), _key("Runs-on")
    ('length', 'order', 'runs on')
    """
    text = re.sub(r"[\[(].*?[\])]", " ", cell_text(cell).casefold()).strip()
    words = text if text == "#" else " ".join(re.sub(r"[\W_]+", " ", text).split())
    return words if words in COLUMNS else _CALLED.get(words, words)


def _named(row: Sequence[Cell]) -> int:
    return len({_key(cell) for cell in row} & set(COLUMNS)) if "title" in {_key(cell) for cell in row} else 0


def _fits(rows: list[list[str]]) -> int:
    """Prefer the delimiter that names columns; failing those, the one that makes more than one cell a row."""
    named = max((_named(row) for row in rows[:30]), default=0)
    return 100 * named + sum(len(row) == 2 for row in rows)


def _headed(table: Table) -> int:
    return max((_named(row) for row in table.rows[:30]), default=0)


def _numbered(table: Table, reading: _Reading) -> list[tuple[str, Cells]]:
    """Return the rows that hold a song: where each stands, and its cells by column."""
    reading.faults += table.faults
    best = _headed(table)
    head = next((at for at, row in enumerate(table.rows[:30]) if best and _named(row) == best), None)
    columns = _columns(table, head, reading)
    found: list[tuple[str, Cells]] = []
    for number, row in enumerate(table.rows[0 if head is None else head + 1 :], 1 if head is None else head + 2):
        first = next((cell_text(cell) for cell in row if cell is not None), "")
        cells = {columns[at]: cell for at, cell in enumerate(row) if cell is not None and at in columns}
        if set(cells) - {"order"} and not first.startswith("#") and (head is None or row != table.rows[head]):
            found.append((f"row {number}", cells))
    return found


def _columns(table: Table, head: int | None, reading: _Reading) -> dict[int, str]:
    if head is None:
        second = [cell_text(row[1]) for row in table.rows if len(row) > 1 and row[1] is not None]
        clocked = second and all(_CLOCK.fullmatch(text) for text in second)
        return {0: "title", 1: "length"} if clocked else {0: "title"}
    columns: dict[int, str] = {}
    for at, cell in enumerate(table.rows[head]):
        key, text = _key(cell), cell_text(cell)
        if key in COLUMNS and key in columns.values():
            reading.fault(f"row {head + 1}", f'column "{text}"', f"{key} is there twice", "keep one of the two")
        elif key in COLUMNS:
            columns[at] = key
            if key == "length":
                reading.unit = "min" if "min" in text.casefold() else "s" if re.search(r"\bs(ec)?\b", text) else ""
        elif key and (meant := nearest(key, COLUMNS)):
            reading.fault(f"row {head + 1}", f'column "{text}"', "is not a column of a set list", f"write {meant}")
    return columns


def _song(cells: Cells, place: str, reading: _Reading) -> tuple[int | None, ListedSong | None]:
    before = len(reading.faults)
    title = cell_text(cells.get("title"))
    if not title:
        reading.fault(place, "title", "is missing", "give the song a title, or empty the row")
    if len(title) > 200:
        reading.fault(place, "title", "is longer than 200 signs", "shorten it")
    order = _whole(cells.get("order"), place, reading)
    length_s = _length_s(cells.get("length"), place, reading)
    tempo_bpm = _tempo(cells.get("tempo"), place, reading)
    runs_on = _yes(cell_text(cells.get("runs on")), place, reading)
    if len(reading.faults) > before:
        return order, None
    return order, ListedSong(
        title=title,
        length_s=length_s,
        tempo_bpm=tempo_bpm,
        runs_on=runs_on,
        act=cell_text(cells.get("act")),
        note=cell_text(cells.get("notes")),
    )


def _whole(cell: Cell, place: str, reading: _Reading) -> int | None:
    text = cell_text(cell).rstrip(".)")
    if not text:
        return None
    if not text.isdecimal():
        reading.fault(place, "order", f"{shown(text)} is not a place in the list", "give a whole number from 1")
        return None
    return int(text)


def length_s(text: str, unit: str = "") -> float | None:
    """Read a rough length in seconds; none where it does not say one.

    Spreadsheet programs turn 3:45 into 03:45:00; no song lasts an hour, so that is read as it was meant.

    >>> length_s("3:45"), length_s("03:45:00"), length_s("4 min"), length_s("4"), length_s("4", "min")
    (225.0, 225.0, 240.0, None, 240.0)
    """
    text = text.strip()
    if match := _CLOCK.fullmatch(text):
        hours, minutes, seconds = (int(part or 0) for part in match.groups())
        if hours and not seconds:
            hours, minutes, seconds = 0, hours, minutes
        return float(3600 * hours + 60 * minutes + seconds) if seconds < 60 else None
    if match := _PLAIN.fullmatch(text if not unit or not text[-1:].isdigit() else f"{text} {unit}"):
        return float(match[1].replace(",", ".")) * (60.0 if match[2].startswith("m") else 1.0)
    return None


def _length_s(cell: Cell, place: str, reading: _Reading) -> float | None:
    text = cell_text(cell)
    if not text or text in ("?", "-", "–"):
        return None
    value = length_s(text, reading.unit)
    if value is None or not 0 < value <= LONGEST_S:
        read = f"{shown(text)} is not a length" if value is None else f"{shown(text)} is no length of a song"
        reading.fault(place, "length", read, "write minutes and seconds, 3:45, or leave it empty")
        return None
    return value


def _tempo(cell: Cell, place: str, reading: _Reading) -> float | None:
    if cell is None:
        return None
    try:
        value = float(cell_number(cell, Slot(float, "tempo_bpm")))
    except Unreadable as trouble:
        reading.fault(place, "tempo", trouble.read, "give beats a minute, or leave it empty")
        return None
    if not 20 <= value <= 400:
        reading.fault(place, "tempo", f"{shown(cell)} is no tempo", "give beats a minute, 20 to 400")
        return None
    return value


def _yes(text: str, place: str, reading: _Reading) -> bool:
    word = text.casefold()
    if word and word not in _YES | _NO:
        reading.fault(place, "runs on", f"{shown(text)} is neither yes nor no", "write yes where it runs on")
    return word in _YES


def _refuse_twice(places: Sequence[str], orders: Sequence[int | None], reading: _Reading) -> None:
    first: dict[int, str] = {}
    numbered = [order for order in orders if order is not None]
    for place, order in zip(places, orders, strict=True):
        if order is None:
            if numbered:
                reading.fault(place, "order", "is missing", "number every song, or none")
        elif order in first:
            reading.fault(place, "order", f"{order} is there twice, {first[order]} has it too", "correct one of them")
        first.setdefault(order or 0, place)
