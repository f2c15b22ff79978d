"""One file of the card to every destination that lacks it: hashed, copied and measured from the same blocks."""

from __future__ import annotations

import hashlib
import io
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from blake3 import blake3

from fieldfare.takes.offload.card import CardFile
from fieldfare.takes.offload.disk import Disk
from fieldfare.takes.offload.journal import Digest, Line
from fieldfare.takes.offload.place import Place, free_name
from fieldfare.takes.offload.reading import Holes, Taker, Tick, read_once
from fieldfare.takes.wave import Head, read_head, repack
from fieldfare.units.clock import sample_clock
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed

Measure = Callable[
    [str, Head, memoryview], None
]  # name of the file, its head, whole frames in order; no bytes at the end


_TOLD = 20  # stretches told one by one


@dataclass(slots=True)
class Copied:
    """What became of one file in this run."""

    digest: Digest | None = None  # none where it was not read whole
    trouble: list[str] = field(default_factory=list)
    measured: bool = False
    not_measured: str = ""  # why, where it is a recording that should have been


class _Copy:
    """A copy being written to one place. A fault ends it and leaves the others alone."""

    def __init__(self, disk: Disk, place: Place, name: str) -> None:
        self._disk, self.place = disk, place
        self.part, self.final = place.part_path(), place.path_of(name)
        self.fault: OSError | None = None
        self._file: io.FileIO | None = None
        with self._keeping_faults():
            self.final.parent.mkdir(parents=True, exist_ok=True)
            self._file = disk.create(self.part)

    @contextmanager
    def _keeping_faults(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            self.fault = error

    def take(self, block: memoryview) -> None:
        """Write a block, unless the copy has failed."""
        if self._file is None or self.fault is not None:
            return
        with self._keeping_faults():
            done = 0
            while done < len(block):
                done += self._disk.write(self._file, block[done:])

    def finish(self, changed_ns: int, final: Path) -> bool:
        """Make sure of the bytes and give the copy its name; return whether that was done."""
        if self._file is None or self.fault is not None:
            return False
        with self._keeping_faults():
            self._disk.settle(self._file)
            self._file.close()
            os.utime(self.part, ns=(changed_ns, changed_ns))
            self._disk.place(self.part, final)
        return self.fault is None

    def enter(self, file: CardFile, digest: Digest) -> None:
        """Enter the copy in the journal of its place."""
        with self._keeping_faults():
            copy_ns = self.final.lstat().st_mtime_ns
            self.place.journal.add(Line.about(file, digest, "copied", copy_ns=copy_ns, ours=True))

    def drop(self) -> None:
        """Let go, and leave no part of a copy behind."""
        if self._file is not None:
            self._file.close()
        with suppress(OSError):
            self.part.unlink(missing_ok=True)


def copy_file(
    disk: Disk,
    card: Path,
    file: CardFile,
    places: list[Place],
    measure: Measure | None,
    tick: Tick,
) -> Copied:
    """Read a file of the card once, and copy it to the places given.

    Returns
    -------
    Its hashes, if all of it could be read, and what went wrong, place by place. Each copy that succeeded is in the
    journal of its place.
    """
    done = Copied()
    path = card / file.name
    head = head_of(path) if measure is not None else None
    head = head if head is not None and head.in_place else None  # what is compressed is measured from a copy
    hashes = (hashlib.sha256(), blake3())
    copies = [_Copy(disk, place, file.name) for place in places]
    takers: list[Taker] = [hashes[0].update, hashes[1].update, *(copy.take for copy in copies)]
    tap = Tap(measure, file.name, head) if measure is not None and head is not None else None
    if tap is not None:
        takers.append(tap.take)
    try:
        holes = read_once(disk, path, file.bytes, head, takers, tick)
        if holes.stretch:
            _salvage(file, head or head_of(path), holes, copies, done)
        else:
            done.digest = Digest(hashes[0].hexdigest(), hashes[1].hexdigest())
            _finish(file, done.digest, copies)
    except OSError as error:
        done.trouble.append(f"cannot be read from the card ({error.strerror})")
    finally:
        for copy in copies:
            copy.drop()
    if tap is not None:
        tap.finish()
        done.measured, done.not_measured = True, tap.fault
    done.trouble += [told for copy in copies if (told := _told(copy))]
    return done


def head_of(path: Path) -> Head | None:
    """Return the head of a file that is a recording with audio in it, else none."""
    with suppress(Fault):
        head = read_head(path)
        return head if head.frames else None
    return None


class Tap:
    """Hands on the audio alone, out of blocks that cover a file in order. If measuring fails, copying goes on."""

    def __init__(self, measure: Measure, name: str, head: Head) -> None:
        self._measure, self._name, self._head = measure, name, head
        self._at = 0
        self.fault = ""

    def take(self, block: memoryview) -> None:
        """Take a block of the file."""
        first = max(self._head.data_start - self._at, 0)
        last = min(self._head.data_start + self._head.data_bytes - self._at, len(block))
        self._at += len(block)
        if first < last:
            self.hand_on(self._plain(block[first:last]))

    def _plain(self, frames: memoryview) -> memoryview:
        """Return frames as WAV packs them; the block itself is the copies' and stays as it is."""
        if self._head.coding == "packed":
            return frames
        own = memoryview(bytearray(frames))
        repack(own, self._head)
        return own

    def finish(self) -> None:
        """Say that the file has come to its end."""
        self.hand_on(memoryview(b""))

    def hand_on(self, frames: memoryview) -> None:
        """Hand on whole frames, or nothing once measuring has failed."""
        if self.fault:
            return
        try:
            self._measure(self._name, self._head, frames)
        except Exception as error:
            self.fault = f"{type(error).__name__}: {error}"


def _finish(file: CardFile, digest: Digest, copies: list[_Copy]) -> None:
    """Give each copy its name, and enter it in its journal."""
    for copy in copies:
        if copy.finish(file.changed_ns, copy.final):
            copy.enter(file, digest)


def _salvage(file: CardFile, head: Head | None, holes: Holes, copies: list[_Copy], done: Copied) -> None:
    """Keep what could be read, under a name that is not the file's own, and say what is missing."""
    free = [(copy, free_name(copy.final, "salvaged")) for copy in copies]
    kept = [str(final) for copy, final in free if copy.finish(file.changed_ns, final)]
    where = listed(_stretch(one, head) for one in holes.stretch[:_TOLD])
    more = len(holes.stretch) - _TOLD
    rest = f"; the rest is saved, with silence there, as {listed(kept)}" if kept else ""
    done.trouble.append(
        f"cannot be read at {where}{f' and {more} more stretches' if more > 0 else ''} ({holes.why}){rest}"
    )


def _stretch(stretch: tuple[int, int], head: Head | None) -> str:
    """Tell a stretch in samples where it lies in audio, else in bytes."""
    start, end = stretch
    if head is None or not head.in_place or end <= head.data_start or start >= head.data_start + head.data_bytes:
        return f"bytes {start} to {end - 1}"
    first = max(start - head.data_start, 0) // head.frame_bytes
    last = min(-(-(end - head.data_start) // head.frame_bytes), head.frames) - 1
    return f"samples {first} to {last} (from {sample_clock(first, head.rate_hz)})"


def _told(copy: _Copy) -> str:
    if copy.fault is None:
        return ""
    if isinstance(copy.fault, FileExistsError):
        return f"a file of that name is already at {copy.final} and is left alone"
    copy.place.give_up_if_lost(copy.fault)
    return f"cannot be written to {copy.place.root} ({copy.fault.strerror})"
