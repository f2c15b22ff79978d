"""Recordings made byte by byte, so that a header can say anything."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FF = 0xFFFFFFFF


def noise(frames: int, channels: int, seed: int = 1) -> NDArray[np.int32]:
    """Return noise of 24 bits, shape (frames, channels), without silent samples."""
    values = np.random.default_rng(seed).integers(-(1 << 22), 1 << 22, (frames, channels), np.int32)
    return np.where(values == 0, 1, values).astype(np.int32)


def packed(samples: NDArray[np.int32]) -> bytes:
    """Return 24-bit samples packed, made another way than the package makes them."""
    return b"".join(int(one).to_bytes(3, "little", signed=True) for one in samples.ravel())


def fmt(channels: int = 2, rate_hz: int = 48_000, bits: int = 24, tag: int = 1) -> bytes:
    """Return a plain format chunk."""
    align = channels * bits // 8
    return chunk(b"fmt ", struct.pack("<HHIIHH", tag, channels, rate_hz, rate_hz * align, align, bits))


def chunk(letters: bytes, payload: bytes, size: int | None = None, pad: bool = True) -> bytes:
    """Return a chunk, with a size of choice and with or without its pad byte."""
    stated = len(payload) if size is None else size
    return letters + struct.pack("<I", stated) + payload + (b"\0" * (len(payload) % 2) if pad else b"")


def form(letters: bytes, body: bytes, size: int | None = None) -> bytes:
    """Return a whole file: the first twelve bytes and the chunks."""
    return letters + struct.pack("<I", len(body) + 4 if size is None else size) + b"WAVE" + body


def wav(audio: bytes, riff: int | None = None, data: int | None = None, behind: bytes = b"") -> bytes:
    """Return a stereo 24-bit file of 44 header bytes whose two sizes are of choice."""
    return form(b"RIFF", fmt() + chunk(b"data", audio, data) + behind, riff)


def ds64(riff: int, data: int, frames: int) -> bytes:
    """Return a chunk of sizes of 64 bits."""
    return chunk(b"ds64", struct.pack("<QQQI", riff, data, frames, 0))


def sparse(path: Path, head: bytes, audio_bytes: int, ending: bytes = b"") -> None:
    """Write a long file whose audio is a hole, which takes no room on the disc."""
    with path.open("wb") as file:
        file.write(head)
        file.truncate(len(head) + audio_bytes)
        file.seek(0, 2)
        file.write(ending)
