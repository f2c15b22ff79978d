"""The one family of errors that reaches a person.

Fault                  something a person can put right: what is wrong, where, and what to do
├── OutOfRange         a number outside what a formula holds for (also a ValueError)
├── BadDocuments       every fault found in the documents, at once
└── NotDone            it could not be done, and nothing was changed
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from fieldfare.units.text import listed, spans


class Fault(Exception):
    """Something a person can put right: what is wrong, where, and what to do."""

    def __init__(self, what: str, where: str, remedy: str) -> None:
        super().__init__(what, where, remedy)  # all in args: it must survive a worker's pickle
        self.what, self.where, self.remedy = what, where, remedy

    def __str__(self) -> str:
        return f"{self.where}: {self.what}; {self.remedy}"


class OutOfRange(Fault, ValueError):
    """A number outside what the formula holds for."""


class NotDone(Fault):
    """What was asked could not be done, and nothing was changed."""


@dataclass(frozen=True, slots=True)
class Blemish:
    """One fault of a document: where it stands, what was read there and what would be right."""

    file: str
    place: str  # "line 12" in TOML, "row 7" in a spreadsheet; "" where the file itself is at fault
    field: str
    read: str
    remedy: str

    def __str__(self) -> str:
        where = ", ".join(part for part in (self.file, self.place, self.field) if part)
        return f"{where}: {self.read}; {self.remedy}"


def folded(blemishes: Iterable[Blemish]) -> tuple[Blemish, ...]:
    """Tell once what is wrong in the same way in the same column of several rows of a spreadsheet.

    >>> told = [Blemish("kit.csv", f"row {n}", f'mic "{n}", bin', 'no bin "A"', "add it") for n in (2, 3, 4, 9)]
    >>> print(*folded(told))
    kit.csv, rows 2 to 4, 9, mic, bin: no bin "A"; add it
    """
    alike: dict[object, list[Blemish]] = {}
    for place, one in enumerate(blemishes):
        row, column = _ROW.fullmatch(one.place), one.field.rpartition(", ")[2]
        key = (one.file, row["sheet"], column, one.read, one.remedy) if row and column != one.field else place
        alike.setdefault(key, []).append(one)
    return tuple(_as_one(several) for several in alike.values())


_ROW = re.compile(r"(?P<sheet>sheet .*, )?row (?P<number>\d+)")


def _as_one(several: list[Blemish]) -> Blemish:
    first = several[0]
    if len(several) == 1:
        return first
    rows = [row for one in several if (row := _ROW.fullmatch(one.place))]
    things = listed(dict.fromkeys(one.field.split(" ")[0].rstrip(",") for one in several))
    place = f"{rows[0]['sheet'] or ''}rows {spans(int(row['number']) for row in rows)}"
    return replace(first, place=place, field=f"{things}, {first.field.rpartition(', ')[2]}")


class BadDocuments(Fault):
    """Every fault found in the documents, at once."""

    def __init__(self, blemishes: tuple[Blemish, ...]) -> None:
        first = blemishes[0]
        super().__init__(first.read, first.file, first.remedy)
        self.args = (blemishes,)
        self.blemishes = blemishes

    def __str__(self) -> str:
        return "\n".join(str(blemish) for blemish in self.blemishes)
