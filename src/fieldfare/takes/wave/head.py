"""The head of a recording: what it is, as far as its bytes tell.

A header is *good*; *unfinished* (sizes never filled in), *stale* (sizes of an earlier moment), *wrapped* (longer than
32 bits can say), *cut* (the file ends before the header says, or inside a frame) or *unreadable*. Whatever it says,
`frames` counts the whole frames that are there.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from fieldfare.show.findings import Container, FileState
from fieldfare.takes.wave.bext import Bext, read_bext
from fieldfare.takes.wave.extent import Extent, State
from fieldfare.takes.wave.form import Form
from fieldfare.takes.wave.ixml import Ixml, read_ixml
from fieldfare.takes.wave.riff import Chunk
from fieldfare.takes.wave.source import View
from fieldfare.units.text import printable

Coding = Literal["packed", "big end first", "signed bytes", "compressed"]
_NO_FORM = Form(0, 0, 0, 0, False, b"")


@dataclass(frozen=True, slots=True)
class Head:
    """What a recording is, as far as its bytes tell."""

    path: Path
    file_bytes: int
    container: Container
    form: Form
    data_start: int
    data_bytes: int  # that are there and form whole frames, as `form` packs them
    stated_bytes: int | None  # of audio, by the header; none where it says nothing useful
    state: State
    says: str  # what is wrong, in one sentence; blank where nothing is
    before: tuple[Chunk, ...] = ()  # kept chunks ahead of the audio
    behind: tuple[Chunk, ...] = ()  # kept chunks after it
    partial_bytes: int = 0  # of a last frame that is not whole
    coding: Coding = "packed"  # how the file holds what `form` says; "packed" is as WAV does

    @property
    def in_place(self) -> bool:
        """Whether every frame lies in the file at a place that its number tells."""
        return self.coding != "compressed"

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
            path=printable(name if name is not None else self.path.name),
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


def head_from(
    path: Path,
    view: View,
    container: Container,
    form: Form,
    extent: Extent,
    before: tuple[Chunk, ...],
    coding: Coding = "packed",
) -> Head:
    """Make the head of a recording whose chunks were walked; a last frame that is not whole is left out and told."""
    whole = extent.of_whole_frames(form.frame_bytes)
    return Head(
        path=path,
        file_bytes=view.size,
        container=container,
        form=form,
        data_start=whole.start,
        data_bytes=whole.end - whole.start,
        stated_bytes=whole.stated,
        state=whole.state,
        says=whole.says,
        before=before,
        behind=whole.behind,
        partial_bytes=whole.partial_bytes,
        coding=coding,
    )


def unreadable(path: Path, view: View, container: Container, says: str, form: Form | str | None = None) -> Head:
    """Make the head of a file that cannot be understood, saying why."""
    known = form if isinstance(form, Form) else _NO_FORM
    return Head(path, view.size, container, known, 0, 0, None, "unreadable", says)
