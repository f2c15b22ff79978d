"""Chunks of a RIFF, RF64 or BW64 file: where each starts, how long it says it is, and whether a row of them holds.

A chunk is four letters, a size of 32 bits and that many bytes; a chunk of odd length is followed by one byte that its
size does not count (RIFF 1991; ITU-R BS.2088). Writers forget that byte, so both places are looked at.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

from fieldfare.takes.wave.source import View

HEADER_BYTES = 8
UNKNOWN_32 = 0xFFFFFFFF
TAIL_BYTES = 1 << 20
KEEP_BYTES = 16 << 20

# Chunks that open standards put into such files; only these are believed where nothing else vouches for a chunk.
KNOWN = frozenset(
    (
        *(b"LIST", b"bext", b"iXML", b"cue ", b"smpl", b"inst", b"plst", b"fact", b"JUNK", b"PAD ", b"fmt ", b"axml"),
        *(b"chna", b"umid", b"r64m", b"levl", b"link", b"ubxt", b"MD5 ", b"id3 ", b"ID3 ", b"PEAK", b"cart"),
    )
)
FILLERS = frozenset((b"JUNK", b"junk", b"PAD ", b"FLLR", b"FILL"))


@dataclass(frozen=True, slots=True)
class Chunk:
    """One chunk: its letters, where its bytes start, how many it states, and the bytes where they are worth keeping."""

    id: bytes
    start: int
    size: int
    payload: bytes | None = None

    @property
    def end(self) -> int:
        """First byte after the chunk, its pad byte not counted."""
        return self.start + self.size

    @property
    def next(self) -> int:
        """Where the next chunk starts if the pad byte was written."""
        return self.end + self.size % 2


def chunk_at(view: View, offset: int) -> Chunk | None:
    """Return the chunk whose header stands at `offset`, or none where its letters cannot be a chunk's."""
    head = view.at(offset, HEADER_BYTES)
    if len(head) < HEADER_BYTES or not all(0x20 <= letter < 0x7F for letter in head[:4]):
        return None
    return Chunk(head[:4], offset + HEADER_BYTES, struct.unpack("<I", head[4:])[0])


def with_payload(view: View, chunk: Chunk) -> Chunk:
    """Return the chunk with its bytes, unless they are too many to hold."""
    if chunk.size > KEEP_BYTES:
        return chunk
    return Chunk(chunk.id, chunk.start, chunk.size, view.at(chunk.start, chunk.size))


def chain(view: View, offset: int) -> tuple[Chunk, ...] | None:
    """Return the chunks from `offset` to the end of the file, or none where something else stands there.

    Believed where they lead to the end of the file exactly, or where the first is one of the known chunks and fits. A
    row that starts at the end of the file, or has too few bytes left for a chunk, is empty.
    """
    if view.size - offset < HEADER_BYTES:
        return ()
    found: list[Chunk] = []
    at = offset
    while view.size - at >= HEADER_BYTES:
        chunk = chunk_at(view, at)
        if chunk is None or chunk.end > view.size:
            return tuple(found) if found and found[0].id in KNOWN else None
        found.append(chunk)
        at = _following(view, chunk)
    return tuple(found)


def _following(view: View, chunk: Chunk) -> int:
    """Where the chunk after this one starts: after the pad byte, unless only the place before it holds a chunk."""
    if chunk.next == chunk.end or chunk.next >= view.size:
        return chunk.next
    padded = chunk_at(view, chunk.next)
    bare = chunk_at(view, chunk.end)
    if (padded is None or padded.id not in KNOWN) and bare is not None and bare.id in KNOWN:
        return chunk.end
    return chunk.next


def after(view: View, end: int, start: int) -> tuple[Chunk, ...] | None:
    """Return the chunks after audio that runs from `start` to `end`, with or without its pad byte, or none."""
    padded = end + (end - start) % 2
    row = chain(view, padded)
    if not row and padded != end:
        bare = chain(view, end)
        return bare if bare else row
    return row


def tail(view: View, start: int) -> tuple[Chunk, ...]:
    """Find known chunks at the very end of a file whose audio, from `start`, has no length that can be believed."""
    begin = max(start, view.size - TAIL_BYTES)
    data = view.at(begin, view.size - begin)
    places = sorted({place for letters in KNOWN for place in _all_places(data, letters)})
    for place in places:
        row = chain(view, begin + place)
        if row and row[-1].next - view.size in (0, 1):
            return row
    return ()


def _all_places(data: bytes, letters: bytes) -> list[int]:
    places: list[int] = []
    place = data.find(letters)
    while place >= 0:
        places.append(place)
        place = data.find(letters, place + 1)
    return places
