"""Reading copies back from the medium and comparing them with what was read from the card."""

from __future__ import annotations

import errno
import io
import os
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

from blake3 import blake3

from fieldfare.takes.offload.card import CardFile
from fieldfare.takes.offload.disk import Disk, How
from fieldfare.takes.offload.journal import Digest, Line, State
from fieldfare.takes.offload.place import Place
from fieldfare.takes.offload.reading import Tick
from fieldfare.takes.wave.source import aligned_buffer

_BLOCK_BYTES = 4 << 20  # a multiple of what any medium reads at once; large, as nothing reads ahead around the cache


def stands(place: Place, file: CardFile) -> Line | None:
    """Return the journal's word that the copy was read back equal, if the copy has not been touched since."""
    line = place.line_of(file)
    return line if line is not None and _untouched(place, line) else None


def standing(place: Place) -> Iterator[Line]:
    """List every copy at a place that was read back equal and has not been touched since, whichever card it is of."""
    return (line for line in place.journal.line.values() if _untouched(place, line))


def _untouched(place: Place, line: Line) -> bool:
    if line.state != "equal":
        return False
    try:
        how = place.path_of(line.file).lstat()
    except OSError:
        return False
    return (how.st_size, how.st_mtime_ns) == (line.bytes, line.copy_ns)


def read_back(disk: Disk, place: Place, file: CardFile, digest: Digest, pool: ThreadPoolExecutor, tick: Tick) -> str:
    """Read a copy back, compare it, and enter the outcome in the journal.

    Returns
    -------
    What is wrong with the copy; blank where it is equal.
    """
    path = place.path_of(file.name)
    try:
        before = path.lstat()
        found, how = _hash(disk, path, pool, tick)
    except OSError as error:
        return f"the copy at {place.root} cannot be read back ({error.strerror})"
    equal = found == digest.blake3 and before.st_size == file.bytes
    known = place.line_of(file)
    now = (before.st_size, before.st_mtime_ns)
    ours = known is not None and known.ours and now == (known.bytes, known.copy_ns)
    state: State = "equal" if equal else "differs"
    try:
        place.journal.add(Line.about(file, digest, state, copy_ns=before.st_mtime_ns, ours=ours, how=how))
    except OSError as error:
        place.give_up_if_lost(error)
        return f"nothing more can be written at {place.root} ({error.strerror})"
    return "" if equal else f"the copy at {path} differs from the card"


def _hash(disk: Disk, path: Path, pool: ThreadPoolExecutor, tick: Tick) -> tuple[str, How]:
    """Hash a file as the medium has it. Some systems refuse to go around the cache only when the reading starts."""
    file, how = disk.open_back(path)
    try:
        return _hash_open(file, pool, tick), how
    except OSError as error:
        if error.errno != errno.EINVAL:
            raise
    finally:
        file.close()
    file, how = disk.open_back(path, direct=False)
    with file:
        return _hash_open(file, pool, tick), how


def _hash_open(file: io.FileIO, pool: ThreadPoolExecutor, tick: Tick) -> str:
    """Hash an open file, one block being hashed while the next is read."""
    hasher = blake3()
    buffers = (aligned_buffer(_BLOCK_BYTES), aligned_buffer(_BLOCK_BYTES))
    size = os.fstat(file.fileno()).st_size
    busy: Future[object] | None = None
    done = number = 0
    while done < size:  # not until nothing comes: around the cache nothing may be read from an odd place
        buffer = buffers[number % 2]
        count = file.readinto(buffer)
        if not count:
            break
        if busy is not None:
            busy.result()
        busy = pool.submit(hasher.update, buffer[:count])
        done, number = done + count, number + 1
        tick(count)
    if busy is not None:
        busy.result()
    return hasher.hexdigest()
