"""Channels of a recording copied out of it, a file each: the bytes of every sample as they were recorded.

Conventions: places are samples on the take's axis. Where a recording has none, because it was armed late, ended early
or lost some, stands silence, and it is counted.
"""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from fieldfare.takes.axis import AxisTrack
from fieldfare.takes.wave import Course, Form, WaveWriter, raw_blocks
from fieldfare.takes.wave.form import EXTENSIBLE

_BLOCK_BYTES = 1 << 20


@dataclass
class ChannelFile:
    """One channel's file while it is written."""

    track: AxisTrack
    writer: WaveWriter
    silent: int = 0  # samples of silence where the recording has none
    hasher: hashlib._Hash = field(default_factory=hashlib.sha256)  # of its samples

    def write(self, packed: bytes) -> None:
        """Write whole frames, and count them in."""
        self.hasher.update(packed)
        self.writer.write_packed(packed)

    def write_silence(self, frames: int) -> None:
        """Write silence, and count it in."""
        self.silent += frames
        form = self.writer.form
        silence = b"\x80" if form.sample_bytes == 1 else b"\0"  # 8-bit WAV is unsigned
        left = frames * form.frame_bytes
        while left > 0:
            count = min(left, _BLOCK_BYTES - _BLOCK_BYTES % form.frame_bytes)
            self.write(silence * count)
            left -= count


def copy_stretch(
    course: Course, start: int, end: int, files: Sequence[ChannelFile], tell: Callable[[int], None]
) -> None:
    """Copy a stretch of a recording, each of its channels that has a file into that; every file gets as many samples.

    Parameters
    ----------
    course
        The recording; it is only read.
    start, end
        From which sample to before which. [sample]
    files
        Of tracks of this recording, open, each with one channel in the recording's own form.
    tell
        Called with the samples that were written into all of them, block by block.

    Raises
    ------
    Fault
        The recording cannot be read.
    NotDone
        A file cannot be written.
    """
    at = start
    for head, first, count, begin in course.spans(start, end):
        _silence(files, begin - at, tell)
        at = begin + count
        left = count * head.frame_bytes
        for block in raw_blocks(head, _BLOCK_BYTES, first):
            packed = block[:left]
            left -= len(packed)
            frames = np.frombuffer(packed, np.uint8).reshape(-1, head.channels, head.sample_bytes)
            for file in files:
                file.write(frames[:, file.track.channel].tobytes())
            tell(len(frames) * len(files))
            if not left:
                break
    _silence(files, end - at, tell)


def _silence(files: Sequence[ChannelFile], frames: int, tell: Callable[[int], None]) -> None:
    for file in files:
        file.write_silence(frames)
    tell(frames * len(files))


def one_channel(form: Form) -> Form:
    """Return the form of one channel of a recording: the format chunk as it stood, but for what counts channels.

    >>> from fieldfare.takes.wave import make_form
    >>> one_channel(make_form(18, 48_000, 24)) == make_form(1, 48_000, 24)
    True
    """
    payload = bytearray(form.payload)
    struct.pack_into("<H", payload, 2, 1)
    struct.pack_into("<IH", payload, 8, form.rate_hz * form.sample_bytes, form.sample_bytes)
    if struct.unpack_from("<H", payload)[0] == EXTENSIBLE and len(payload) >= 24:
        struct.pack_into("<I", payload, 20, 0)  # no place among loudspeakers
    return replace(form, channels=1, payload=bytes(payload))
