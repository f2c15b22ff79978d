"""The chunks that a recording takes along when it is written anew as WAV, whatever container it comes from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fieldfare.takes.wave.cues import make_cues, read_cues
from fieldfare.takes.wave.head import Head
from fieldfare.takes.wave.riff import Chunk
from fieldfare.takes.wave.source import View, open_readonly
from fieldfare.takes.wave.writer import ChunkBytes, chunk_bytes

_INFO = {b"NAME": b"INAM", b"AUTH": b"IART", b"(c) ": b"ICOP", b"ANNO": b"ICMT"}  # AIFF 1.3 to RIFF 1991


@dataclass(frozen=True, slots=True)
class Taken:
    """Chunks to write ahead of the audio and after it, and the names they had."""

    before: tuple[ChunkBytes, ...]
    behind: tuple[ChunkBytes, ...]
    names: tuple[str, ...]


def taken_along(head: Head) -> Taken:
    """Return the chunks of a recording for a WAV file: unchanged, but for marks and texts of AIFF, which change form.

    Raises
    ------
    Fault
        The recording cannot be read.
    """
    names = tuple(chunk.id.decode("latin-1") for chunk in (*head.before, *head.behind))
    if head.container not in ("AIFF", "AIFF-C"):
        return Taken(_payloads(head, head.before), _payloads(head, head.behind), names)
    of_aiff = {b"MARK", *_INFO}
    before = _payloads(head, [chunk for chunk in head.before if chunk.id not in of_aiff])
    behind = _payloads(head, [chunk for chunk in head.behind if chunk.id not in of_aiff])
    return Taken(before, (*_marks(head), *_texts(head), *behind), names)


def _payloads(head: Head, chunks: Iterable[Chunk]) -> tuple[ChunkBytes, ...]:
    """Return chunks with their bytes, those that were too long to hold read again."""
    kept: list[ChunkBytes] = []
    for chunk in chunks:
        payload = chunk.payload
        if payload is None:
            with open_readonly(head.path) as file:
                payload = View(file).at(chunk.start, chunk.size)
        kept.append((chunk.id, payload))
    return tuple(kept)


def _marks(head: Head) -> tuple[ChunkBytes, ...]:
    cues = read_cues(head)
    return make_cues(cues) if cues else ()


def _texts(head: Head) -> tuple[ChunkBytes, ...]:
    texts = [
        chunk_bytes(_INFO[chunk.id], chunk.payload + b"\0")
        for chunk in (*head.before, *head.behind)
        if chunk.id in _INFO and chunk.payload
    ]
    return ((b"LIST", b"INFO" + b"".join(texts)),) if texts else ()
