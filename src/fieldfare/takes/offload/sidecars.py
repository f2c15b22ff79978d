"""What stands beside the copies: a report for programs, and hashes for any system's own checksum tool."""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from fieldfare.show.findings import OffloadReport
from fieldfare.takes.offload.disk import Disk


def hash_line(sha256: str, name: str) -> bytes:
    r"""Return a line of the common checksum form, in which `\`, line feed and carriage return are escaped.

    >>> hash_line("ab", "set 1/kick.wav"), hash_line("ab", "a\\b")
    (b'ab  set 1/kick.wav\n', b'\\ab  a\\\\b\n')
    """
    escaped = name.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")
    mark = "\\" if escaped != name else ""
    return os.fsencode(f"{mark}{sha256}  {escaped}\n")


def write_hashes(disk: Disk, path: Path, lines: Iterable[tuple[str, str]]) -> None:
    """Write hashes and names, in place of an older list."""
    replace_file(disk, path, b"".join(hash_line(sha256, name) for sha256, name in lines))


def write_report(disk: Disk, path: Path, report: OffloadReport) -> None:
    """Write the report, in place of an older one."""
    replace_file(disk, path, report.model_dump_json(indent=1).encode() + b"\n")


def replace_file(disk: Disk, path: Path, content: bytes) -> None:
    """Replace a file of our own by a whole new one, or leave it as it was."""
    part = path.with_name(f".{path.name}.part")
    try:
        with part.open("wb", buffering=0) as file:
            file.write(content)
            disk.settle(file)
        part.replace(path)
        disk.settle_folder(path.parent)
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
