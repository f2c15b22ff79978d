"""The inputs of a recording that has no plan: a line a channel, in CSV or XLSX, as any spreadsheet program writes it.

Columns are found by their names, in any order; `channel` and `source` must be there, all others may be left out. What
a column does not say stays unknown; nothing is guessed from it. Other columns are left alone, and named.

| column | what stands there |
| --- | --- |
| channel | channel of the recorder and number of the track, from 1 |
| source | what makes the sound |
| title | what the track is called, where that is not its source |
| kind | what picks it up: a kind of mic, DI or line; any words, as far as they say it |
| pattern | how the mic hears around itself |
| x, y, z | where the mic is, in metres: x to the right seen from the audience, y upstage, z up |
| flip | yes where its polarity is meant to be reversed, as under a snare |

"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, TypeAlias, get_args

from pydantic import Field

from fieldfare.show.cells import Unreadable, cell_number, cell_text
from fieldfare.show.expected import Slot, shown
from fieldfare.show.kit import Pattern, Phantom
from fieldfare.show.record import Name, Place3, Record
from fieldfare.show.rows import Cell, Table, read_tables
from fieldfare.units.faults import BadDocuments, Blemish
from fieldfare.units.text import listed, nearest

Pickup = Literal[
    "large dynamic",
    "small dynamic",
    "dynamic",
    "large condenser",
    "small condenser",
    "clip condenser",
    "condenser",
    "ribbon",
    "boundary",
    "headset",
    "di",
    "line",
]

COLUMNS = ("channel", "source", "title", "kind", "pattern", "x", "y", "z", "flip")
MOST_CHANNELS = 1024
FARTHEST_M = 300.0
_CALLED = {  # columns as others name them
    "ch": "channel",
    "chan": "channel",
    "no": "channel",
    "nr": "channel",
    "#": "channel",
    "number": "channel",
    "track": "channel",
    "instrument": "source",
    "name": "source",
    "signal": "source",
    "what": "source",
    "label": "title",
    "track name": "title",
    "mic": "kind",
    "mic di": "kind",
    "mic or di": "kind",
    "microphone": "kind",
    "kind of mic": "kind",
    "mic kind": "kind",
    "mic type": "kind",
    "type": "kind",
    "polar pattern": "pattern",
    "polar": "pattern",
    "polarity": "flip",
    "reversed": "flip",
    "polarity reversed": "flip",
}
_PATTERNS: dict[str, Pattern] = {name: name for name in get_args(Pattern)} | {
    "omnidirectional": "omni",
    "sub": "subcardioid",
    "wide cardioid": "subcardioid",
    "card": "cardioid",
    "super": "supercardioid",
    "hyper": "hypercardioid",
    "figure 8": "figure of eight",
    "fig 8": "figure of eight",
    "figure eight": "figure of eight",
    "8": "figure of eight",
    "bidirectional": "figure of eight",
}
_SAID: tuple[tuple[str, Pickup], ...] = (  # first that fits, in words of the trade
    (r"ribbon", "ribbon"),
    (r"boundary", "boundary"),
    (r"headset|headworn", "headset"),
    (r"clip.*(condenser|mic)|lavalier", "clip condenser"),
    (r"(large|ld|wide).*condenser|ldc", "large condenser"),
    (r"(small|sd|pencil|stick).*condenser|sdc", "small condenser"),
    (r"condenser|electret", "condenser"),
    (r"large.*dynamic", "large dynamic"),
    (r"small.*dynamic", "small dynamic"),
    (r"dynamic|moving coil", "dynamic"),
    (r"(active |passive |stereo )?di( box)?|direct( box)?|.* di", "di"),
    (r"line( level| out)?|playback", "line"),
)
_REVERSED = {"yes", "y", "true", "1", "x", "on", "reversed", "inverted", "flip", "-", "−", "ø"}
_UPRIGHT = {"no", "n", "false", "0", "off", "normal", "upright", "+"}

Cells: TypeAlias = Mapping[str, Cell]  # of a row, by column; without empty ones


class ListedInput(Record):
    """One input of a recording without a plan: what is on which channel, and what is known of how it was picked up."""

    channel: int = Field(ge=1, le=MOST_CHANNELS, description="Channel of the recorder, and number of the track")
    source: Name = Field(description="What makes the sound")
    title: str = Field(default="", description="What the track is called; blank where that is its source")
    kind: Pickup | None = Field(default=None, description="What picks it up; none where the words do not say it")
    said: str = Field(default="", description="The words of the file for that")
    pattern: Pattern | None = Field(default=None, description="How the mic hears around itself; none where not said")
    at: Place3 | None = Field(default=None, description="Where the mic is; none where not said")
    flip: bool | None = Field(default=None, description="Polarity meant to be reversed; none where not said")

    @property
    def label(self) -> str:
        """What stands on the tape."""
        return self.title or self.source

    @property
    def id(self) -> str:
        """Its short stable name."""
        return f"channel-{self.channel}"

    @property
    def number(self) -> int:
        """Number of its track."""
        return self.channel

    @property
    def phantom_need(self) -> Phantom | None:
        """What its kind makes of phantom power (common practice, no source); none where the kind does not tell."""
        if self.kind is None or self.kind in ("headset", "boundary", "di"):
            return None  # of each there are those that need it and those that do not
        return "harmful" if self.kind == "ribbon" else "needed" if "condenser" in self.kind else "ignored"


class InputList(Record):
    """The inputs of a recording without a plan, by channel."""

    input: tuple[ListedInput, ...]
    left_alone: tuple[str, ...] = Field(default=(), description="Columns of the file that are not read")


@dataclass
class _Reading:
    """Where a file is read, and what was found wrong so far."""

    file: str
    faults: list[Blemish] = field(default_factory=list)

    def fault(self, place: str, column: str, read: str, remedy: str) -> None:
        """Keep what is wrong in one cell, so that all is told at once."""
        self.faults.append(Blemish(self.file, place, column, read, remedy))


def read_inputs(path: Path, name: str = "") -> InputList:
    """Read the inputs of a recording from a spreadsheet.

    Parameters
    ----------
    path
        CSV with commas, semicolons or tabs, in UTF-8 with or without its mark, UTF-16 or cp1252; or XLSX, of which the
        first sheet with such columns is read.
    name
        What to call it in faults; the file's own name where blank.

    Returns
    -------
    The inputs in the order of their channels, and the columns that were left alone. Places are in metres.

    Raises
    ------
    BadDocuments
        Every fault of the file at once, each with its row and column: no row of names, a channel missing or there
        twice, a cell that does not say what its column asks for.
    """
    reading = _Reading(name or path.name)
    for table in read_tables(path, reading.file, _fits):
        head = _head(table)
        if head is not None:
            return _read(table, head, reading)
    remedy = f"name the columns in its first row: channel and source, and any of {listed(COLUMNS[2:])}"
    raise BadDocuments((Blemish(reading.file, "", "", "has no row of column names", remedy),))


def _key(cell: Cell) -> str:
    """Return a column's name without unit, case and signs.

    >>> _key("Pos. X (m)"), _key("MIC/DI"), _key("#")
    ('x', 'mic di', '#')
    """
    text = re.sub(r"[\[(].*?[\])]", " ", cell_text(cell).casefold()).strip()
    if text == "#":
        return text
    words = re.sub(r"[\W_]+", " ", text).split()
    axis = [word for word in words if word not in ("pos", "position", "m", "metres")]
    return axis[0] if len(axis) == 1 and axis[0] in ("x", "y", "z") else " ".join(words)


def _columns(row: Sequence[Cell]) -> list[str]:
    keys = [_key(cell) for cell in row]
    return [key if key in COLUMNS else _CALLED.get(key, "") for key in keys]


def _fits(rows: list[list[str]]) -> int:
    return max((len(set(_columns(row)) - {""}) for row in rows), default=0)


def _head(table: Table) -> int | None:
    scores = [len(set(_columns(row)) - {""}) for row in table.rows[:30]]
    best = max(scores, default=0)
    return scores.index(best) if best >= 2 else None


def _read(table: Table, head: int, reading: _Reading) -> InputList:
    reading.faults += table.faults
    named, left_alone = _named(table.rows[head], f"row {head + 1}", reading)
    rows: list[tuple[str, ListedInput]] = []
    for number, row in enumerate(table.rows[head + 1 :], head + 2):
        cells = {named[at]: cell for at, cell in enumerate(row) if cell is not None and at in named}
        first = next((cell_text(cell) for cell in row if cell is not None), "")
        if set(cells) - {"channel", "flip"} and not first.startswith("#") and row != table.rows[head]:
            one = _input(cells, f"row {number}", reading)
            rows += [(f"row {number}", one)] if one else []
    _refuse_twice(rows, reading)
    if not rows and not reading.faults:
        reading.fault("", "", "names no input", "write a row a channel below the column names")
    if reading.faults:
        raise BadDocuments(tuple(reading.faults))
    return InputList(input=tuple(sorted((one for _, one in rows), key=lambda one: one.channel)), left_alone=left_alone)


def _named(row: Sequence[Cell], place: str, reading: _Reading) -> tuple[dict[int, str], tuple[str, ...]]:
    """Tell which column is which, and which are left alone; a misspelt one is asked about."""
    named: dict[int, str] = {}
    left_alone: list[str] = []
    for at, (cell, column) in enumerate(zip(row, _columns(row), strict=True)):
        text = cell_text(cell)
        if column and column in named.values():
            reading.fault(place, f'column "{text}"', f"{column} is there twice", "keep one, or put # before the other")
        elif column:
            named[at] = column
        elif _key(cell) in ("position", "pos"):
            reading.fault(place, f'column "{text}"', "holds more than one number", "give x, y and z a column each")
        elif text and not text.startswith("#"):
            left_alone.append(text)
    for column in ("channel", "source"):
        if column not in named.values():
            meant = nearest(column, left_alone)
            reading.fault(place, "", f"there is no column {column}", f'rename "{meant}"' if meant else "add it")
    return named, tuple(left_alone)


def _input(cells: Cells, place: str, reading: _Reading) -> ListedInput | None:
    """Read one row; none where it has a fault, which is kept."""
    before = len(reading.faults)
    channel = _channel(cells.get("channel"), place, reading)
    source = cell_text(cells.get("source"))
    if not source:
        reading.fault(place, "source", "is missing", "say what makes the sound, or empty the row")
    said = cell_text(cells.get("kind"))
    pattern = _pattern(cell_text(cells.get("pattern")), place, reading)
    at = _place(cells, place, reading)
    flip = _flip(cell_text(cells.get("flip")), place, reading)
    long = [name for name in ("source", "title", "kind") if len(cell_text(cells.get(name))) > 200]
    for column in long:
        reading.fault(place, column, "is longer than 200 signs", "shorten it")
    if len(reading.faults) > before or channel is None:
        return None
    title = cell_text(cells.get("title"))
    return ListedInput(
        channel=channel, source=source, title=title, kind=pickup(said), said=said, pattern=pattern, at=at, flip=flip
    )


def pickup(said: str) -> Pickup | None:
    """Tell what picks a source up from the words for it; none where they do not say.

    >>> pickup("Large-diaphragm condenser"), pickup("DI"), pickup("active DI"), pickup("the old grey one")
    ('large condenser', 'di', 'di', None)
    """
    words = " ".join(re.sub(r"[\W_]+", " ", said.casefold()).split())
    whole = ("di", "line")
    fits = (
        kind
        for pattern, kind in _SAID
        if (re.fullmatch(pattern, words) if kind in whole else re.search(rf"\b(?:{pattern})", words))
    )
    return next(fits, None)


def _channel(cell: Cell, place: str, reading: _Reading) -> int | None:
    if cell is None:
        reading.fault(place, "channel", "is missing", "give the channel of the recorder, from 1")
        return None
    match = re.fullmatch(r"(?:channel|chan|ch|track|trk|in)?[\s.]*0*(\d{1,4})", cell_text(cell).casefold())
    number = int(match[1]) if match else 0
    if 1 <= number <= MOST_CHANNELS:
        return number
    pair = re.fullmatch(r"\d+\s*[-–/+&,]\s*\d+", cell_text(cell))
    remedy = "write a row for each of the two" if pair else f"give a whole number from 1 to {MOST_CHANNELS}"
    reading.fault(place, "channel", f"{shown(cell)} is not one channel", remedy)
    return None


def _pattern(text: str, place: str, reading: _Reading) -> Pattern | None:
    words = " ".join(re.sub(r"[\W_]+", " ", text.casefold()).split())
    if not words:
        return None
    if words not in _PATTERNS:
        guess = nearest(words, get_args(Pattern))
        remedy = f"write {guess}" if guess else f"write one of {listed(get_args(Pattern))}, or leave it empty"
        reading.fault(place, "pattern", f'there is no pattern "{text}"', remedy)
    return _PATTERNS.get(words)


def _place(cells: Cells, place: str, reading: _Reading) -> Place3 | None:
    """Read where the mic is; some of the three alone are no place."""
    said = [axis for axis in "xyz" if axis in cells]
    if not said:
        return None
    if len(said) < 3:
        missing = listed(axis for axis in "xyz" if axis not in said)
        reading.fault(place, "", f"has {listed(said)} without {missing}", "give all three in metres, or none of them")
        return None
    x, y, z = (_metres(cells[axis], axis, place, reading) for axis in "xyz")
    return None if x is None or y is None or z is None else (x, y, z)


def _metres(cell: Cell, axis: str, place: str, reading: _Reading) -> float | None:
    """Read a coordinate; nobody parts thousands of metres, so a comma is a decimal sign here."""
    text = cell_text(cell)
    try:
        value = cell if isinstance(cell, float) else cell_number(re.sub(r"^(\D?\d+),(\d+)", r"\1.\2", text), _METRES)
    except Unreadable as trouble:
        reading.fault(place, axis, trouble.read, trouble.remedy)
        return None
    if not abs(value) <= FARTHEST_M:
        reading.fault(place, axis, f"{shown(cell)} is more than {FARTHEST_M:.0f} metres away", "give metres")
        return None
    return float(value)


_METRES = Slot(float, "place_m")


def _flip(text: str, place: str, reading: _Reading) -> bool | None:
    word = text.casefold()
    if word and word not in _REVERSED | _UPRIGHT:
        reading.fault(place, "flip", f"{shown(text)} is neither yes nor no", "write yes where it is meant reversed")
    return word in _REVERSED if word in _REVERSED | _UPRIGHT else None


def _refuse_twice(rows: Sequence[tuple[str, ListedInput]], reading: _Reading) -> None:
    first: dict[int, str] = {}
    for place, one in rows:
        if one.channel in first:
            read = f"channel {one.channel} is there twice, {first[one.channel]} has it too"
            reading.fault(place, "channel", read, "correct one of the two")
        first.setdefault(one.channel, place)
