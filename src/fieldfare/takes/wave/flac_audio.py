"""The audio of a FLAC file, frame by frame, decoded by the media library (RFC 9639).

Where frames begin is found here and not asked of the library, so that a torn frame costs no other; and the samples are
held against the check sum that the file states, which decoders do not.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.wave.flac import LONGEST_HEAD, FrameHead, StreamInfo, after_tag, read_frame_head, read_streaminfo
from fieldfare.takes.wave.form import Form
from fieldfare.takes.wave.head import Head
from fieldfare.takes.wave.source import View, open_readonly
from fieldfare.units.faults import Fault

_STEP = 1 << 18
_NEAR = 1 << 17


@dataclass(frozen=True, slots=True)
class Damage:
    """A stretch that could not be decoded, or audio that is not what was recorded; ends are samples of the file."""

    start: int
    end: int
    says: str


def flac_blocks(
    head: Head, frames_per_block: int, first_frame: int = 0, damage: list[Damage] | None = None
) -> Iterator[memoryview]:
    """Decode the audio, and give it packed as the head's form says.

    Parameters
    ----------
    head
        The recording.
    frames_per_block
        Frames to give at once; the last may be fewer.
    first_frame
        Frame to start from.
    damage
        Takes what could not be decoded, and whether the check sum of the samples holds where all were read. Frames
        that cannot be decoded are silence.

    Raises
    ------
    Fault
        The medium fails.
    """
    rest, size = bytearray(), frames_per_block * head.frame_bytes
    digest = hashlib.md5(usedforsecurity=False)
    told = [] if damage is None else damage
    before = len(told)
    for packed in _in_order(head, first_frame, told):
        digest.update(packed)
        rest += packed
        while len(rest) >= size:
            yield memoryview(bytes(rest[:size]))
            del rest[:size]
    if rest:
        yield memoryview(bytes(rest))
    if first_frame == 0 and len(told) == before and head.bits % 8 == 0 and head.bits > 8:
        stated = _stated_md5(head)
        if head.state == "good" and any(stated) and stated != digest.digest():
            told.append(Damage(0, head.frames, "the samples do not have the check sum that the file states"))


def _stated_md5(head: Head) -> bytes:
    with open_readonly(head.path) as file:
        view = View(file)
        return read_streaminfo(view.at(after_tag(view) + 8, 34)).md5


def _in_order(head: Head, first_frame: int, told: list[Damage]) -> Iterator[bytes]:
    """Give packed frames from `first_frame` to the head's last, silence for those that cannot be decoded."""
    at = first_frame
    for start, samples in _decoded(head, first_frame):
        skipped = max(at - start, 0)
        if start > at:
            told.append(Damage(at, min(start, head.frames), "cannot be decoded"))
            yield bytes((min(start, head.frames) - at) * head.frame_bytes)
            at = min(start, head.frames)
        wanted = samples[skipped : skipped + head.frames - at]
        if len(wanted):
            yield _packed(wanted, head.form)
            at += len(wanted)
        if at >= head.frames:
            return
    if at < head.frames:
        told.append(Damage(at, head.frames, "cannot be decoded"))
        yield bytes((head.frames - at) * head.frame_bytes)


def _packed(samples: NDArray[np.int16 | np.int32], form: Form) -> bytes:
    """Pack samples as the media library gives them: at the top of 16 or 32 bits."""
    if samples.dtype == np.int32 and form.sample_bytes == 3:
        return np.ascontiguousarray(samples, "<i4").view(np.uint8).reshape(-1, 4)[:, 1:].tobytes()
    return samples.astype(f"<i{form.sample_bytes}").tobytes()


def _decoded(head: Head, first_frame: int) -> Iterator[tuple[int, NDArray[np.int16 | np.int32]]]:
    """Decode frame by frame, from one at or before `first_frame` on: its first sample, and shape (frames, channels)."""
    import av

    with open_readonly(head.path) as file:
        view = View(file)
        block = view.at(after_tag(view) + 8, 34)
        info = read_streaminfo(block)
        decoder = av.CodecContext.create("flac", "r")
        decoder.extradata, decoder.thread_count = block, 1
        decoder.options = {"err_detect": "crccheck+explode"}
        try:
            begin = _offset_of(view, head.data_start, first_frame, info) if first_frame else head.data_start
            for frame, packed in _frames(view, begin, info):
                try:
                    decoded = decoder.decode(av.Packet(packed))
                except av.error.FFmpegError:  # torn: told by what is missing
                    continue
                for one in decoded:
                    samples = cast(NDArray[np.int16 | np.int32], one.to_ndarray())
                    yield frame.first, samples.reshape(-1, head.channels)
        except OSError as error:
            what = f"cannot be read ({error.strerror})"
            raise Fault(what, str(head.path), "try another card reader, then a copy of the card") from error


def _heads(view: View, at: int, info: StreamInfo) -> Iterator[tuple[int, FrameHead]]:
    """Go through all that looks like the head of a frame, with its place."""
    while True:
        data = view.at(at, _STEP + LONGEST_HEAD)
        place = -1
        while (place := data.find(b"\xff", place + 1)) >= 0 and place < _STEP:
            head = read_frame_head(data[place : place + LONGEST_HEAD], info)
            if head is not None:
                yield at + place, head
        at += _STEP
        if at >= view.size:
            return


def _in_a_row(heads: Iterable[tuple[int, FrameHead]]) -> Iterator[tuple[int, FrameHead]]:
    """Keep heads that follow on one another; after a torn one, those that a next one bears out."""
    expected: int | None = None
    doubtful: tuple[int, FrameHead] | None = None
    for place, head in heads:
        if expected is None or head.first == expected:
            expected, doubtful = head.first + head.frames, None
            yield place, head
        elif doubtful is not None and head.first == doubtful[1].first + doubtful[1].frames:
            yield doubtful
            expected, doubtful = head.first + head.frames, None
            yield place, head
        elif head.first > expected:
            doubtful = place, head
    if doubtful is not None:
        yield doubtful


def _frames(view: View, at: int, info: StreamInfo) -> Iterator[tuple[FrameHead, bytes]]:
    """Go through the frames of a stream with their bytes, up to the head of the next."""
    before: tuple[int, FrameHead] | None = None
    for place, head in _in_a_row(_heads(view, at, info)):
        if before is not None:
            yield before[1], view.at(before[0], place - before[0])
        before = place, head
    if before is not None:
        yield before[1], view.at(before[0], view.size - before[0])


def _offset_of(view: View, begin: int, sample: int, info: StreamInfo) -> int:
    """Find where a frame begins that lies at or a little before a sample, by halving."""
    low, high = begin, view.size
    while high - low > _NEAR:
        middle = (low + high) // 2
        found = next(_in_a_row(_heads(view, middle, info)), None)
        if found is None or found[0] >= high or found[1].first > sample:
            high = middle
        else:
            low = found[0]
    return low
