"""Marks that somebody made on the night, out of a file: by the clock, or at a place of a take.

CSV or XLSX with the columns time, text and take; or JSON, `{"mark": [{"time": …, "text": …, "take": …}]}`. A time with
a take, or with a plus before it, counts from the take's start; any other is the time of day, by the venue's clock.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

from pydantic import Field

from fieldfare.show.cells import cell_text
from fieldfare.show.record import Name, NotNegative, Record
from fieldfare.show.rows import Cell, Table, read_tables
from fieldfare.show.wording import validated
from fieldfare.show.written import Loc, Written
from fieldfare.units.faults import BadDocuments, Blemish

DAY_S = 86_400.0
_CALLED = {
    "time": "time", "clock": "time", "at": "time", "take": "take",
    "text": "text", "mark": "text", "what": "text", "note": "text", "song": "text", "title": "text",
}  # fmt: skip
_TIME = re.compile(r"(?P<plus>\+?)\s*(?P<h>\d{1,3}):(?P<m>\d{2})(?::(?P<s>\d{2}(?:[.,]\d+)?))?")


class ClockMark(Record):
    """A mark of the night."""

    at_s: NotNegative = Field(description="Seconds since midnight by the venue's clock, or from the take's start")
    of_take: bool = Field(default=False, description="Counted from the take's start")
    take: str = Field(default="", description="Name of the take; blank: by the clock, or of the only take")
    text: str = Field(default="", description="What was said; the title of a song speaks for that song")


class _Mark(Record):
    time: Name
    text: str = ""
    take: str = ""


class _Marks(Record):
    mark: tuple[_Mark, ...]


def read_marks(path: Path) -> tuple[ClockMark, ...]:
    """Read the marks of a night from a file.

    Parameters
    ----------
    path
        JSON, CSV or XLSX.

    Raises
    ------
    BadDocuments
        Every fault of the file at once.
    """
    name = path.name
    said = _of_json(path, name) if path.suffix.casefold() == ".json" else _of_table(path, name)
    marks, faults = [], []
    for place, one in said:
        mark = clock_mark(one.time, one.text, one.take)
        if mark is None:
            read = f'"{one.time}" is not a time'
            faults.append(Blemish(name, place, "time", read, "write 20:41:15 by the clock, or +0:12:31 from the start"))
        else:
            marks.append(mark)
    if faults:
        raise BadDocuments(tuple(faults))
    return tuple(marks)


def clock_mark(time: str, text: str = "", take: str = "") -> ClockMark | None:
    """Read one time as a mark; none where it is none.

    >>> clock_mark("20:41:15").at_s, clock_mark("+0:12:31").of_take, clock_mark("late")
    (74475.0, True, None)
    """
    match = _TIME.fullmatch(time.strip())
    if match is None:
        return None
    of_take = bool(match["plus"] or take)
    parts = [float(part.replace(",", ".")) for part in (match["h"], match["m"], match["s"]) if part]
    if len(parts) == 2:
        parts = [0.0, *parts] if of_take else [*parts, 0.0]  # minutes and seconds of a take, hours and minutes of a day
    hours, minutes, seconds = parts
    at_s = 3600 * hours + 60 * minutes + seconds
    if minutes >= 60 or seconds >= 60 or (not of_take and at_s >= DAY_S):
        return None
    return ClockMark(at_s=at_s, of_take=of_take, take=take.strip(), text=text.strip())


def _of_json(path: Path, name: str) -> list[tuple[str, _Mark]]:
    try:
        data = json.loads(path.read_bytes())
    except FileNotFoundError:
        raise BadDocuments((Blemish(name, "", "", "there is no such file", "check the name and the folder"),)) from None
    except (OSError, ValueError):
        raise BadDocuments((Blemish(name, "", "", "is not JSON", "save it as JSON, or as CSV"),)) from None
    rows = {"mark": data} if isinstance(data, list) else data
    if not isinstance(rows, dict):
        raise BadDocuments((Blemish(name, "", "", "holds no marks", 'write {"mark": [{"time": "20:41:15"}]}'),))
    marks, faults = validated(Written(name, rows, _place), _Marks)
    if faults or marks is None:
        raise BadDocuments(faults)
    return [(f"mark {number}", one) for number, one in enumerate(marks.mark, 1)]


def _place(loc: Loc) -> str:
    return f"mark {loc[1] + 1}" if len(loc) > 1 and isinstance(loc[1], int) else ""


def _of_table(path: Path, name: str) -> list[tuple[str, _Mark]]:
    table: Table = read_tables(path, name, lambda rows: max((len(set(_keys(row))) for row in rows[:30]), default=0))[0]
    if table.faults:
        raise BadDocuments(table.faults)
    head = next((at for at, row in enumerate(table.rows[:30]) if "time" in _keys(row)), None)
    if head is None:
        raise BadDocuments((Blemish(name, "", "", "has no column time", "name the columns time, text and take"),))
    keys = _keys(table.rows[head])
    found: list[tuple[str, _Mark]] = []
    for number, row in enumerate(table.rows[head + 1 :], head + 2):
        cells = {key: cell_text(cell) for key, cell in zip(keys, row, strict=False) if key and cell is not None}
        if cells and not next(iter(cells.values())).startswith("#"):
            found.append((f"row {number}", _Mark(time=cells.get("time") or "–", text=cells.get("text", ""),
                                                 take=cells.get("take", ""))))  # fmt: skip
    return found


def _keys(row: tuple[Cell, ...] | list[str]) -> list[str]:
    return [_CALLED.get(cell_text(cell).casefold(), "") for cell in row]
