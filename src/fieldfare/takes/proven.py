"""A new folder whose files are kept as each is proven, so that work that was broken off goes on where it was.

It is filled beside its place, as `whole_folder` does, and gets its name when all of it is whole. Broken off by hand, by
a killed process or by a source that cannot be read, it stays there under its hidden name, with a journal beside it; the
same work begun again writes only what the journal does not speak of, or what is not as it says. All else that lies
there, halves or what was made from something else, is taken away first. Where the disc itself fails or is full nothing
stays.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from pydantic import Field, TypeAdapter, ValidationError

from fieldfare.show.files import part_of, whole_folder
from fieldfare.show.record import Record
from fieldfare.takes.mend.repair import prove
from fieldfare.takes.stamps import stamps_of_files
from fieldfare.units.faults import NotDone


class Proof(Record):
    """One recording, and what it was proven by."""

    file: str = Field(description="From the folder")
    frames: int
    sha256: str = Field(description="Of its samples")
    silent: int = Field(default=0, description="Samples of silence where the recording has none")


class Copied(Record):
    """One file that was copied as it is."""

    file: str = Field(description="From the folder")
    of: tuple[str, int, int] = Field(description="Its original: name, size and time of change")
    sha512: str = Field(description="Of what was read of its original")


_LINE: TypeAdapter[Proof | Copied] = TypeAdapter(Proof | Copied)


class Proven:
    """The files of a folder that are proven, or were copied."""

    def __init__(self, folder: Path, journal: Path, stamp: str) -> None:
        self.folder, self._journal = folder, journal
        self._known = {one.file: one for one in self._read(stamp)}
        _clear(folder, {folder / name for name in self._known})
        self._begin(stamp)

    def find(self, path: Path) -> Proof | None:
        """Return what a recording was proven by, once it is proven again; None where it is to be written."""
        proof = self._known.get(self._name(path))
        if not isinstance(proof, Proof):
            return None
        try:
            prove(path, proof.frames, proof.sha256)
        except NotDone:
            path.unlink(missing_ok=True)
            return None
        return proof

    def keep(self, path: Path, frames: int, sha256: str, silent: int = 0) -> Proof:
        """Prove a recording that is written, and keep it.

        Raises
        ------
        NotDone
            It does not hold the same samples.
        """
        prove(path, frames, sha256)
        proof = Proof(file=self._name(path), frames=frames, sha256=sha256, silent=silent)
        self._add(proof.model_dump_json())
        return proof

    def find_copy(self, path: Path, original: Path) -> str | None:
        """Return the SHA-512 of what was copied into a file, which is not read again here; None where none was."""
        copied = self._known.get(self._name(path))
        of = tuple(*stamps_of_files([original]))
        return copied.sha512 if isinstance(copied, Copied) and copied.of == of else None

    def keep_copy(self, path: Path, original: Path, sha512: str) -> None:
        """Keep a file that was copied."""
        (of,) = stamps_of_files([original])
        self._add(Copied(file=self._name(path), of=of, sha512=sha512).model_dump_json())

    def _name(self, path: Path) -> str:
        return path.relative_to(self.folder).as_posix()

    def _read(self, stamp: str) -> Iterator[Proof | Copied]:
        try:
            first, *lines = self._journal.read_text("utf-8").splitlines()
        except (OSError, ValueError):
            return
        for line in lines if first == stamp else ():
            with suppress(ValidationError):  # a last line that was cut off
                one = _LINE.validate_json(line)
                if (self.folder / one.file).is_file():
                    yield one

    def _begin(self, stamp: str) -> None:
        """Write the journal anew, in one step, with what is known already."""
        new = self._journal.with_suffix(".new")
        new.unlink(missing_ok=True)
        _add_lines(new, stamp, *(one.model_dump_json() for one in self._known.values()))
        new.replace(self._journal)

    def _add(self, line: str) -> None:
        _add_lines(self._journal, line)


@contextmanager
def proven_folder(folder: Path, stamp: str) -> Iterator[Proven]:
    """Fill a folder beside its place, going on where work with the same stamp was broken off.

    Parameters
    ----------
    folder
        Where it goes; not there yet, or empty.
    stamp
        Of all that its files are made from, as `stamp_of` makes it.

    Raises
    ------
    NotDone
        As `whole_folder` does.
    """
    journal = folder.with_name(f".{folder.name}.proven")
    try:
        with whole_folder(folder, goes_on=True) as part:
            yield Proven(part, journal, stamp)
    finally:
        if not part_of(folder).exists():
            with suppress(OSError):
                journal.unlink()


def _add_lines(file: Path, *lines: str) -> None:
    with file.open("a", encoding="utf-8", newline="\n") as out:
        out.writelines(f"{line}\n" for line in lines)
        out.flush()
        os.fsync(out.fileno())


def _clear(folder: Path, but: set[Path]) -> None:
    """Take away all files of a folder but these."""
    for path in sorted(folder.rglob("*"), reverse=True):
        if path.is_dir() and not path.is_symlink():
            with suppress(OSError):
                path.rmdir()  # where it is empty
        elif path not in but:
            path.unlink()
