"""Going through the audio of a recording block by block, in little memory however long it is."""

from __future__ import annotations

import io
from collections.abc import Iterator

import numpy as np

from fieldfare.takes.wave.flac_audio import Damage, flac_blocks
from fieldfare.takes.wave.head import Head
from fieldfare.takes.wave.samples import Packed, Samples, sample_type, unpack
from fieldfare.takes.wave.source import aligned_buffer, open_readonly
from fieldfare.units.faults import Fault

RAW_BYTES = 1 << 20


def raw_blocks(
    head: Head, block_bytes: int = RAW_BYTES, first_frame: int = 0, damage: list[Damage] | None = None
) -> Iterator[memoryview]:
    """Go through the audio packed as WAV packs it, whole frames at a time, whatever the file holds it as.

    Parameters
    ----------
    head
        The recording.
    block_bytes
        About how much to hand out at once; at least one frame. [byte]
    first_frame
        Frame to start from.
    damage
        Takes what of a compressed file could not be decoded; silence stands there.

    Yields
    ------
    A view of at most `block_bytes` packed bytes, page-aligned. The next one overwrites it.

    Raises
    ------
    Fault
        The head is unreadable, or the medium fails; the place is named to the sample.
    """
    if head.state == "unreadable":
        raise Fault(head.says, str(head.path), "mend it first")
    step = max(block_bytes // head.frame_bytes, 1) * head.frame_bytes
    if not head.in_place:
        yield from flac_blocks(head, step // head.frame_bytes, first_frame, damage)
        return
    buffer = aligned_buffer(step)
    done, end = first_frame * head.frame_bytes, head.data_bytes
    with open_readonly(head.path) as file:
        file.seek(head.data_start + done)
        while done < end:
            part = buffer[: min(step, end - done)]
            _fill(file, part, head, done)
            repack(part, head)
            yield part
            done += len(part)


def repack(part: memoryview, head: Head) -> None:
    """Turn bytes as a file holds them into bytes as WAV packs them, in place. [byte]"""
    if head.coding == "big end first" and head.sample_bytes > 1:
        flat = np.frombuffer(part, np.uint8).reshape(-1, head.sample_bytes)
        flat[:] = flat[:, ::-1].copy()
    elif head.coding == "signed bytes":
        signed = np.frombuffer(part, np.uint8)
        signed ^= 0x80


def read_packed(head: Head, first: int, frames: int) -> Packed:
    """Read some frames of a recording into memory of their own, packed as WAV packs them.

    Raises
    ------
    Fault
        As for `raw_blocks`; and where the recording ends before.
    """
    if frames <= 0:
        return b""
    if not 0 <= first <= head.frames - frames:
        raise Fault(f"ends before sample {first + frames}", str(head.path), "read it again")
    if not head.in_place:
        return bytes(next(raw_blocks(head, frames * head.frame_bytes, first)))
    # the heap hands the same memory out again, for short reads without a fault for every page of it
    part = np.empty(frames * head.frame_bytes, np.uint8).data
    done = first * head.frame_bytes
    with open_readonly(head.path) as file:
        file.seek(head.data_start + done)
        _fill(file, part, head, done)
    repack(part, head)
    return part


def _fill(file: io.FileIO, part: memoryview, head: Head, done: int) -> None:
    """Read until the part is full, or say at which sample that fails."""
    filled = 0
    while filled < len(part):
        frame = (done + filled) // head.frame_bytes
        try:
            count = file.readinto(part[filled:])
        except OSError as error:
            what = f"cannot be read from sample {frame} on ({error.strerror})"
            raise Fault(what, str(head.path), "try another card reader, then a copy of the card") from error
        if not count:
            raise Fault(f"ends at sample {frame}, earlier than when it was opened", str(head.path), "read it again")
        filled += count


def blocks(head: Head, frames_per_block: int, first_frame: int = 0) -> Iterator[Samples]:
    """Go through the samples of the audio.

    Parameters
    ----------
    head
        The recording.
    frames_per_block
        Frames in each block; the last may have fewer.
    first_frame
        Frame to start from.

    Yields
    ------
    A new array of shape (frames, channels): int32 at the scale of `head.full_scale`; float32 or float64 for a float
    file.

    Raises
    ------
    Fault
        As for `raw_blocks`.
    """
    for part in raw_blocks(head, frames_per_block * head.frame_bytes, first_frame):
        yield unpack(part, head.form)


def read_all(head: Head) -> Samples:
    """Return all samples of a recording that is known to be short, shape (frames, channels)."""
    parts = [unpack(part, head.form) for part in raw_blocks(head)]
    none: Samples = np.zeros((0, head.channels), sample_type(head.form))
    return np.concatenate([none, *parts])
