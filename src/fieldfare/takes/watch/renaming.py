"""Which file is an older one under another name: recorders give a take its name when they close it.

The number that the file system knows a file by tells; where it gives none, or gives new ones as some do for FAT, a file
of the very size and time of last writing of one that is gone.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import PurePosixPath
from typing import NamedTuple


class Stamp(NamedTuple):
    """What a file keeps when it is renamed."""

    bytes: int
    written_ns: int
    number: int = 0  # in the file system; 0 where it gives none


def renamed(before: Mapping[str, Stamp], now: Mapping[str, Stamp]) -> dict[str, str]:
    """Tell which new names are those of files that had others.

    Parameters
    ----------
    before, now
        The files of two looks, by name.

    Returns
    -------
    New names to old ones.

    >>> renamed({"a.wav": Stamp(9, 1, 7)}, {"b.wav": Stamp(12, 2, 7)})
    {'b.wav': 'a.wav'}
    """
    gone = {name: stamp for name, stamp in before.items() if name not in now}
    fresh = {name: stamp for name, stamp in now.items() if name not in before}
    pairs: dict[str, str] = {}
    for name, stamp in fresh.items():
        free = {old: one for old, one in gone.items() if old not in pairs.values()}
        alike = [old for old, one in free.items() if one.number and one.number == stamp.number]
        if not alike:
            kind = PurePosixPath(name).suffix.casefold()
            alike = [
                old
                for old, one in free.items()
                if one[:2] == stamp[:2] and stamp.bytes and PurePosixPath(old).suffix.casefold() == kind
            ]
        if len(alike) == 1:
            pairs[name] = alike[0]
    return pairs
