"""Bags by [RFC8493], version 1.0: a payload under data/, a manifest with a hash of every file of it, and what it is.

Conventions: SHA-512, which the standard asks of whoever makes a bag; one payload manifest, one tag manifest; UTF-8;
line ends LF. Names are made safe before they come here, so none needs the standard's escapes.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import fieldfare
from fieldfare.handover.names import name_trouble
from fieldfare.handover.reading import hashed
from fieldfare.takes.offload.disk import Disk
from fieldfare.units.faults import Fault, NotDone

ALGORITHM = "sha512"
DECLARATION = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
PAYLOAD = "data"
_LINE = 78  # of bag-info.txt, beyond which a value goes on in the next line


@dataclass(frozen=True, slots=True)
class Sealed:
    """A bag as it was sealed."""

    files: int
    bytes: int
    tag_manifest: str  # SHA-512 of the tag manifest: with it alone the whole bag can be proven


def seal(folder: Path, info: Mapping[str, str], tell: Callable[[float], None] | None = None) -> Sealed:
    """Make a bag of a folder whose payload is written: every file is read back from the medium and hashed.

    Parameters
    ----------
    folder
        It holds data/ and nothing else.
    info
        What the bag is, by the names of the standard: External-Description and so on.
    tell
        Called with the share that is done, from 0 to 1.

    Raises
    ------
    Fault
        A name is not safe on every system, or the folder is not one to be sealed.
    NotDone
        A file cannot be read back, or the tags cannot be written.
    """
    others = [one.name for one in folder.iterdir() if one.name != PAYLOAD]
    if others or not (folder / PAYLOAD).is_dir():
        raise Fault("a bag to be sealed holds data/ alone", str(folder), "move away what lies beside it")
    try:
        return _seal(folder, info, tell or (lambda share: None))
    except OSError as trouble:
        why = (trouble.strerror or "the system refused").lower()
        raise NotDone(f"cannot be sealed: {why}", str(trouble.filename or folder), "check the medium") from None


def _seal(folder: Path, info: Mapping[str, str], tell: Callable[[float], None]) -> Sealed:
    paths = payload_files(folder)
    for name in paths:
        if trouble := name_trouble(name):
            raise Fault(trouble, name, "give it another name")
    sizes = {name: (folder / name).stat().st_size for name in paths}
    total, done = sum(sizes.values()), 0
    lines = []
    for name in paths:
        lines.append(f"{hashed(folder / name, [ALGORITHM])[0][ALGORITHM]}  {name}\n")
        done += sizes[name]
        tell(done / max(1, total))
    tags = {
        "bagit.txt": DECLARATION,
        "bag-info.txt": info_text(
            {
                **info,
                "Bagging-Date": dt.date.today().isoformat(),
                "Payload-Oxum": f"{total}.{len(paths)}",
                "Bag-Software-Agent": f"fieldfare {fieldfare.__version__}",
            }
        ),
        f"manifest-{ALGORITHM}.txt": "".join(lines),
    }
    for name, text in tags.items():
        _write(folder / name, text)
    marks = [f"{hashed(folder / name, [ALGORITHM])[0][ALGORITHM]}  {name}\n" for name in sorted(tags)]
    last = folder / f"tagmanifest-{ALGORITHM}.txt"
    _write(last, "".join(marks))
    return Sealed(len(paths), total, hashed(last, [ALGORITHM])[0][ALGORITHM])


def sealed_before(folder: Path, files: int, size: int) -> Sealed:
    """Return a bag that was sealed before and was found to be whole.

    Raises
    ------
    OSError
        As the system raises it.
    """
    return Sealed(files, size, hashed(folder / f"tagmanifest-{ALGORITHM}.txt", [ALGORITHM])[0][ALGORITHM])


def is_litter(name: str) -> bool:
    """Tell whether an operating system leaves files of that name behind wherever it looks: from memory, no source.

    >>> [is_litter(name) for name in (".DS_Store", "._01_Kick.wav", "Thumbs.db", "01_Kick.wav")]
    [True, True, True, False]
    """
    return name.startswith("._") or name.casefold() in (".ds_store", "thumbs.db", "desktop.ini", ".directory")


def payload_files(folder: Path) -> list[str]:
    """Return every file of a bag's payload by its path from the bag, in order."""
    found = (path for path in (folder / PAYLOAD).rglob("*") if path.is_file() or path.is_symlink())
    return sorted(path.relative_to(folder).as_posix() for path in found)


def info_text(info: Mapping[str, str]) -> str:
    """Write bag-info.txt: a label and its value, long values going on in lines that begin with a space.

    >>> info_text({"External-Description": "A recording", "Contact-Name": ""})
    'External-Description: A recording\\n'
    """
    lines = []
    for label, value in info.items():
        words = value.split()
        if not words:
            continue
        line = f"{label}:"
        for word in words:
            if len(line) + 1 + len(word) > _LINE and line != f"{label}:":
                lines.append(line)
                line = ""
            line = f"{line} {word}"
        lines.append(line)
    return "".join(f"{line}\n" for line in lines)


def _write(path: Path, text: str) -> None:
    disk = Disk()
    with disk.create(path) as file:
        content = memoryview(text.encode())
        while content:
            content = content[disk.write(file, content) :]
        disk.settle(file)
    disk.settle_folder(path.parent)
