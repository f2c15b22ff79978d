"""Writing WAV, and RF64 from 4 GiB on: streamed, and under its own name only once it is whole.

Room for the sizes of 64 bits is kept in a `JUNK` chunk ahead of `fmt ` (ITU-R BS.2088 §4.3), so a file that outgrows 32
bits needs no second pass.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType
from typing import Self

from numpy.typing import ArrayLike

from fieldfare.takes.wave.form import Form, make_form
from fieldfare.takes.wave.riff import UNKNOWN_32
from fieldfare.takes.wave.samples import Packed, pack
from fieldfare.units.faults import NotDone

ChunkBytes = tuple[bytes, bytes]  # four letters and the bytes
_RESERVED = 28
PART_SUFFIX = ".part"


def chunk_bytes(letters: bytes, payload: bytes) -> bytes:
    """Return a chunk as it stands in the file, its pad byte with it."""
    return letters + struct.pack("<I", len(payload)) + payload + b"\0" * (len(payload) % 2)


class WaveWriter:
    """A recording being written. Used as a context manager: left in order it is whole, left by a fault it is gone."""

    def __init__(
        self,
        path: Path,
        form: Form,
        before: Iterable[ChunkBytes],
        behind: Iterable[ChunkBytes],
        limit_bytes: int,
    ) -> None:
        self.path, self.form = path, form
        self.data_bytes = 0
        self._behind = tuple(behind)
        self._limit = limit_bytes
        self._part = path.with_name(f".{path.name}{PART_SUFFIX}")
        self._file = self._part.open("wb")
        self._file.write(b"RIFF" + bytes(4) + b"WAVE" + chunk_bytes(b"JUNK", bytes(_RESERVED)))
        for letters, payload in before:
            self._file.write(chunk_bytes(letters, payload))
        self._file.write(chunk_bytes(b"fmt ", form.payload))
        if form.is_float:
            self._fact = self._file.tell() + 8
            self._file.write(chunk_bytes(b"fact", bytes(4)))
        self._file.write(b"data" + bytes(4))
        self.data_start = self._file.tell()

    @property
    def frames(self) -> int:
        """Frames written so far."""
        return self.data_bytes // self.form.frame_bytes

    def write(self, samples: ArrayLike) -> None:
        """Write samples of shape (frames, channels), at the scale of the form."""
        self.write_packed(pack(samples, self.form))

    def write_packed(self, packed: Packed) -> None:
        """Write whole frames that are packed already."""
        try:
            self._file.write(packed)
        except OSError as error:
            raise _not_written(self.path, error) from error
        self.data_bytes += len(packed)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if kind is None:
                self._finish()
        except OSError as full:
            raise _not_written(self.path, full) from full
        finally:
            self._file.close()
            self._part.unlink(missing_ok=True)

    def _finish(self) -> None:
        """Fill in the sizes, make sure of the bytes, and only then give the file its name."""
        self._file.write(bytes(self.data_bytes % 2))
        for letters, payload in self._behind:
            self._file.write(chunk_bytes(letters, payload))
        total = self._file.tell() - 8
        wide = total > self._limit
        if wide:
            ds64 = struct.pack("<QQQI", total, self.data_bytes, self.frames, 0)
            self._at(0, b"RF64" + struct.pack("<I", UNKNOWN_32))
            self._at(12, chunk_bytes(b"ds64", ds64))
        else:
            self._at(4, struct.pack("<I", total))
        self._at(self.data_start - 4, struct.pack("<I", UNKNOWN_32 if wide else self.data_bytes))
        if self.form.is_float:
            self._at(self._fact, struct.pack("<I", min(self.frames, UNKNOWN_32)))
        self._file.flush()
        os.fsync(self._file.fileno())
        self._file.close()
        self._part.replace(self.path)

    def _at(self, offset: int, content: bytes) -> None:
        self._file.seek(offset)
        self._file.write(content)


def write(
    path: Path | str,
    rate_hz: int,
    bits: int,
    channels: int,
    *,
    is_float: bool = False,
    before: Iterable[ChunkBytes] = (),
    behind: Iterable[ChunkBytes] = (),
) -> WaveWriter:
    """Start writing a recording.

    Parameters
    ----------
    path
        Where; a file that is there is replaced once the new one is whole.
    rate_hz
        Sample rate. [Hz]
    bits
        8, 16, 24 or 32; float needs 32 or 64. [bit]
    channels
        Channels side by side in each frame.
    is_float
        Samples are floating point, full scale 1.
    before, behind
        Chunks ahead of the audio (`bext`, `iXML`) and after it (`cue `, `LIST`): letters and bytes.

    Returns
    -------
    A context manager with `.write(samples)`: int32 of shape (frames, channels) at full scale 2^(bits − 1), or float.

    Raises
    ------
    NotDone
        The place cannot be written.
    """
    return write_form(Path(path), make_form(channels, rate_hz, bits, is_float=is_float), before, behind)


def write_form(
    path: Path,
    form: Form,
    before: Iterable[ChunkBytes] = (),
    behind: Iterable[ChunkBytes] = (),
    *,
    limit_bytes: int = UNKNOWN_32 - 1,
) -> WaveWriter:
    """Start writing a recording whose format chunk is given, as in a rewrite; more than `limit_bytes` becomes RF64."""
    try:
        return WaveWriter(path, form, before, behind, limit_bytes)
    except OSError as error:
        raise _not_written(path, error) from error


def _not_written(path: Path, error: OSError) -> NotDone:
    return NotDone(f"cannot be written ({error.strerror})", str(path), "check the folder and the room on its disc")


def write_whole(path: Path | str, rate_hz: int, bits: int, samples: ArrayLike, channels: int = 1) -> None:
    """Write a recording that is in memory already."""
    with write(path, rate_hz, bits, channels) as file:
        file.write(samples)
