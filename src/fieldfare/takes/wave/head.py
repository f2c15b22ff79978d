"""Reading the head of a recording, believing nothing that the bytes on the medium contradict.

A header is *good*; *unfinished* (sizes never filled in), *stale* (sizes of an earlier moment), *wrapped* (longer than
32 bits can say), *cut* (the file ends before the header says, or inside a frame) or *unreadable*. Whatever it says,
`frames` counts the whole frames that are there.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from fieldfare.show.findings import FileState
from fieldfare.takes.wave.bext import Bext, read_bext
from fieldfare.takes.wave.extent import Extent, State, audio_extent
from fieldfare.takes.wave.form import Form, read_form
from fieldfare.takes.wave.ixml import Ixml, read_ixml
from fieldfare.takes.wave.riff import FILLERS, Chunk, chunk_at, with_payload
from fieldfare.takes.wave.source import View, open_readonly
from fieldfare.units.faults import Fault

Container = Literal["WAV", "RF64", "BW64", "unknown"]
_CONTAINERS: dict[bytes, Container] = {b"RIFF": "WAV", b"RF64": "RF64", b"BW64": "BW64"}
_NO_FORM = Form(0, 0, 0, 0, False, b"")
_REWRITTEN = frozenset((b"fmt ", b"data", b"ds64", b"fact"))


@dataclass(frozen=True, slots=True)
class Head:
    """What a recording is, as far as its bytes tell."""

    path: Path
    file_bytes: int
    container: Container
    form: Form
    data_start: int
    data_bytes: int  # that are there and form whole frames
    stated_bytes: int | None  # of audio, by the header; none where it says nothing useful
    state: State
    says: str  # what is wrong, in one sentence; blank where nothing is
    before: tuple[Chunk, ...] = ()  # kept chunks ahead of the audio
    behind: tuple[Chunk, ...] = ()  # kept chunks after it
    partial_bytes: int = 0  # of a last frame that is not whole

    @property
    def channels(self) -> int:
        """Channels side by side in each frame; 0 where the head is unreadable."""
        return self.form.channels

    @property
    def rate_hz(self) -> int:
        """Sample rate by the header. [Hz]"""
        return self.form.rate_hz

    @property
    def bits(self) -> int:
        """Bits of each sample that carry signal."""
        return self.form.bits

    @property
    def sample_bytes(self) -> int:
        """Bytes that each sample fills."""
        return self.form.sample_bytes

    @property
    def is_float(self) -> bool:
        """Whether samples are floating point."""
        return self.form.is_float

    @property
    def frame_bytes(self) -> int:
        """Bytes of one sample of every channel."""
        return self.form.frame_bytes

    @property
    def full_scale(self) -> float:
        """The value that reads 0 dBFS as a peak."""
        return self.form.full_scale

    @property
    def frames(self) -> int:
        """Whole frames that are there."""
        return self.data_bytes // self.frame_bytes if self.frame_bytes else 0

    @property
    def stated_frames(self) -> int | None:
        """Frames that the header speaks of."""
        if self.stated_bytes is None or not self.frame_bytes:
            return None
        return self.stated_bytes // self.frame_bytes

    @property
    def bext(self) -> Bext | None:
        """The broadcast extension, where there is one."""
        payload = self.chunk(b"bext")
        return read_bext(payload) if payload is not None else None

    @property
    def ixml(self) -> Ixml | None:
        """The iXML chunk, where there is one that can be read."""
        payload = self.chunk(b"iXML")
        return read_ixml(payload) if payload is not None else None

    def chunk(self, letters: bytes) -> bytes | None:
        """Return the bytes of the first kept chunk of that name."""
        return next((one.payload for one in (*self.before, *self.behind) if one.id == letters), None)

    def file_state(self, name: str | None = None) -> FileState:
        """Return the head as the record that reports hold, under the given name."""
        return FileState(
            path=name if name is not None else self.path.name,
            bytes=self.file_bytes,
            container=self.container,
            channels=self.channels,
            rate_hz=self.rate_hz,
            bits=self.bits,
            frames=self.frames,
            stated_frames=self.stated_frames,
            header=self.state,
            says=self.says,
        )


@dataclass(frozen=True, slots=True)
class _Walked:
    """The chunks up to and after the audio, and why the walk ended early, if it did."""

    form: Form | str | None
    ds64: bytes
    extent: Extent | None
    before: tuple[Chunk, ...]
    behind: tuple[Chunk, ...]
    broken: str


def read_head(path: Path | str) -> Head:
    """Read the head of a WAV, RF64 or BW64 file.

    Returns
    -------
    The head. A file that cannot be understood has the state "unreadable" and says why.

    Raises
    ------
    Fault
        The file cannot be opened or read at all.
    """
    path = Path(path)
    with open_readonly(path) as file:
        try:
            return head_of(View(file), path)
        except OSError as error:
            raise Fault(f"cannot be read ({error.strerror})", str(path), "copy it from another reader") from error


def head_of(view: View, path: Path) -> Head:
    """Read the head from the bytes of an open file."""
    start = view.at(0, 12)
    container = _CONTAINERS.get(start[:4], "unknown")
    if container == "unknown" or start[8:12] != b"WAVE":
        return _unreadable(path, view, container, _why_not_wave(start, view.size))
    walked = _walk(view)
    if walked.extent is None:
        return _unreadable(path, view, container, walked.broken or "it holds no audio chunk", walked.form)
    if not isinstance(walked.form, Form):
        says = walked.form or walked.broken or "it holds no format chunk, so channels and depth are not known"
        head = _unreadable(path, view, container, says)
        return replace(head, data_start=walked.extent.start, before=walked.before, behind=walked.behind)
    whole = walked.extent.of_whole_frames(walked.form.frame_bytes)
    return Head(
        path=path,
        file_bytes=view.size,
        container=container,
        form=walked.form,
        data_start=whole.start,
        data_bytes=whole.end - whole.start,
        stated_bytes=whole.stated,
        state=whole.state,
        says=whole.says,
        before=walked.before,
        behind=walked.behind,
        partial_bytes=whole.partial_bytes,
    )


def _walk(view: View) -> _Walked:
    """Go from chunk to chunk, past the audio, to the end."""
    form: Form | str | None = None
    ds64, broken = b"", ""
    extent: Extent | None = None
    rows: tuple[list[Chunk], list[Chunk]] = ([], [])
    riff_bytes = struct.unpack("<I", view.at(4, 4))[0]
    at = 12
    while extent is None and view.size - at >= 8:
        chunk = chunk_at(view, at)
        if chunk is None or (chunk.id != b"data" and chunk.end > view.size):
            broken = f"at byte {at} stands no chunk that fits, where one has to start"
            break
        if chunk.id == b"data":
            frame_bytes = form.frame_bytes if isinstance(form, Form) else 1
            extent = audio_extent(view, chunk, riff_bytes, ds64, frame_bytes)
            row = extent.behind
        else:
            row = (chunk,)
        for one in row:
            if one.id == b"fmt " and form is None:
                form = read_form(view.at(one.start, min(one.size, 64)))
            elif one.id == b"ds64":
                ds64 = view.at(one.start, min(one.size, 28))
            elif one.id not in _REWRITTEN | FILLERS:
                rows[extent is not None].append(with_payload(view, one))
        at = chunk.next
    return _Walked(form, ds64, extent, tuple(rows[0]), tuple(rows[1]), broken)


def _why_not_wave(start: bytes, size: int) -> str:
    if not size:
        return "the file is empty"
    if not any(start):
        return "it starts with zeros: its header was never written"
    if start[:4] == b"RIFX":
        return "its numbers are written big end first (RIFX)"
    return "it is not a WAV, RF64 or BW64 file"


def _unreadable(path: Path, view: View, container: Container, says: str, form: Form | str | None = None) -> Head:
    known = form if isinstance(form, Form) else _NO_FORM
    return Head(path, view.size, container, known, 0, 0, None, "unreadable", says)
