"""Whether a bag is complete and valid by [RFC8493], versions 0.97 and 1.0: ours or anybody's, told fault by fault.

Every file is read from the medium. Where a bag is not complete its hashes are read all the same: who has a damaged
stick wants to know all that is wrong.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from fieldfare.handover.bag import PAYLOAD, is_litter, payload_files
from fieldfare.handover.reading import hashed
from fieldfare.takes.offload.disk import HOWS, How

Wrong = Literal["missing", "changed", "unreadable", "not listed", "bag"]
LITTER = "an operating system left it there: take it out, the rest is not touched by it"
_MANIFEST = re.compile(r"(tag)?manifest-([a-z0-9-]+)\.txt")
_KNOWN = ("md5", "sha1", "sha224", "sha256", "sha384", "sha512")
_LINE = re.compile(r"([0-9A-Fa-f]+)[ \t]+\*?(.+)")
_ESCAPES = {"%0A": "\n", "%0a": "\n", "%0D": "\r", "%0d": "\r", "%25": "%"}


@dataclass(frozen=True, slots=True)
class BagFault:
    """One thing that is wrong with a bag."""

    kind: Wrong
    file: str
    says: str


@dataclass(slots=True)
class BagCheck:
    """What a bag was found to be."""

    files: int = 0
    bytes: int = 0
    how: How = HOWS[0]  # the least that any file was read past the cache
    fault: list[BagFault] = field(default_factory=list)

    def add(self, kind: Wrong, file: str, says: str) -> None:
        """Note a fault."""
        self.fault.append(BagFault(kind, file, says))


@dataclass(slots=True)
class _Manifests:
    """What the manifests of a bag say: by file, hash by algorithm."""

    payload: dict[str, dict[str, str]] = field(default_factory=lambda: defaultdict(dict))
    tags: dict[str, dict[str, str]] = field(default_factory=lambda: defaultdict(dict))
    of_payload: list[str] = field(default_factory=list)


def check_bag(folder: Path, tell: Callable[[float], None] | None = None) -> BagCheck:
    """Check a bag: declaration, manifests, every file there is and none more, every hash, and the count.

    Parameters
    ----------
    folder
        The bag.
    tell
        Called with the share that is done, from 0 to 1.
    """
    found = BagCheck()
    version = _declared(folder, found)
    said = _Manifests()
    for path in sorted(folder.glob("*manifest-*.txt")):
        _read_manifest(path, said, found)
    if not said.of_payload:
        found.add("bag", folder.name, "it has no payload manifest")
    there = set(payload_files(folder)) if (folder / PAYLOAD).is_dir() else set()
    if not (folder / PAYLOAD).is_dir():
        found.add("bag", PAYLOAD, "it has no payload folder")
    _completeness(folder, said, there, version, found)
    _hashes(folder, said, found, tell or (lambda share: None))
    _count(folder, there, found)
    return found


def _declared(folder: Path, found: BagCheck) -> tuple[int, int]:
    try:
        raw = (folder / "bagit.txt").read_bytes()
    except OSError:
        found.add("bag", "bagit.txt", "it is not there, so this is no bag")
        return (1, 0)
    lines = raw.decode("utf-8", "replace").splitlines()
    match = re.fullmatch(r"BagIt-Version: (\d+)\.(\d+)\s*", lines[0]) if lines else None
    encoded = len(lines) == 2 and re.fullmatch(r"Tag-File-Character-Encoding: UTF-8\s*", lines[1])
    if raw[:3] == b"\xef\xbb\xbf" or match is None or not encoded:
        found.add("bag", "bagit.txt", "it is not the two lines that declare a bag in UTF-8")
    return (int(match[1]), int(match[2])) if match else (1, 0)


def _read_manifest(path: Path, said: _Manifests, found: BagCheck) -> None:
    match = _MANIFEST.fullmatch(path.name)
    if match is None:
        return
    algorithm = match[2].replace("-", "")
    if algorithm not in _KNOWN:
        found.add("bag", path.name, f"hashes of the kind {match[2]} cannot be checked")
        return
    of = said.tags if match[1] else said.payload
    if not match[1]:
        said.of_payload.append(algorithm)
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError):
        found.add("unreadable", path.name, "it cannot be read as UTF-8 text")
        return
    for number, line in enumerate(text.split("\n"), 1):
        entry = _LINE.fullmatch(line.rstrip("\r"))
        if entry is None:
            if line.strip():
                found.add("bag", path.name, f"line {number} is not a hash and a path")
            continue
        name = re.sub(r"%0[AaDd]|%25", lambda one: _ESCAPES[one[0]], entry[2]).removeprefix("./")
        if not _inside(name, payload=not match[1]):
            found.add("bag", path.name, f"line {number} names {name}, which may not be in this manifest")
        elif algorithm in of.get(name, {}):
            found.add("bag", path.name, f"line {number} names {name} a second time")
        else:
            of[name][algorithm] = entry[1].casefold()


def _inside(name: str, *, payload: bool) -> bool:
    parts = name.split("/")
    if name.startswith(("/", "~")) or ".." in parts or re.match(r"[A-Za-z]:", name):
        return False
    return (parts[0] == PAYLOAD and len(parts) > 1) == payload


def _completeness(folder: Path, said: _Manifests, there: set[str], version: tuple[int, int], found: BagCheck) -> None:
    for name in sorted(there - set(said.payload)):
        litter = is_litter(name.rpartition("/")[2])
        found.add("not listed", name, LITTER if litter else "no manifest lists it")
    for name, hashes in sorted(said.payload.items()):
        lacking = [one for one in said.of_payload if one not in hashes]
        if lacking and version >= (1, 0):
            found.add("bag", f"manifest-{lacking[0]}.txt", f"it does not list {name}")
    for path in sorted(folder.glob("manifest-*.txt") if said.tags and version >= (1, 0) else ()):
        if path.name not in said.tags:
            found.add("bag", path.name, "no tag manifest lists it, so nobody can tell whether it was altered")
    for name in sorted({*said.payload, *said.tags}):
        if not (folder / name).is_file():
            found.add("missing", name, "it is listed and is not there")


def _hashes(folder: Path, said: _Manifests, found: BagCheck, tell: Callable[[float], None]) -> None:
    every = [(name, hashes) for of in (said.tags, said.payload) for name, hashes in sorted(of.items())]
    every = [(name, hashes) for name, hashes in every if (folder / name).is_file()]
    total = sum((folder / name).stat().st_size for name, _ in every)
    done = 0

    def tick(count: int) -> None:
        nonlocal done
        done += count
        tell(done / max(1, total))

    for name, hashes in every:
        try:
            read, how = hashed(folder / name, list(hashes), tick)
        except OSError as error:
            found.add("unreadable", name, f"it cannot be read ({error.strerror})")
            continue
        found.how = max(found.how, how, key=HOWS.index)
        wrong = [algorithm for algorithm, value in hashes.items() if read[algorithm] != value]
        if wrong:
            found.add("changed", name, f"its bytes are not those of the manifest ({', '.join(wrong)})")


def _count(folder: Path, there: set[str], found: BagCheck) -> None:
    found.files = len(there)
    found.bytes = sum((folder / name).stat().st_size for name in there if (folder / name).is_file())
    for value in _info(folder, "Payload-Oxum"):
        if value != f"{found.bytes}.{found.files}":
            found.add(
                "bag", "bag-info.txt", f"it says {value} for bytes and files, there are {found.bytes}.{found.files}"
            )


def _info(folder: Path, label: str) -> Iterator[str]:
    try:
        lines = (folder / "bag-info.txt").read_text("utf-8", "replace").splitlines()
    except OSError:
        return
    for line in lines:
        name, colon, value = line.partition(":")
        if colon and name.strip().casefold() == label.casefold():
            yield value.strip()
