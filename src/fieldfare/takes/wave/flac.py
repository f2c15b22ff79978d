"""The head of a FLAC file (RFC 9639).

A recorder that was stopped leaves a total of 0 samples and a sum of zeros, and a cut file ends inside a frame; readers
then refuse, or read short without a word. So the last whole frame is looked for at the end of the file: every frame
carries its own number and two check sums.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from fieldfare.takes.wave.extent import State
from fieldfare.takes.wave.form import plain_form
from fieldfare.takes.wave.head import Head, unreadable
from fieldfare.takes.wave.riff import Chunk
from fieldfare.takes.wave.source import View

FLAC_LETTERS = b"fLaC"
_STREAMINFO, _APPLICATION = 0, 2
_LEAST_WINDOW = 1 << 18
_MOST_WINDOW = 1 << 24
_KEPT = frozenset((b"bext", b"iXML", b"cue ", b"LIST"))
LONGEST_HEAD = 17
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
    return FrameHead(first, frames)


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
    at = after_tag(view)
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


def after_tag(view: View) -> int:
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
        head = read_frame_head(data[at : at + LONGEST_HEAD], info)
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
