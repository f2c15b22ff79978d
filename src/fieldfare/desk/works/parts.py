"""Finished parts of long work: kept as each is done, so that what was cut off begins at the first that is missing.

A part is found again only while everything that it was made from is as it was: the files by name, size and time, the
drawing, what was asked, and the program itself. Once the whole work is done its parts are let go of.
"""

from __future__ import annotations

from pathlib import Path
from shutil import rmtree

from fieldfare.show.files import write_whole
from fieldfare.takes.offload.kept import TAKES
from fieldfare.units.text import file_stem

FOLDER = "parts"


class Parts:
    """The finished parts of one kind of work in a show."""

    def __init__(self, show: Path, kind: str) -> None:
        self._folder = show / TAKES / FOLDER / kind

    def find(self, name: str, stamp: str) -> bytes | None:
        """Return a part that was made from just this; None where there is none."""
        try:
            return self._file(name, stamp).read_bytes()
        except OSError:
            return None

    def keep(self, name: str, stamp: str, content: bytes) -> None:
        """Keep a part that is done.

        Raises
        ------
        NotDone
            It cannot be written.
        """
        self._folder.mkdir(parents=True, exist_ok=True)
        write_whole(self._file(name, stamp), content, replace=True)

    def let_go(self) -> None:
        """Take all parts away: the whole work is done."""
        rmtree(self._folder, ignore_errors=True)

    def _file(self, name: str, stamp: str) -> Path:
        return self._folder / f"{file_stem(name, 'part')}-{stamp[:32]}"
