"""The one family of errors that reaches a person.

Fault                  something a person can put right: what is wrong, where, and what to do
├── OutOfRange         a number outside what a formula holds for (also a ValueError)
├── BadDocuments       every fault found in the documents, at once
└── NotDone            it could not be done, and nothing was changed
"""

from __future__ import annotations

from dataclasses import dataclass


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


class BadDocuments(Fault):
    """Every fault found in the documents, at once."""

    def __init__(self, blemishes: tuple[Blemish, ...]) -> None:
        first = blemishes[0]
        super().__init__(first.read, first.file, first.remedy)
        self.args = (blemishes,)
        self.blemishes = blemishes

    def __str__(self) -> str:
        return "\n".join(str(blemish) for blemish in self.blemishes)
