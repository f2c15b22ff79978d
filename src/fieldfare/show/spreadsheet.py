"""The kit out of a spreadsheet: a line a thing, in CSV or XLSX."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias

from fieldfare.show.cells import Unreadable, cell_number, cell_text, cell_value
from fieldfare.show.expected import Slot, model_of, slots
from fieldfare.show.kit import Kit, spread_tags
from fieldfare.show.rows import Cell, Table, read_tables
from fieldfare.show.written import Loc, Written
from fieldfare.units.faults import BadDocuments, Blemish
from fieldfare.units.text import listed, nearest

THINGS = {
    name: model
    for name, slot in slots(Kit).items()
    if name not in ("owner_name", "length_colours") and (model := model_of(slot))
}
CALLED = {  # other words of the trade for a thing
    "microphone": "mic",
    "di box": "di",
    "split": "splitter",
    "lead": "cable",
    "drop box": "box",
    "stage box": "box",
    "multicore": "trunk",
    "power": "supply",
    "card": "media",
    "disc": "media",
}
MEANT = {  # columns as others name them
    "qty": "count",
    "quantity": "count",
    "pieces": "count",
    "how_many": "count",
    "name": "item",
    "description": "item",
    "what": "item",
    "category": "thing",
    "sort": "thing",
    "type": "kind",
    "polar_pattern": "pattern",
    "polar": "pattern",
    "polar_response": "pattern",
    "48v": "phantom",
    "case": "bin",
    "bag": "bin",
    "weight": "weight_kg",
    "length": "length_m",
    "color": "colour",
    "remarks": "note",
    "defect": "faulty",
    "serial": "serials",
    "serial_number": "serials",
    "value": "value_each",
    "replacement_value": "value_each",
}
PREFIXES = {  # of tags that are made from a count
    "mic": "M",
    "di": "D",
    "splitter": "S",
    "stand": "T",
    "cable": "C",
    "box": "B",
    "trunk": "TR",
    "recorder": "REC",
    "preamp": "P",
    "adapter": "A",
    "supply": "E",
    "media": "K",
    "sundry": "X",
}
HEAD_WITHIN = 30  # rows from the top, among which the row of column names is looked for
GUESSES = 3  # of columns that are lacking, up to which a name that nobody knows is told what it may mean
MOST_UNITS = 1000  # of one item

Cells: TypeAlias = dict[str, Cell]  # of a row, by column; without empty ones


@dataclass(frozen=True, slots=True)
class Line:
    """A row that says a thing."""

    place: str
    thing: str
    cells: Cells

    @property
    def name(self) -> str:
        """What the row is called in faults."""
        item = cell_text(self.cells.get("item"))
        return f'{self.thing} "{item}"' if item else self.thing


@cache
def columns() -> dict[str, tuple[str, ...]]:
    """Return every column that is known, with the things that have it; in the order of the template."""
    found: dict[str, tuple[str, ...]] = {"thing": tuple(THINGS), "item": (), "count": tuple(PREFIXES)}
    for thing in (*PREFIXES, "bin"):
        for field in slots(THINGS[thing]):
            column = _column(thing, field)
            found[column] = (*found.get(column, ()), thing)
    return found


def read_spreadsheet(path: Path, name: str = "") -> Written:
    """Read a kit's spreadsheet as plain data, with the row of everything in it.

    What a cell says that its column does not ask for is among the faults of what is returned, so that it is told
    together with all other faults.

    Raises
    ------
    BadDocuments
        The file cannot be read, or has no row of column names.
    """
    name = name or path.name
    tables = [(table, head) for table in read_tables(path, name, _fits) if (head := _head(table)) is not None]
    if not tables:
        remedy = "name the columns in one row, thing and item among them; fieldfare kit template writes such a file"
        raise BadDocuments((Blemish(name, "", "", "has no row of column names", remedy),))
    faults = [fault for table, _ in tables for fault in table.faults]
    lines: list[Line] = []
    for table, head in tables:
        named, said = _named_columns(table, head, name)
        faults += said
        for number, cells in _said_rows(table, head, named):
            place = f"sheet {table.sheet}, row {number}" if table.sheet else f"row {number}"
            thing = _thing(cell_text(cells.get("thing")))
            if thing in THINGS:
                lines.append(Line(place, thing, cells))
            elif "thing" in named.values():
                faults.append(_no_thing(name, place, cells))
    return _written(name, lines, faults)


def _fits(rows: list[list[str]]) -> int:
    return max((_known(row) for row in rows), default=0)


def _known(row: tuple[Cell, ...] | list[str]) -> int:
    names = {_key(cell) for cell in row} & set(columns())
    return len(names) if names & {"thing", "item"} else 0


def _key(cell: Cell) -> str:
    """Return a column's name as the fields are written: "Weight (kg)" is weight_kg, "Tag" is tags."""
    text = cell_text(cell).casefold().replace("ω", "ohm").replace("²", "2")
    key = re.sub(r"\W+", "_", text).strip("_")
    known = columns()
    return key if key in known else next((one for one in (f"{key}s", key.removesuffix("s")) if one in known), key)


def slot_of(thing: str, column: str) -> Slot | None:
    """Return the field of a thing that a column stands for; None where the thing has none."""
    return next((slot for field, slot in slots(THINGS[thing]).items() if _column(thing, field) == column), None)


def _column(thing: str, field: str) -> str:
    return "item" if (thing, field) == ("bin", "name") else field


def _head(table: Table) -> int | None:
    """Find the row of column names: the one that names the most, thing or item among them; at least two."""
    scores = [_known(row) for row in table.rows[:HEAD_WITHIN]]
    best = max(scores, default=0)
    return scores.index(best) if best >= 2 else None


def _named_columns(table: Table, head: int, name: str) -> tuple[dict[int, str], list[Blemish]]:
    """Tell which column is which; one that is misnamed is a fault, and is read as what was probably meant."""
    known = columns()
    named: dict[int, str] = {}
    faults: list[Blemish] = []
    place = f"sheet {table.sheet}, row {head + 1}" if table.sheet else f"row {head + 1}"

    def fault(number: int, read: str, remedy: str) -> None:
        faults.append(Blemish(name, place, f"column {_letter(number)}", read, remedy))

    means = [_meant(cell) for cell in table.rows[head]]
    lacking = _lacking(table, head, means)
    for number, cell in enumerate(table.rows[head]):
        text, key, meant = cell_text(cell), _key(cell), means[number]
        if text.startswith("#") or (not text and not _filled(table, head, number)):
            continue
        if not text:
            fault(number, "has no name", "name it, or put # there to have it left alone")
        elif key not in known:
            aside = "put # before its name to have it left alone"
            guess = f"write {' or '.join(lacking)} if it is that, or {aside}" if 0 < len(lacking) <= GUESSES else aside
            fault(number, f'"{text}" is not a column of the kit', f"write {meant}" if meant else guess)
        elif key in named.values():
            fault(number, f'"{text}" is there twice', "keep one of the two")
        if meant and meant not in named.values():
            named[number] = meant
    for column in ("thing", "item"):
        if column not in named.values():
            faults.append(Blemish(name, place, "", f"there is no column {column}", "add it"))
    return named, faults


def _meant(name: Cell) -> str:
    """Return the column that a name at the head of one means; "" where that cannot be told."""
    key = _key(name)
    return key if key in columns() else MEANT.get(key) or nearest(key, columns())


def _lacking(table: Table, head: int, means: list[str]) -> list[str]:
    """List the columns that the things of a table must have and that no name at its head means."""
    at = means.index("thing") if "thing" in means else None
    rows = table.rows[head + 1 :] if at is not None else ()
    things = dict.fromkeys(_thing(cell_text(row[at])) for row in rows if at is not None and at < len(row))
    needed = (
        _column(thing, field)
        for thing in things
        if thing in THINGS
        for field, slot in slots(THINGS[thing]).items()
        if slot.required
    )
    return [one for one in dict.fromkeys(needed) if one not in (*means, "tags")]


def _filled(table: Table, head: int, number: int) -> bool:
    return any(number < len(row) and row[number] is not None for row in table.rows[head + 1 :])


def _letter(number: int) -> str:
    """Return a column's letters as spreadsheet programs write them.

    >>> _letter(0), _letter(25), _letter(26)
    ('A', 'Z', 'AA')
    """
    return (_letter(number // 26 - 1) if number >= 26 else "") + chr(ord("A") + number % 26)


def _said_rows(table: Table, head: int, named: dict[int, str]) -> Iterator[tuple[int, Cells]]:
    """Walk the rows below the names; empty ones, headings, remarks and repeated names are passed over."""
    for number, row in enumerate(table.rows[head + 1 :], start=head + 2):
        filled = [(at, cell) for at, cell in enumerate(row) if cell is not None]
        cells: Cells = {named[at]: cell for at, cell in filled if at in named}
        if not cells or cell_text(filled[0][1]).startswith("#"):
            continue
        heading = len(filled) == 1 and "item" not in cells
        if not heading and row != table.rows[head]:
            yield number, cells


def _thing(text: str) -> str:
    word = text.casefold()
    for one in (word, word.removesuffix("s")):
        if one in THINGS or one in CALLED:
            return CALLED.get(one, one)
    return word


def _no_thing(name: str, place: str, cells: Cells) -> Blemish:
    written = cell_text(cells.get("thing"))
    guess = nearest(written, (*THINGS, *CALLED)) if written else ""
    read = (
        f'there is no thing "{written}"'
        if written
        else f'"{cell_text(cells.get("item"))}" does not say what thing it is'
    )
    return Blemish(name, place, "thing", read, f"write {_thing(guess)}" if guess else f"write one of {listed(THINGS)}")


def _written(name: str, lines: list[Line], faults: list[Blemish]) -> Written:
    taken = {tag for line in lines for tag in _spread(line)}
    data: dict[str, Any] = {}
    places: dict[Loc, str] = {}
    for line in lines:
        entry, said = _entry(name, line, taken)
        faults += said
        if entry is not None:
            entries = data.setdefault(line.thing, [])
            places[(line.thing, len(entries))] = line.place
            entries.append(entry)
    if "bin" not in data:
        bins = dict.fromkeys(str(one["bin"]) for entries in data.values() for one in entries if one.get("bin"))
        data["bin"] = [{"name": one} for one in bins]
    return Written(name, data, lambda loc: places.get(loc[:2], ""), tuple(faults))


def _entry(name: str, line: Line, taken: set[str]) -> tuple[dict[str, Any] | None, list[Blemish]]:
    """Turn a row into an entry of the kit, with the faults of its cells; None where there are no units of it."""
    entry: dict[str, Any] = {}
    faults: list[Blemish] = []

    def fault(column: str, read: str, remedy: str) -> None:
        faults.append(Blemish(name, line.place, f"{line.name}, {column}", read, remedy))

    if line.thing != "bin":
        try:
            entry["tags"] = list(_tags(line, taken))
        except Unreadable as trouble:
            fault("count", trouble.read, trouble.remedy)
            entry["tags"] = _tags(Line(line.place, line.thing, {}), taken)  # so that the rest of the row is checked too
        if entry.get("tags") == []:
            return None, faults
    if "item" not in line.cells:
        fault("item", "is missing", "say what it is in generic words")
        entry["name" if line.thing == "bin" else "item"] = "?"  # so that the model does not say it too
    tags = tuple(entry.get("tags", ()))
    for column, cell in line.cells.items():
        if column in ("thing", "count", "tags"):
            continue
        slot = slot_of(line.thing, column)
        if slot is None:
            fault(column, f"a {line.thing} has none", "empty the cell")
            continue
        try:
            entry[slot.name] = cell_value(cell, slot, tags)
        except Unreadable as trouble:
            fault(column, trouble.read, trouble.remedy)
    return entry, faults


def _spread(line: Line) -> tuple[str, ...]:
    spread = spread_tags(re.sub(r"[;\n]", ",", cell_text(line.cells.get("tags"))))
    return tuple(str(tag) for tag in spread) if isinstance(spread, tuple) else ()


def _tags(line: Line, taken: set[str]) -> tuple[str, ...]:
    """Return the tags of a row: its own, or made from its count and added to those that are taken.

    Raises
    ------
    Unreadable
        The count is not a count, or does not agree with the tags.
    """
    own = _spread(line)
    count: float = len(own) or 1
    if "count" in line.cells:
        count = cell_number(line.cells["count"], Slot(int, "count"))
    if count != int(count) or not 0 <= count <= MOST_UNITS:
        raise Unreadable(f"{count} is not a count", f"give a whole number up to {MOST_UNITS}")
    if own and count != len(own):
        raise Unreadable(f"the count is {int(count)}, the tags are {len(own)}", "correct one of the two")
    made = list(own)
    number = 0
    while len(made) < count:
        number += 1
        tag = f"{PREFIXES[line.thing]}-{number:02d}"
        if tag not in taken:
            taken.add(tag)
            made.append(tag)
    return tuple(made)
