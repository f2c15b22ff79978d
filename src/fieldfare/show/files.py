"""Writing a file whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fieldfare.units.faults import NotDone
from fieldfare.units.text import gigabytes

RESERVE_BYTES = 16 << 20  # left free on a disc


def absent(path: Path, what: str) -> str:
    """Say that a file or a folder is not there, or that the other of the two is.

    Parameters
    ----------
    path
        Where it was looked for.
    what
        "file" or "folder".
    """
    other = "folder" if what == "file" else "file"
    return f"this is a {other}, not a {what}" if path.exists() else f"there is no such {what}"


def write_whole(path: Path, content: bytes, *, replace: bool = False) -> None:
    """Write a file beside its place and then put it there in one step, so that nobody ever reads half of it.

    Parameters
    ----------
    path
        The file.
    content
        All of it.
    replace
        Whether a file that is there may be replaced.

    Raises
    ------
    NotDone
        The file is there already, or cannot be written; nothing was changed.
    """
    if path.exists() and not replace:
        raise NotDone("the file is there already", str(path), "choose another name, or ask for it to be replaced")
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        part = Path(name)
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(content)
                out.flush()
                os.fsync(out.fileno())
            part.chmod(0o644)
            _place(part, path, replace=replace)
        finally:
            part.unlink(missing_ok=True)
    except OSError as trouble:
        why = (trouble.strerror or "the system refused").lower()
        raise NotDone(f"cannot be written: {why}", str(path), "check the folder, its rights and its space") from None


def _place(part: Path, path: Path, *, replace: bool) -> None:
    if not replace:
        try:
            os.link(part, path)  # unlike a rename it refuses where a file came to be meanwhile
        except FileExistsError:
            raise NotDone("the file is there already", str(path), "choose another name") from None
        except OSError:  # a file system without links, as on many cards
            part.replace(path)
        return
    part.replace(path)


def refuse(folder: Path) -> None:
    """Stop where a new folder would not be new.

    Raises
    ------
    NotDone
        Something is there that is no empty folder, or it is the folder that this program runs in, which cannot be put
        there anew.
    """
    if os.path.realpath(folder) == os.path.realpath(Path.cwd()):
        raise NotDone("it is the folder that you are in", str(folder), "name a new folder in it")
    if folder.is_symlink() or (folder.exists() and (not folder.is_dir() or any(folder.iterdir()))):
        raise NotDone("something is there already, and is left alone", str(folder), "name another folder")


def refuse_small_disc(folder: Path, needed: int) -> None:
    """Stop where a disc has no room for what is to be written, and a little to spare.

    Parameters
    ----------
    folder
        Where it goes; it need not be there yet. What lies there of it since it was broken off counts as room.
    needed
        How much it is. [byte]

    Raises
    ------
    NotDone
        Less is free.
    """
    there = next(one for one in (folder.absolute(), *folder.absolute().parents) if one.is_dir())
    begun = sum(path.stat().st_size for path in part_of(folder).rglob("*") if path.is_file())
    free = shutil.disk_usage(there).free + begun
    if needed + RESERVE_BYTES > free:
        what = f"{gigabytes(needed + RESERVE_BYTES)} are needed and {gigabytes(free)} are free"
        raise NotDone(what, str(folder), "make room, or name a folder on another disc")


@contextmanager
def whole_folder(folder: Path, *, goes_on: bool = False) -> Iterator[Path]:
    """Fill a folder beside its place, and put it there only when all of it is whole.

    Parameters
    ----------
    folder
        Where it goes; not there yet, or empty.
    goes_on
        Whether what was written stays beside its place where the work is broken off, and is there when it is filled
        again. A disc that fails or is full keeps nothing all the same.

    Yields
    ------
    The folder to fill. Left by a fault, nothing of it stays but what goes on.

    Raises
    ------
    NotDone
        As `refuse` does, or it cannot be written.
    """
    refuse(folder)
    part, stays = part_of(folder), goes_on
    if not goes_on:
        shutil.rmtree(part, ignore_errors=True)
    try:
        part.mkdir(parents=True, exist_ok=goes_on)
        yield part
        if folder.exists():
            folder.rmdir()  # it is empty
        part.rename(folder)
    except NotDone:
        stays = False
        raise
    except OSError as error:
        stays = False
        why = (error.strerror or "the system refused").lower()
        where = str(error.filename or folder).replace(str(part), str(folder))
        raise NotDone(f"cannot be written: {why}", where, "check the folder and the room on its disc") from error
    finally:
        if not stays:
            shutil.rmtree(part, ignore_errors=True)


def part_of(folder: Path) -> Path:
    """Return where a folder is filled before it has its name: beside its place, hidden."""
    return folder.with_name(f".{folder.name}.part")
