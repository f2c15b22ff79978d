"""Opening recordings for reading only, and looking at bytes anywhere in them."""

from __future__ import annotations

import io
import mmap
import os
from pathlib import Path

from fieldfare.takes.wave.layouts import RIFF, Layout
from fieldfare.units.faults import Fault

_NO_ACCESS_TIME: int = getattr(os, "O_NOATIME", 0)


def _opener(path: str, flags: int) -> int:
    try:
        return os.open(path, flags | _NO_ACCESS_TIME)
    except PermissionError:  # only the owner of a file may leave its time of last access alone
        return os.open(path, flags)


def open_untouched(path: Path) -> io.FileIO:
    """Open a file for reading only, unbuffered, leaving its time of last access alone where the system lets us."""
    return io.FileIO(str(path), "rb", opener=_opener)


def open_readonly(path: Path) -> io.FileIO:
    """Open a file as `open_untouched` does, or say in one sentence why not.

    Raises
    ------
    Fault
        The file is not there or may not be read.
    """
    try:
        return open_untouched(path)
    except OSError as error:
        raise Fault(f"cannot be opened ({error.strerror})", str(path), "check the path and the card") from error


def aligned_buffer(size: int) -> memoryview:
    """Return a writable buffer that starts on a page: reading into it is several times faster than into the heap."""
    return memoryview(mmap.mmap(-1, size))


class View:
    """The bytes of an open file, read by place, and how chunks stand in it. Past the end there are none."""

    def __init__(self, file: io.FileIO, layout: Layout = RIFF) -> None:
        self._file = file
        self.layout = layout
        self.size = os.fstat(file.fileno()).st_size

    def at(self, offset: int, count: int) -> bytes:
        """Return up to `count` bytes from `offset`; fewer only at the end of the file."""
        self._file.seek(offset)
        parts: list[bytes] = []
        while count > 0 and (part := self._file.read(count)):
            parts.append(part)
            count -= len(part)
        return b"".join(parts)
