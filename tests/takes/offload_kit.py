"""A card, discs that pretend to lie apart, and a look at what is really there."""

from __future__ import annotations

import hashlib
from pathlib import Path

from takes.wave.handmade import noise

from fieldfare.show.findings import OffloadReport
from fieldfare.takes.offload import Disk
from fieldfare.takes.offload.device import Device
from fieldfare.takes.wave import write_whole

Stat = tuple[int, int, int, int]


class FarDisk(Disk):
    """The system's files, but every folder of the given names lies on a disc of its own."""

    def __init__(self, *names: str) -> None:
        self.names = names

    def device(self, folder: Path) -> Device:
        folder.stat()
        return Device(frozenset(name for name in self.names if name in folder.parts) or frozenset(("elsewhere",)))


def make_card(folder: Path, tracks: int = 3, frames: int = 2_000) -> Path:
    """Put a take, its notes, an empty file and an empty folder on a card."""
    card = folder / "CARD"
    (card / "TAKE 01").mkdir(parents=True)
    (card / "EMPTY").mkdir()
    for number in range(1, tracks + 1):
        write_whole(card / "TAKE 01" / f"{number:02d} track.wav", 48_000, 24, noise(frames, 1, number))
    (card / "notes.txt").write_text("the snare mic was moved after song 3")
    (card / "zero.bin").write_bytes(b"")
    return card


def discs(folder: Path) -> list[Path]:
    """Make two folders to offload to."""
    roots = [folder / "LEFT", folder / "RIGHT"]
    for root in roots:
        root.mkdir()
    return roots


def far() -> FarDisk:
    """Return files where the card and both discs lie apart."""
    return FarDisk("CARD", "LEFT", "RIGHT")


def files_of(folder: Path) -> dict[str, str]:
    """Return every file under a folder and its SHA-256, by the standard library alone."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and not path.is_symlink()
    }


def looks_of(paths: list[Path]) -> list[Stat]:
    """Return all that reading a card could change: sizes and the three times of every file and folder."""
    hows = [path.lstat() for path in paths]
    return [(how.st_size, how.st_atime_ns, how.st_mtime_ns, how.st_ctime_ns) for how in hows]


def claims(root: Path) -> OffloadReport | None:
    """Return what the report on a disc claims, if there is one."""
    path = root / "CARD.offload.json"
    return OffloadReport.model_validate_json(path.read_text("utf-8")) if path.exists() else None


def leftovers(root: Path) -> list[str]:
    """Return what lies in the working folder besides journal and lock."""
    return sorted({path.name for path in (root / ".CARD.offload").iterdir()} - {"journal.jsonl", "lock"})
