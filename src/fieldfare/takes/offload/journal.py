"""The journal of a destination: what was copied to it and what was read back from it. Only ever added to.

A line is on the medium before the next thing happens, so whatever moment the machine dies at, the journal claims
nothing that is not so. Half a last line is not a line.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from fieldfare.takes.offload.card import CardFile

State = Literal["copied", "equal", "differs"]


@dataclass(frozen=True, slots=True)
class Digest:
    """What the bytes of a file come to: one hash for the papers, a faster one for reading back."""

    sha256: str
    blake3: str


@dataclass(frozen=True, slots=True)
class Line:
    """One file at one moment: as it was on the card, and how its copy stands."""

    file: str
    bytes: int
    changed_ns: int  # of the card's file
    sha256: str
    blake3: str
    state: State
    copy_ns: int  # time of change of the copy
    ours: bool  # the copy was made by an offload, not found in place
    how: str = ""  # how far past the cache it was read back

    @classmethod
    def about(cls, file: CardFile, digest: Digest, state: State, *, copy_ns: int, ours: bool, how: str = "") -> Line:
        """Make the line about a file of the card."""
        return cls(file.name, file.bytes, file.changed_ns, digest.sha256, digest.blake3, state, copy_ns, ours, how)

    def is_of(self, file: CardFile) -> bool:
        """Whether the card's file is still the one that was read."""
        return (self.bytes, self.changed_ns) == (file.bytes, file.changed_ns)

    @property
    def digest(self) -> Digest:
        """Hashes of what was read from the card."""
        return Digest(self.sha256, self.blake3)


class Journal:
    """A file of lines. The last line about a file counts."""

    def __init__(self, path: Path) -> None:
        content = path.read_bytes() if path.exists() else b""
        self.line = {line.file: line for line in _lines(content)}
        self._file = path.open("ab", buffering=0)
        if content[-1:] not in (b"", b"\n"):
            self._file.write(b"\n")  # after half a line, left by whatever ended the last run

    def add(self, line: Line) -> None:
        """Add a line and wait until it is on the medium."""
        self._file.write(json.dumps(asdict(line), separators=(",", ":")).encode("ascii") + b"\n")
        os.fsync(self._file.fileno())
        self.line[line.file] = line

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()


def _lines(content: bytes) -> Iterable[Line]:
    for text in content.split(b"\n"):
        try:
            yield Line(**json.loads(text))
        except (ValueError, TypeError):
            continue
