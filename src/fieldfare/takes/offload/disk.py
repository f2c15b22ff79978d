"""The calls to the system that an offload makes, in one place, so that a test can make any of them fail.

A file gets its own name only when all its bytes are on the medium, and never in place of another file.
"""

from __future__ import annotations

import errno
import io
import os
import shutil
import sys
from pathlib import Path
from typing import Literal

from fieldfare.takes.offload.device import Device, device_of
from fieldfare.takes.wave.source import open_untouched

How = Literal["around the cache", "cache emptied first", "through the cache"]
HOWS: tuple[How, ...] = ("around the cache", "cache emptied first", "through the cache")  # from best to worst
_DIRECT: int = getattr(os, "O_DIRECT", 0)
_MAC_NO_CACHE, _MAC_FULL_SYNC = 48, 51
# What a file system without links says. Windows says "incorrect function" or "not supported", of FAT, exFAT and shares:
# Python makes EINVAL of both.
_NO_LINKS = frozenset(
    (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EACCES, errno.EMLINK, errno.EINVAL)
)
_NOT_KNOWN = frozenset((errno.EINVAL, errno.ENOTSUP, errno.ENOTTY))  # what drivers say to a call that they do not have


class Disk:
    """The system's files. Every method raises OSError as the system does."""

    def open_source(self, path: Path) -> io.FileIO:
        """Open a file of the card for reading only."""
        file = open_untouched(path)
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_SEQUENTIAL)
        return file

    def create(self, path: Path) -> io.FileIO:
        """Make a new file for writing; one that is there is an error."""
        return io.FileIO(str(path), "xb")

    def write(self, file: io.FileIO, block: memoryview) -> int:
        """Write what the system takes of a block at once, and return how much that was. [byte]"""
        return file.write(block)

    def device(self, folder: Path) -> Device:
        """Tell which device a folder lies on."""
        return device_of(folder)

    def may_write(self, folder: Path) -> bool:
        """Tell whether new names may be made in a folder, as far as the system says before it is tried."""
        return os.access(folder, os.W_OK | os.X_OK)

    def free_bytes(self, folder: Path) -> int:
        """Return the room left for us on the disc of a folder. [byte]"""
        return shutil.disk_usage(folder).free

    def settle(self, file: io.FileIO) -> None:
        """Wait until the bytes of a file are on the medium."""
        if not (sys.platform == "darwin" and _told(file, _MAC_FULL_SYNC)):
            os.fsync(file.fileno())

    def settle_folder(self, folder: Path) -> None:
        """Wait until the names in a folder are on the medium, where the system lets us."""
        if os.name == "nt":
            return
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        except OSError as error:
            if error.errno not in _NOT_KNOWN:
                raise
        finally:
            os.close(handle)

    def place(self, part: Path, final: Path) -> None:
        """Give a finished file its own name; FileExistsError where something has it already."""
        try:
            os.link(part, final)
        except OSError as error:
            if error.errno not in _NO_LINKS:
                raise
            if os.path.lexists(final):
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(final)) from error
            part.rename(final)
        else:
            part.unlink()
        self.settle_folder(final.parent)

    def open_back(self, path: Path, *, direct: bool = True) -> tuple[io.FileIO, How]:
        """Open a copy for reading it back from the medium, and say how far past the cache that goes."""
        if _DIRECT and direct:
            try:
                return io.FileIO(str(path), "rb", opener=lambda name, flags: os.open(name, flags | _DIRECT)), HOWS[0]
            except OSError as error:
                if error.errno != errno.EINVAL:
                    raise
        file = io.FileIO(str(path), "rb")
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
            return file, HOWS[1]
        if sys.platform == "darwin" and _told(file, _MAC_NO_CACHE):
            return file, HOWS[1]
        return file, HOWS[2]


def _told(file: io.FileIO, call: int) -> bool:
    """Make a call of macOS about a file, and tell whether its file system has it: many a share has not."""
    import fcntl

    try:
        fcntl.fcntl(file.fileno(), call, 1)
    except OSError as error:
        if error.errno not in _NOT_KNOWN:
            raise
        return False
    return True
