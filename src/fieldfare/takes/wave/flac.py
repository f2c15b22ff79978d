"""The head of a FLAC file and its audio, decoded by the media library (RFC 9639).

A recorder that was stopped leaves a total of 0 samples and a sum of zeros, and a cut file ends inside a frame; readers
then refuse, or read short without a word. So the last whole frame is looked for at the end of the file: every frame
carries its own number and two check sums.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.wave.extent import State
from fieldfare.takes.wave.form import Form, plain_form
from fieldfare.takes.wave.head import Head, unreadable
from fieldfare.takes.wave.riff import Chunk
from fieldfare.takes.wave.source import View, open_readonly
from fieldfare.units.faults import Fault

FLAC_LETTERS = b"fLaC"
_STREAMINFO, _APPLICATION = 0, 2
_LEAST_WINDOW = 1 << 18
_MOST_WINDOW = 1 << 24
_KEPT = frozenset((b"bext", b"iXML", b"cue ", b"LIST"))
_STEP = 1 << 18
_LONGEST_HEAD = 17
_NEAR = 1 << 17
_SIZES = {0: 0, 1: 8, 2: 12, 4: 16, 5: 20, 6: 24, 7: 32}


class StreamInfo(NamedTuple):
    """What the first block of the head says."""

    block_frames: int  # of all frames but the last, where they are of one size
    largest_bytes: int  # of a frame; 0 where not known
    rate_hz: int
    channels: int
    bits: int
    frames: int  # 0 where not known
    md5: bytes  # of the samples; zeros where not known


class FrameHead(NamedTuple):
    """What one frame says of itself."""

    first: int  # sample of the stream
    frames: int
    head_bytes: int


@dataclass(frozen=True, slots=True)
class Damage:
    """A stretch that could not be decoded, or audio that is not what was recorded; ends are samples of the file."""

    start: int
    end: int
    says: str


def _table(polynomial: int, bits: int) -> tuple[int, ...]:
    top, mask = 1 << (bits - 1), (1 << bits) - 1
    table = []
    for byte in range(256):
        value = byte << (bits - 8)
        for _ in range(8):
            value = (value << 1 ^ polynomial if value & top else value << 1) & mask
        table.append(value)
    return tuple(table)


_CRC8, _CRC16 = _table(0x07, 8), _table(0x8005, 16)


def crc8(data: bytes) -> int:
    """Return the check sum of a frame's head (RFC 9639 §9.1.8).

    >>> hex(crc8(b"123456789"))
    '0xf4'
    """
    value = 0
    for byte in data:
        value = _CRC8[value ^ byte]
    return value


def crc16(data: bytes) -> int:
    """Return the check sum of a frame (RFC 9639 §9.3); 0 over a whole frame with its own sum behind it.

    >>> hex(crc16(b"123456789"))
    '0xfee8'
    """
    value = 0
    for byte in data:
        value = (value << 8 & 0xFFFF) ^ _CRC16[value >> 8 ^ byte]
    return value


def read_streaminfo(block: bytes) -> StreamInfo:
    """Read the first block of the head, of 34 bytes (RFC 9639 §8.2)."""
    packed = int.from_bytes(block[10:18], "big")
    return StreamInfo(
        block_frames=int.from_bytes(block[2:4], "big"),
        largest_bytes=int.from_bytes(block[7:10], "big"),
        rate_hz=packed >> 44,
        channels=(packed >> 41 & 7) + 1,
        bits=(packed >> 36 & 31) + 1,
        frames=packed & (1 << 36) - 1,
        md5=block[18:34],
    )


def read_frame_head(data: bytes, info: StreamInfo) -> FrameHead | None:
    """Read the head of a frame, or none where none stands at the start of `data` (RFC 9639 §9.1)."""
    if len(data) < 6 or data[0] != 0xFF or data[1] not in (0xF8, 0xF9):
        return None
    block, rate, layout, size = data[2] >> 4, data[2] & 15, data[3] >> 4, data[3] >> 1 & 7
    if not block or rate == 15 or layout > 10 or data[3] & 1 or _SIZES.get(size, -1) not in (0, info.bits):
        return None
    if (2 if layout > 7 else layout + 1) != info.channels:
        return None
    number, at = _coded_number(data, 4)
    if number is None:
        return None
    if block in (6, 7):
        width = block - 5
        frames = int.from_bytes(data[at : at + width], "big") + 1
        at += width
    else:
        frames = 192 if block == 1 else 144 << block if block < 6 else 1 << block
    at += {12: 1, 13: 2, 14: 2}.get(rate, 0)
    if len(data) <= at or crc8(data[:at]) != data[at]:
        return None
    first = number if data[1] == 0xF9 else number * info.block_frames
    return FrameHead(first, frames, at + 1)


def _coded_number(data: bytes, at: int) -> tuple[int | None, int]:
    """Read a number coded as UTF-8 codes characters, up to 36 bits."""
    first = data[at]
    if first < 0x80:
        return first, at + 1
    more = 8 - (first ^ 0xFF).bit_length() - 1
    if not 1 <= more <= 6 or len(data) < at + 1 + more:
        return None, at
    number = first & (0x3F >> more)
    for byte in data[at + 1 : at + 1 + more]:
        if byte & 0xC0 != 0x80:
            return None, at
        number = number << 6 | byte & 0x3F
    return number, at + 1 + more


def flac_head(view: View, path: Path) -> Head:
    """Read the head of a file that starts as FLAC does, or with a tag ahead of that."""
    at = _after_tag(view)
    if view.at(at, 4) != FLAC_LETTERS:
        return unreadable(path, view, "unknown", "it starts with a tag, and no FLAC stream stands behind it")
    blocks, begin = _blocks(view, at + 4)
    if begin is None or not blocks or blocks[0][0] != _STREAMINFO or blocks[0][1].size < 34:
        return unreadable(path, view, "FLAC", "its head is cut or damaged")
    info = read_streaminfo(view.at(blocks[0][1].start, 34))
    if not info.rate_hz or info.bits < 4:
        return unreadable(path, view, "FLAC", f"its head says {info.rate_hz} Hz, {info.bits} bits")
    frames, cut = _end_of_audio(view, begin, info)
    form = plain_form(info.channels, info.rate_hz, info.bits, max(2, -(-info.bits // 8)))
    state, says = _state(info.frames, frames, cut)
    return Head(
        path=path,
        file_bytes=view.size,
        container="FLAC",
        form=form,
        data_start=begin,
        data_bytes=frames * form.frame_bytes,
        stated_bytes=info.frames * form.frame_bytes if info.frames else None,
        state=state,
        says=says,
        before=tuple(_foreign(view, [chunk for kind, chunk in blocks if kind == _APPLICATION])),
        coding="compressed",
    )


def _after_tag(view: View) -> int:
    """Where the stream starts: behind an ID3 tag, if one stands there."""
    head = view.at(0, 10)
    if head[:3] != b"ID3" or len(head) < 10:
        return 0
    return 10 + (head[6] << 21 | head[7] << 14 | head[8] << 7 | head[9])


def _blocks(view: View, at: int) -> tuple[list[tuple[int, Chunk]], int | None]:
    """Return the blocks of the head with their kind, and where the audio begins; none where the head is cut."""
    blocks: list[tuple[int, Chunk]] = []
    while len(head := view.at(at, 4)) == 4:
        chunk = Chunk(b"", at + 4, int.from_bytes(head[1:], "big"))
        blocks.append((head[0] & 0x7F, chunk))
        at = chunk.end
        if head[0] & 0x80 or at > view.size:
            return blocks, at if at <= view.size else None
    return blocks, None


def _foreign(view: View, blocks: list[Chunk]) -> Iterator[Chunk]:
    """Give the chunks of a WAV file that stand in application blocks, as `riff` blocks or under their own letters."""
    for block in blocks:
        payload = view.at(block.start, min(block.size, 1 << 24))
        letters = payload[:4]
        if letters in _KEPT:
            yield Chunk(letters, block.start + 4, len(payload) - 4, payload[4:])
        elif letters == b"riff" and payload[4:8] in _KEPT:
            size = min(int.from_bytes(payload[8:12], "little"), len(payload) - 12)
            yield Chunk(payload[4:8], block.start + 12, size, payload[12 : 12 + size])


def _end_of_audio(view: View, begin: int, info: StreamInfo) -> tuple[int, bool]:
    """Count the samples up to the end of the last whole frame, and tell whether part of one stands behind it."""
    window = max(_LEAST_WINDOW, 2 * info.largest_bytes)
    while True:
        start = max(begin, view.size - window)
        found = _last_frame(view.at(start, view.size - start), info)
        if found is not None or start == begin or window >= _MOST_WINDOW:
            return found if found is not None else (0, view.size > begin)
        window *= 4


def _last_frame(data: bytes, info: StreamInfo) -> tuple[int, bool] | None:
    """Find the last frame of some bytes: the samples to the end of the last whole one, and whether one is cut."""
    if data[-128:-125] == b"TAG":
        data = data[:-128]
    at = len(data)
    while (at := max(data.rfind(b"\xff\xf8", 0, at + 1), data.rfind(b"\xff\xf9", 0, at + 1))) >= 0:
        head = read_frame_head(data[at : at + _LONGEST_HEAD], info)
        if head is not None:
            whole = crc16(data[at:]) == 0
            return (head.first + head.frames, False) if whole else (head.first, True)
    return None


def _state(stated: int, frames: int, cut: bool) -> tuple[State, str]:
    part = "; the last frame is not whole" if cut else ""
    if not stated:
        says = "the header was never finished: it states no length and no check sum"
        return "unfinished", f"{says}{part}"
    if frames < stated:
        return "cut", f"the file ends early: the header states {stated} samples, {frames} are there{part}"
    if frames > stated:
        return "stale", f"the header is out of date: it states {stated} samples, {frames} are there{part}"
    return ("cut", "bytes that are no whole frame stand behind the last sample") if cut else ("good", "")


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
        return read_streaminfo(view.at(_after_tag(view) + 8, 34)).md5


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
        block = view.at(_after_tag(view) + 8, 34)
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
        data = view.at(at, _STEP + _LONGEST_HEAD)
        place = -1
        while (place := data.find(b"\xff", place + 1)) >= 0 and place < _STEP:
            head = read_frame_head(data[place : place + _LONGEST_HEAD], info)
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
