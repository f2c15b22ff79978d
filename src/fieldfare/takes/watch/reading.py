"""Looking at a folder from outside: sizes, the disc, and the bytes that are new. Opens for reading only."""

from __future__ import annotations

import shutil
import stat
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fieldfare.show.files import absent
from fieldfare.show.inputs_csv import ListedInput
from fieldfare.show.plan import PlannedInput
from fieldfare.takes.offload.device import device_of
from fieldfare.takes.tracks.matching import assign
from fieldfare.takes.watch.facts import Heard, Seen, SeenFile
from fieldfare.takes.watch.hearing import hear
from fieldfare.takes.watch.renaming import Stamp, renamed
from fieldfare.takes.wave import Head, group, read_head, read_packed, repack, starts_as_recording, unpack
from fieldfare.takes.wave.sets import SUFFIXES
from fieldfare.takes.wave.source import View, open_untouched
from fieldfare.units.faults import Fault

HELD_BACK_BYTES = 32 << 10  # at the end of a growing file: chunks written at its close are no sound
MOST_BYTES = 24 << 20  # of a file in one look; what is older is passed over
FIRST_S = 2.0  # heard of a file that was there before the watch
_START_BYTES = 16
_NONE = Stamp(0, 0)
_HEAD_LOOKS = 3  # looks at a growing file that read its head anew


@dataclass(slots=True)
class _Known:
    """What the reader keeps of a file."""

    size: int
    head: Head | None = None
    grown: int = 0  # looks that found it grown
    stamp: Stamp = _NONE
    heard_to: int | None = None  # where in the file reading goes on; of a compressed one, at which frame
    settled: bool = False  # whether it was read to its end since it last grew


class Reader:
    """Reads a folder look by look; keeps only where it was in each file."""

    def __init__(
        self,
        folder: Path,
        rows: Sequence[PlannedInput | ListedInput] = (),
        *,
        sizes_only: bool = False,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._folder, self._rows, self._sizes_only, self._now = folder, tuple(rows), sizes_only, now
        self._known: dict[str, _Known] = {}
        self._by_start: dict[Path, bool] = {}
        self._looked = False
        self._labels: dict[str, tuple[str, ...]] = {}
        self._labelled: frozenset[str] = frozenset()

    def look(self) -> Seen:
        """Take one look.

        Raises
        ------
        Fault
            The folder is not there or cannot be read.
        """
        if not self._folder.is_dir():
            raise Fault(absent(self._folder, "folder"), str(self._folder), "name the folder that is recorded into")
        at_s = self._now()
        sizes = self._sizes()
        self._follow_renamed(sizes)
        active = [name for name, (size, *_) in sizes.items() if self._active(name, size)]
        for name in active:
            self._refresh(name, sizes[name][0])
        self._label()
        files = tuple(self._file(name, state, name in active) for name, state in sizes.items())
        self._looked = True
        return Seen(at_s, files, shutil.disk_usage(self._folder).free, device_of(self._folder).largest_file)

    def _sizes(self) -> dict[str, Stamp]:
        """Size, time of last writing and number in the file system of each recording below the folder."""
        found: dict[str, Stamp] = {}
        try:
            paths = sorted(self._folder.rglob("*"))
        except OSError as error:
            raise Fault(f"cannot be read ({error.strerror})", str(self._folder), "look at the card") from error
        for path in paths:
            if path.name.startswith("."):
                continue
            try:
                state = path.stat()
            except OSError:  # renamed or removed a moment ago: the next look tells
                continue
            if stat.S_ISREG(state.st_mode) and self._is_recording(path, state.st_size):
                found[path.relative_to(self._folder).as_posix()] = Stamp(state.st_size, state.st_mtime_ns, state.st_ino)
        return found

    def _is_recording(self, path: Path, size: int) -> bool:
        """Tell whether a file is a recording: by its name, else by its first bytes, which are looked at once."""
        if path.suffix.casefold() in SUFFIXES:
            return True
        if path not in self._by_start:
            if size < _START_BYTES:
                return False
            try:
                with open_untouched(path) as file:
                    self._by_start[path] = starts_as_recording(file.read(_START_BYTES))
            except OSError:  # locked, or gone: the next look tries again
                return False
        return self._by_start[path]

    def _follow_renamed(self, sizes: Mapping[str, Stamp]) -> None:
        """Forget files that are gone; one that has only another name now is gone on with."""
        before = {name: one.stamp for name, one in self._known.items()}
        old = self._known
        self._known = {name: one for name, one in old.items() if name in sizes}
        for name, former in renamed(before, sizes).items():
            known = self._known[name] = old[former]
            if known.head is not None:
                known.head = replace(known.head, path=self._folder / name)

    def _active(self, name: str, size: int) -> bool:
        """Whether a file has grown, is new, or has just come to rest and waits for its last look."""
        known = self._known.get(name)
        if known is None:
            if not self._looked:
                self._known[name] = _Known(size)
                return False
            known = self._known[name] = _Known(0, heard_to=0)
        if size != known.size:
            known.grown += 1
            known.settled = False
            return True
        return known.grown > 0 and not known.settled

    def _refresh(self, name: str, size: int) -> None:
        known = self._known[name]
        rests = size == known.size and known.grown > 0
        told = known.head is not None and known.head.in_place  # how far FLAC goes shows in its last frame only
        if rests or not told or known.grown <= _HEAD_LOOKS:
            try:
                head = read_head(self._folder / name)
            except Fault:  # locked by the recorder, or gone
                return
            known.head = head if head.state != "unreadable" else None

    def _label(self) -> None:
        """Name the channels of all files that are recorded into, when these are no longer the same."""
        heads = {name: one.head for name, one in self._known.items() if one.head is not None}
        if frozenset(heads) == self._labelled:
            return
        found = group(heads.values(), self._folder)
        lanes = [lane for take in found.take for lane in take.lane]
        labels: dict[str, dict[int, str]] = {name: {} for name in heads}
        for one in assign(lanes, self._rows):
            for head in one.lane.strand.part:
                name = head.path.relative_to(self._folder).as_posix()
                labels[name][one.lane.channel] = one.row.label if one.row else one.lane.label
        self._labelled = frozenset(heads)
        self._labels = {name: tuple(row[channel] for channel in sorted(row)) for name, row in labels.items()}

    def _file(self, name: str, state: Stamp, active: bool) -> SeenFile:
        size, written_ns, number = state
        known = self._known[name]
        heard: tuple[Heard, ...] = ()
        heard_s = 0.0
        if active and known.head is not None and not self._sizes_only:
            heard, heard_s = self._heard(known, known.head, size)
        known.settled = size == known.size
        known.size, known.stamp = size, state
        return SeenFile(name, size, written_ns, known.head, self._labels.get(name, ()), heard, heard_s, number)

    def _heard(self, known: _Known, head: Head, size: int) -> tuple[tuple[Heard, ...], float]:
        """Read what is new of a file's audio, as whole frames."""
        if not head.in_place:
            return _decoded(known, head)
        rests = size == known.size and known.grown > 0
        end = head.data_start + head.data_bytes if rests else size - HELD_BACK_BYTES
        frame = head.frame_bytes
        if known.heard_to is None:
            known.heard_to = end - round(FIRST_S * head.rate_hz) * frame
        start = max(known.heard_to, head.data_start, end - MOST_BYTES)
        start += -(start - head.data_start) % frame
        count = (end - start) // frame
        if count <= 0:
            return (), 0.0
        try:
            with open_untouched(head.path) as file:
                packed = View(file).at(start, count * frame)
        except OSError:  # locked by the recorder, or gone: the next look tries again
            return (), 0.0
        whole = len(packed) // frame
        known.heard_to = start + whole * frame
        plain = memoryview(bytearray(packed[: whole * frame]))
        repack(plain, head)
        return hear(unpack(plain, head.form), head.form), whole / head.rate_hz


def _decoded(known: _Known, head: Head) -> tuple[tuple[Heard, ...], float]:
    """Hear what is new of a compressed file, up to its last whole frame."""
    if known.heard_to is None:
        known.heard_to = max(0, head.frames - round(FIRST_S * head.rate_hz))
    start = max(known.heard_to, head.frames - MOST_BYTES // head.frame_bytes)
    count = head.frames - start
    if count <= 0:
        return (), 0.0
    try:
        packed = read_packed(head, start, count)
    except Fault:  # locked by the recorder, or gone: the next look tries again
        return (), 0.0
    known.heard_to = head.frames
    return hear(unpack(packed, head.form), head.form), count / head.rate_hz
