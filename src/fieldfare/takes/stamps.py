"""Stamps of what something is made from: while a stamp is the same, what was made from it need not be made again.

Conventions: a file counts as the same by name, size and time of change; the program itself is part of every stamp.
"""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path

from fieldfare import __version__
from fieldfare.takes.axis import Axis


def stamp_of(*said: object) -> str:
    """Return the SHA-256, in hexadecimal, of what something is made from, and of the program that makes it."""
    return sha256("\n".join((__version__, *map(repr, said))).encode()).hexdigest()


def stamp_of_take(axis: Axis, *said: object) -> str:
    """Return the stamp of what is made from a take: its files, what was drawn of its tracks, and what was asked."""
    heads = [head for course in axis.courses for head in course.strand.part]
    tracks = [(track.label, track.number, track.channel, track.drawn) for track in axis.track]
    return stamp_of(axis.name, axis.rate_hz, axis.frames, tracks, stamps_of_files(head.path for head in heads), *said)


def stamps_of_files(paths: Iterable[Path]) -> list[tuple[str, int, int]]:
    """Return name, size in bytes and time of change in nanoseconds of each file."""
    return [(path.name, stat.st_size, stat.st_mtime_ns) for path in paths for stat in [path.stat()]]
