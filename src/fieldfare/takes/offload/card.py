"""What lies on the card: every file with its size and time, every folder, and what is passed over and why."""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass, field
from pathlib import Path

SYSTEM_FOLDERS = frozenset(
    (
        *("System Volume Information", "$RECYCLE.BIN", "lost+found"),
        *(".Trashes", ".Spotlight-V100", ".fseventsd", ".TemporaryItems", ".DocumentRevisions-V100"),
    )
)


@dataclass(frozen=True, slots=True)
class CardFile:
    """A file of the card, by its name from the card's root with `/` between folders."""

    name: str
    bytes: int
    changed_ns: int


@dataclass(frozen=True, slots=True)
class Listing:
    """Everything on a card at one moment."""

    file: tuple[CardFile, ...]
    folder: tuple[str, ...]
    passed_over: tuple[str, ...]  # sentences: what was not copied, and that it matters
    system: tuple[str, ...]  # folders of the operating system's own that may not be read


@dataclass(slots=True)
class _Found:
    file: list[CardFile] = field(default_factory=list)
    folder: list[str] = field(default_factory=list)
    passed_over: list[str] = field(default_factory=list)
    system: list[str] = field(default_factory=list)


def list_card(card: Path) -> Listing:
    """List a card, in order of name.

    Raises
    ------
    OSError
        The card itself cannot be listed. What fails further down is told in the listing.
    """
    found = _Found()
    _list(card, "", found)
    return Listing(tuple(found.file), tuple(found.folder), tuple(found.passed_over), tuple(found.system))


def _list(folder: Path, ahead: str, found: _Found) -> None:
    for name, how in sorted(_entries(folder), key=lambda entry: entry[0]):
        full = ahead + name
        try:
            if isinstance(how, OSError):
                raise how
            if stat.S_ISDIR(how.st_mode):
                found.folder.append(full)
                _list(folder / name, f"{full}/", found)
            elif stat.S_ISREG(how.st_mode):
                found.file.append(CardFile(full, how.st_size, how.st_mtime_ns))
            elif stat.S_ISLNK(how.st_mode):
                found.passed_over.append(f"{full} is a link, which is not followed; copy what it points to by hand")
            else:
                found.passed_over.append(f"{full} is no file but a device or a channel between programs")
        except OSError as error:
            if not ahead and name in SYSTEM_FOLDERS:
                found.system.append(full)
            else:
                found.passed_over.append(f"{full} cannot be looked at ({error.strerror})")


def _entries(folder: Path) -> list[tuple[str, os.stat_result | OSError]]:
    """Names and kinds in a folder, leaving its time of last access alone where the system lets us."""
    if os.scandir not in os.supports_fd:
        with os.scandir(folder) as entries:
            return [(one.name, _kind(one)) for one in entries]
    handle = _open_folder(folder)
    try:
        with os.scandir(handle) as entries:
            return [(one.name, _kind(one)) for one in entries]
    finally:
        os.close(handle)


def _kind(entry: os.DirEntry[str]) -> os.stat_result | OSError:
    try:
        return entry.stat(follow_symlinks=False)
    except OSError as error:
        return error


def _open_folder(folder: Path) -> int:
    flags = os.O_RDONLY | os.O_DIRECTORY
    try:
        return os.open(folder, flags | getattr(os, "O_NOATIME", 0))
    except PermissionError:
        return os.open(folder, flags)
