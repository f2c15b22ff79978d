"""Reading files as the medium has them, around the system's cache where it lets us, and hashing what was read."""

from __future__ import annotations

import errno
import hashlib
import io
import os
from collections.abc import Callable, Sequence
from pathlib import Path

from fieldfare.takes.offload.disk import Disk, How
from fieldfare.takes.wave.source import aligned_buffer

BLOCK_BYTES = 4 << 20  # a multiple of what any medium reads at once
Tick = Callable[[int], None]


def hashed(path: Path, algorithms: Sequence[str], tick: Tick | None = None) -> tuple[dict[str, str], How]:
    """Hash a file as it lies on the medium.

    Parameters
    ----------
    path
        The file.
    algorithms
        Names of hashes as the standard library has them.
    tick
        Called with the bytes that were read. [byte]

    Returns
    -------
    Each hash in hexadecimal, and how far past the cache the reading went.

    Raises
    ------
    OSError
        As the system raises it.
    """
    disk = Disk()
    file, how = disk.open_back(path)
    try:
        return _hash_open(file, algorithms, tick), how
    except OSError as error:
        if error.errno != errno.EINVAL:  # some systems refuse to go around the cache only when the reading starts
            raise
    finally:
        file.close()
    file, how = disk.open_back(path, direct=False)
    with file:
        return _hash_open(file, algorithms, tick), how


def _hash_open(file: io.FileIO, algorithms: Sequence[str], tick: Tick | None) -> dict[str, str]:
    hashers = [hashlib.new(name, usedforsecurity=False) for name in algorithms]
    buffer = aligned_buffer(BLOCK_BYTES)
    done, size = 0, os.fstat(file.fileno()).st_size
    while done < size:  # not until nothing comes: around the cache nothing may be read from an odd place
        count = file.readinto(buffer)
        if not count:
            break
        for hasher in hashers:
            hasher.update(buffer[:count])
        done += count
        if tick is not None:
            tick(count)
    return {name: hasher.hexdigest() for name, hasher in zip(algorithms, hashers, strict=True)}
