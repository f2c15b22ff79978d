"""What is kept where: the files of a show with their hashes, the places that hold them, and every check of each."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from fieldfare.show.files import write_whole
from fieldfare.show.kept import read_kept
from fieldfare.show.record import Name, Record

ARCHIVE_FILE = "archive.json"
EVERY_DAYS = 180  # common practice, no source: twice a year

State = Literal["whole", "drifted", "away"]
Drift = Literal["missing", "changed", "unreadable", "not listed"]


class KeptFile(Record):
    """One file, as it must stay."""

    path: Name = Field(description="From the folder of its place")
    bytes: int = Field(ge=0)
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")


class Drifted(Record):
    """One file that is not as it was."""

    path: str
    kind: Drift
    says: str = ""


class Checked(Record):
    """One reading of a place."""

    on: dt.date
    state: State
    how: str = Field(default="", description="How far past the system's cache it was read")
    drifted: tuple[Drifted, ...] = ()


class ArchivePlace(Record):
    """A folder that holds all of a show."""

    folder: Name = Field(description="Where it is when its disc is connected")
    label: str = Field(default="", description="What is written on the disc, and where it is kept")
    beside: tuple[str, ...] = Field(
        default=(), description="Folders of other places that lay on its device when both were last connected"
    )
    memory: bool = Field(default=False, description="Whether it lay in the machine's memory, where nothing stays")
    check: tuple[Checked, ...] = Field(default=(), description="The first one when it was added; none is taken out")

    @property
    def last_whole(self) -> dt.date | None:
        """When every byte of it was last read and right; none where something was wrong since."""
        read = [one for one in self.check if one.state != "away"]
        return read[-1].on if read and read[-1].state == "whole" else None


class ArchiveBook(Record):
    """What is kept of a show, and where."""

    show: Name
    every_days: Annotated[int, Field(ge=1, le=3650)] = Field(
        default=EVERY_DAYS, description="How often every byte of every place is read"
    )
    file: tuple[KeptFile, ...] = ()
    place: tuple[ArchivePlace, ...] = ()


class PlaceReport(Record):
    """How one place stands."""

    folder: str
    label: str
    state: State
    last_whole: dt.date | None
    due: dt.date = Field(description="When it must be read again")
    read_now: bool = Field(description="Whether every byte was read in this check")
    drifted: tuple[Drifted, ...] = ()


class ArchiveReport(Record):
    """How what is kept of a show stands."""

    show: str
    folder: str
    files: int
    bytes: int
    copies: int = Field(description="That are whole, on different devices, and not overdue")
    place: tuple[PlaceReport, ...]
    says: tuple[str, ...] = Field(
        default=(), description="What a person must do, in sentences; nothing where all is well"
    )


def read_archive(folder: Path) -> ArchiveBook | None:
    """Read what is kept of a show; none where nothing was put down yet.

    Raises
    ------
    Fault
        The file is there and cannot be read.
    """
    remedy = "take a copy of it from another disc, or move it away and add the places anew"
    return read_kept(folder / ARCHIVE_FILE, ArchiveBook, "this is not a list of what is kept where", remedy)


def write_archive(folder: Path, book: ArchiveBook) -> None:
    """Write what is kept of a show.

    Raises
    ------
    NotDone
        It cannot be written; it is as it was.
    """
    write_whole(folder / ARCHIVE_FILE, book.model_dump_json(indent=1).encode(), replace=True)
