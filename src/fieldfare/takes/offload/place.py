"""A destination of an offload: where its copies, its journal and its unfinished parts lie.

`<root>/<name>/` holds the copies and nothing else, `<root>/.<name>.offload/` the journal and the parts, and beside them
stand `<root>/<name>.offload.json` and `<root>/<name>.sha256`.
"""

from __future__ import annotations

import errno
import itertools
import os
from pathlib import Path
from typing import IO

from fieldfare.takes.offload.card import CardFile
from fieldfare.takes.offload.device import Device
from fieldfare.takes.offload.journal import Journal, Line
from fieldfare.units.faults import NotDone

_LOST = frozenset((errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.ENODEV, errno.ENXIO, errno.EIO, errno.ESTALE))


class Place:
    """One destination, opened: nobody else offloads the same name to it meanwhile."""

    def __init__(self, root: Path, name: str, device: Device) -> None:
        self.root, self.device = root, device
        self.folder = root / name
        self.report_path = root / f"{name}.offload.json"
        self.hashes_path = root / f"{name}.sha256"
        self.lost = ""  # why nothing more is written there
        self._work = root / f".{name}.offload"
        self._number = itertools.count()
        try:
            self._work.mkdir(parents=True, exist_ok=True)
            self._lock = _lock(self._work / "lock")
            for left in self._work.glob("*.part"):
                left.unlink()
            self.folder.mkdir(exist_ok=True)
            self.report_path.unlink(missing_ok=True)  # it spoke of an earlier moment; a new one is written at the end
            self.journal = Journal(self._work / "journal.jsonl")
        except OSError as error:
            raise NotDone(f"cannot be written ({error.strerror})", str(root), "check the disc") from error

    def close(self) -> None:
        """Let go of the journal and the lock."""
        self.journal.close()
        self._lock.close()

    def part_path(self) -> Path:
        """Return a new name for a copy that is not finished."""
        return self._work / f"{next(self._number)}.part"

    def path_of(self, name: str) -> Path:
        """Return where the copy of a file of the card stands."""
        return self.folder / name

    def holds(self, file: CardFile) -> bool:
        """Whether something stands under the file's name, ours or not."""
        return os.path.lexists(self.path_of(file.name))

    def line_of(self, file: CardFile) -> Line | None:
        """Return what the journal says of the file, if it is still the one on the card."""
        line = self.journal.line.get(file.name)
        return line if line is not None and line.is_of(file) else None

    def set_aside(self, file: CardFile) -> str:
        """Move a copy of ours that differs out of the way, and say where it went; blank where it is not ours."""
        line, path = self.line_of(file), self.path_of(file.name)
        how = path.lstat()
        if line is None or not line.ours or (how.st_size, how.st_mtime_ns) != (line.bytes, line.copy_ns):
            return ""
        return str(path.rename(free_name(path, "differs")))

    def give_up_if_lost(self, error: OSError) -> None:
        """Stop writing here where the fault is not of one file but of the disc."""
        if error.errno in _LOST or not self.root.is_dir():
            self.lost = error.strerror or str(error)


def free_name(path: Path, mark: str) -> Path:
    """Return a name beside that of a file, with a mark in it, that nothing has yet."""
    for number in itertools.count(1):
        tried = path.with_name(f"{path.stem} ({mark if number == 1 else f'{mark} {number}'}){path.suffix}")
        if not os.path.lexists(tried):
            return tried
    raise AssertionError("a count has no end")


def _lock(path: Path) -> IO[bytes]:
    """Hold a lock that the system lets go of if we die."""
    file = path.open("ab")
    try:
        if os.name == "nt":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError) as error:
        file.close()
        what = "another offload of that name is writing here"
        raise NotDone(what, str(path.parent.parent), "let it finish, or give this one another name") from error
    except OSError:  # some shares know no locks
        return file
    return file
