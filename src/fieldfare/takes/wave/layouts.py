"""How chunks stand in each family of containers: how long their headers are, how sizes are written, where they begin.

RIFF 1991 with ITU-R BS.2088; the published pages on W64, whose chunks are named by 16 bytes and sized by 64 bits that
count the header; AIFF 1.3 (1989) and AIFF-C, whose numbers stand big end first.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass

# Chunks that open standards put into such files; only these are believed where nothing else vouches for a chunk.
RIFF_KNOWN = frozenset(
    (
        *(b"LIST", b"bext", b"iXML", b"cue ", b"smpl", b"inst", b"plst", b"fact", b"JUNK", b"PAD ", b"fmt ", b"axml"),
        *(b"chna", b"umid", b"r64m", b"levl", b"link", b"ubxt", b"MD5 ", b"id3 ", b"ID3 ", b"PEAK", b"cart"),
    )
)
AIFF_KNOWN = frozenset(
    (
        *(b"COMM", b"SSND", b"MARK", b"INST", b"MIDI", b"AESD", b"APPL", b"COMT", b"NAME", b"AUTH", b"(c) ", b"ANNO"),
        *(b"FVER", b"PEAK", b"CHAN", b"FLLR", b"ID3 ", b"iXML", b"bext", b"umid", b"axml"),
    )
)

W64_RIFF = bytes.fromhex("726966662e91cf11a5d628db04c10000")
W64_WAVE = bytes.fromhex("77617665f3acd3118cd100c04f8edb8a")
_W64_LIST = bytes.fromhex("6c6973742f91cf11a5d628db04c10000")
_W64_TAIL = W64_WAVE[4:]


@dataclass(frozen=True, slots=True)
class Layout:
    """One family of containers."""

    header_bytes: int  # of a chunk
    align: int  # chunks begin at multiples of this
    wraps: bool  # sizes have 32 bits, so that long audio runs past what they can say
    known: frozenset[bytes]  # letters of chunks that are believed
    stored: frozenset[bytes]  # the same as their first four bytes stand in the file
    parse: Callable[[bytes], tuple[bytes, int] | None]  # letters and size of a header; none where it can be none


def _printable(letters: bytes) -> bool:
    return all(0x20 <= letter < 0x7F for letter in letters)


def _parse_riff(head: bytes) -> tuple[bytes, int] | None:
    return (head[:4], struct.unpack("<I", head[4:8])[0]) if _printable(head[:4]) else None


def _parse_aiff(head: bytes) -> tuple[bytes, int] | None:
    return (head[:4], struct.unpack(">I", head[4:8])[0]) if _printable(head[:4]) else None


def _parse_w64(head: bytes) -> tuple[bytes, int] | None:
    size = struct.unpack("<Q", head[16:24])[0] - 24
    if size < 0:
        return None
    if head[:16] == _W64_LIST:
        return b"LIST", size
    return (head[:4], size) if head[4:16] == _W64_TAIL and _printable(head[:4]) else None


RIFF = Layout(8, 2, True, RIFF_KNOWN, RIFF_KNOWN, _parse_riff)
AIFF = Layout(8, 2, True, AIFF_KNOWN, AIFF_KNOWN, _parse_aiff)
W64 = Layout(24, 8, False, RIFF_KNOWN, RIFF_KNOWN | {b"list"}, _parse_w64)
