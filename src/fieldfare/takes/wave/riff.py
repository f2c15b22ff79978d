"""Chunks of a recording: where each starts, how long it says it is, and whether a row of them holds.

In RIFF a chunk is four letters, a size of 32 bits and that many bytes; a chunk of odd length is followed by one byte
that its size does not count (RIFF 1991; ITU-R BS.2088). Writers forget that byte, so both places are looked at. Other
families differ in what `layouts` says.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from fieldfare.takes.wave.source import View

UNKNOWN_32 = 0xFFFFFFFF
TAIL_BYTES = 1 << 20
KEEP_BYTES = 16 << 20

FILLERS = frozenset((b"JUNK", b"junk", b"PAD ", b"FLLR", b"FILL"))


@dataclass(frozen=True, slots=True)
class Chunk:
    """One chunk: its letters, where its bytes start, how many it states, and the bytes where they are worth keeping."""

    id: bytes
    start: int
    size: int
    payload: bytes | None = None
    align: int = 2

    @property
    def end(self) -> int:
        """First byte after the chunk, its pad byte not counted."""
        return self.start + self.size

    @property
    def next(self) -> int:
        """Where the next chunk starts if the pad byte was written."""
        return self.end + -self.size % self.align


def chunk_at(view: View, offset: int) -> Chunk | None:
    """Return the chunk whose header stands at `offset`, or none where no header can stand there."""
    layout = view.layout
    head = view.at(offset, layout.header_bytes)
    parsed = layout.parse(head) if len(head) == layout.header_bytes else None
    return None if parsed is None else Chunk(parsed[0], offset + layout.header_bytes, parsed[1], None, layout.align)


def with_payload(view: View, chunk: Chunk) -> Chunk:
    """Return the chunk with its bytes, unless they are too many to hold."""
    return chunk if chunk.size > KEEP_BYTES else replace(chunk, payload=view.at(chunk.start, chunk.size))


def chain(view: View, offset: int) -> tuple[Chunk, ...] | None:
    """Return the chunks from `offset` to the end of the file, or none where something else stands there.

    Believed where they lead to the end of the file exactly, or where the first is one of the known chunks and fits. A
    row that starts at the end of the file, or has too few bytes left for a chunk, is empty.
    """
    header_bytes, known = view.layout.header_bytes, view.layout.known
    if view.size - offset < header_bytes:
        return ()
    found: list[Chunk] = []
    at = offset
    while view.size - at >= header_bytes:
        chunk = chunk_at(view, at)
        if chunk is None or chunk.end > view.size:
            return tuple(found) if found and found[0].id in known else None
        found.append(chunk)
        at = _following(view, chunk)
    return tuple(found)


def _following(view: View, chunk: Chunk) -> int:
    """Where the chunk after this one starts: after the pad byte, unless only the place before it holds a chunk."""
    if chunk.next == chunk.end or chunk.next >= view.size:
        return chunk.next
    padded = chunk_at(view, chunk.next)
    bare = chunk_at(view, chunk.end)
    known = view.layout.known
    if (padded is None or padded.id not in known) and bare is not None and bare.id in known:
        return chunk.end
    return chunk.next


def after(view: View, end: int, start: int) -> tuple[Chunk, ...] | None:
    """Return the chunks after audio that runs from `start` to `end`, with or without its pad byte, or none."""
    padded = end + (start - end) % view.layout.align
    row = chain(view, padded)
    if not row and padded != end:
        bare = chain(view, end)
        return bare if bare else row
    return row


def tail(view: View, start: int) -> tuple[Chunk, ...]:
    """Find known chunks at the very end of a file whose audio, from `start`, has no length that can be believed."""
    begin = max(start, view.size - TAIL_BYTES)
    data = view.at(begin, view.size - begin)
    places = sorted({place for letters in view.layout.stored for place in _all_places(data, letters)})
    for place in places:
        row = chain(view, begin + place)
        if row and 0 <= row[-1].next - view.size < view.layout.align:
            return row
    return ()


def _all_places(data: bytes, letters: bytes) -> list[int]:
    places: list[int] = []
    place = data.find(letters)
    while place >= 0:
        places.append(place)
        place = data.find(letters, place + 1)
    return places
