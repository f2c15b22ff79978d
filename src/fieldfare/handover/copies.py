"""Files that go into a parcel as they are: copied under safe names, hashed on the way, not copied twice."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Sequence
from pathlib import Path

from fieldfare.handover.bag import ALGORITHM
from fieldfare.handover.names import safe_name, told_apart
from fieldfare.takes.proven import Proven

_BLOCK_BYTES = 1 << 20


def files_in(folder: Path, endings: tuple[str, ...]) -> tuple[Path, ...]:
    """Return the files of some endings below a folder, but for unfinished work: what is hidden, or in a hidden folder.

    Parameters
    ----------
    folder
        Where they lie; one that is not there holds none.
    endings
        In small letters, each with its dot.
    """
    found = sorted(path for path in folder.rglob("*") if path.suffix.casefold() in endings and path.is_file())
    return tuple(path for path in found if not any(name.startswith(".") for name in path.relative_to(folder).parts))


def copy_files(proven: Proven, files: Sequence[Path], folder: Path, tell: Callable[[float], None]) -> dict[Path, str]:
    """Copy files into a folder of a parcel, but for those that were copied before it was broken off.

    Parameters
    ----------
    proven
        The parcel's files that are proven or copied.
    files
        The originals; they are only read.
    folder
        Where they go.
    tell
        Called with the share of the bytes that is done, from 0 to 1.

    Returns
    -------
    Each copy in the order of the originals, with the SHA-512 of what was read of its original.
    """
    folder.mkdir(parents=True, exist_ok=True)
    names = told_apart(f"{safe_name(path.stem)}{path.suffix.casefold()}" for path in files)
    total, done = max(1, sum(path.stat().st_size for path in files)), 0

    def tick(count: int) -> None:
        nonlocal done
        done += count
        tell(done / total)

    copied: dict[Path, str] = {}
    for path, name in zip(files, names, strict=True):
        target = folder / name
        digest = proven.find_copy(target, path)
        if digest is None:
            digest = _copy(path, target, tick)
            proven.keep_copy(target, path, digest)
        else:
            tick(path.stat().st_size)
        copied[target] = digest
    return copied


def _copy(path: Path, target: Path, tick: Callable[[int], None]) -> str:
    hasher = hashlib.new(ALGORITHM)
    with path.open("rb") as source, target.open("wb") as copy:
        while block := source.read(_BLOCK_BYTES):
            hasher.update(block)
            copy.write(block)
            tick(len(block))
        copy.flush()
        os.fsync(copy.fileno())
    return hasher.hexdigest()
