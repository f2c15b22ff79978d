"""Which device a folder lies on, and what that device cannot do.

Two folders are on different devices only if no part of either lies on a disc of the other. On Linux the kernel tells
the disc behind a partition or a logical volume. Elsewhere volumes are told apart, and two volumes of one disc look like
two devices.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path

FAT_LIMIT = (1 << 32) - 1  # [FAT32]
_MEMORY = frozenset(("tmpfs", "ramfs", "devtmpfs"))
_FAT = frozenset(("vfat", "msdos"))


@dataclass(frozen=True, slots=True)
class Device:
    """What a folder lies on."""

    discs: frozenset[str]
    memory: bool = False  # gone when the machine is switched off
    largest_file: int | None = None  # [byte]

    def shares_with(self, other: Device) -> bool:
        """Whether the two have a disc in common."""
        return bool(self.discs & other.discs)


@dataclass(frozen=True, slots=True)
class _Mount:
    point: str
    kind: str
    source: str


def device_of(folder: Path) -> Device:
    """Find the device of a folder that exists."""
    number = folder.stat().st_dev
    mount = _mount_of(folder)
    if mount is None:
        return Device(frozenset((f"volume {number}",)))
    limit = FAT_LIMIT if mount.kind in _FAT else None
    return Device(_discs_of(mount, number), mount.kind in _MEMORY, limit)


def _discs_of(mount: _Mount, number: int) -> frozenset[str]:
    if mount.source.startswith("/dev/"):
        try:
            return _discs(Path(mount.source).stat().st_rdev)
        except OSError:
            return frozenset((mount.source,))
    if ":" in mount.source or mount.source.startswith("//"):  # a share on another machine
        return frozenset((mount.source.lstrip("/").split(":")[0].split("/")[0],))
    if mount.kind == "zfs":  # many volumes of one pool
        return frozenset((f"pool {mount.source.split('/')[0]}",))
    return frozenset((f"volume {number}",))


def _mount_of(folder: Path) -> _Mount | None:
    """The innermost mount that holds the folder, where the system lists its mounts."""
    try:
        lines = Path("/proc/self/mountinfo").read_text("utf-8", "surrogateescape").splitlines()
    except OSError:
        return None
    real = os.path.realpath(folder)
    best: _Mount | None = None
    for line in lines:
        ahead, _, behind = line.partition(" - ")
        point = _plain(ahead.split(" ")[4])
        kind, source = behind.split(" ")[:2]
        inside = real == point or real.startswith(point.rstrip("/") + "/")
        if inside and (best is None or len(point) >= len(best.point)):
            best = _Mount(point, kind, _plain(source))
    return best


def _plain(field: str) -> str:
    """Undo the octal escapes that the kernel puts in place of spaces and the like.

    >>> _plain(r"/media/Card\\0401")
    '/media/Card 1'
    """
    return re.sub(r"\\([0-7]{3})", lambda found: chr(int(found[1], 8)), field)


def _discs(number: int) -> frozenset[str]:
    """The whole discs behind a block device."""
    return _discs_behind(Path(f"/sys/dev/block/{os.major(number)}:{os.minor(number)}").resolve())


def _discs_behind(node: Path) -> frozenset[str]:
    """Go from a device in the kernel's tree to its disc, or to those that a volume or a file on a disc lies on."""
    if (node / "partition").exists():
        node = node.parent
    file = _backing_file(node)
    if file is not None and file.parent.is_dir():
        return device_of(file.parent).discs
    below = sorted((node / "slaves").iterdir()) if (node / "slaves").is_dir() else []
    if not below:
        return frozenset((node.name,))
    return frozenset[str]().union(*(_discs_behind(one.resolve()) for one in below))


def _backing_file(node: Path) -> Path | None:
    """Return the file that stands in for a disc, as that of an encrypted container does."""
    told = node / "loop" / "backing_file"
    return Path(told.read_text("utf-8", "surrogateescape").rstrip("\n")) if told.exists() else None
