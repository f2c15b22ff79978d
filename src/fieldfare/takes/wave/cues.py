"""Marks in a recording: the `cue ` chunk, and their names in `LIST adtl` (RIFF 1991); `MARK` in AIFF (AIFF 1.3, 1989).

Positions have 32 bits, so a mark past sample 4,294,967,295 cannot be written.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fieldfare.takes.wave.head import Head
from fieldfare.takes.wave.riff import UNKNOWN_32
from fieldfare.units.faults import OutOfRange

_POINT = struct.Struct("<II4sIII")


@dataclass(frozen=True, slots=True)
class Cue:
    """A mark at a sample, with its name."""

    sample: int
    label: str = ""


def read_cues(head: Head) -> tuple[Cue, ...]:
    """Return the marks of a recording in order of time."""
    if head.container in ("AIFF", "AIFF-C"):
        return tuple(sorted(_marks(head.chunk(b"MARK") or b""), key=lambda cue: cue.sample))
    payload = head.chunk(b"cue ")
    if payload is None or len(payload) < 4:
        return ()
    count = min(struct.unpack_from("<I", payload)[0], (len(payload) - 4) // _POINT.size)
    labels = _labels(head)
    points = (_POINT.unpack_from(payload, 4 + place * _POINT.size) for place in range(count))
    return tuple(sorted((Cue(point[5], labels.get(point[0], "")) for point in points), key=lambda cue: cue.sample))


def _marks(payload: bytes) -> Iterator[Cue]:
    at = 2
    while at + 7 <= len(payload):
        sample, length = struct.unpack_from(">IB", payload, at + 2)
        name = payload[at + 7 : at + 7 + length]
        yield Cue(sample, name.decode("utf-8", "replace").rstrip("\0"))
        at += 6 + length + 1 + (length + 1) % 2


def _labels(head: Head) -> dict[int, str]:
    labels: dict[int, str] = {}
    for chunk in (*head.before, *head.behind):
        if chunk.id != b"LIST" or chunk.payload is None or chunk.payload[:4] != b"adtl":
            continue
        at = 4
        while at + 12 <= len(chunk.payload):
            letters, size, mark = struct.unpack_from("<4sII", chunk.payload, at)
            if letters == b"labl" and size >= 4:
                text = chunk.payload[at + 12 : at + 8 + size]
                labels[mark] = text.split(b"\0", 1)[0].decode("utf-8", "replace")
            at += 8 + size + size % 2
    return labels


def make_cues(cues: Iterable[Cue]) -> tuple[tuple[bytes, bytes], tuple[bytes, bytes]]:
    """Make the `cue ` and the `LIST` chunk of marks, letters and bytes, to stand after the audio.

    Raises
    ------
    OutOfRange
        A mark lies past what 32 bits can say.
    """
    points, labels = b"", b"adtl"
    marks = sorted(cues, key=lambda cue: cue.sample)
    for number, cue in enumerate(marks, 1):
        if not 0 <= cue.sample <= UNKNOWN_32:
            where = f"mark {cue.label or number}"
            raise OutOfRange(f"sample {cue.sample} is past what a cue can say", where, "cut the recording first")
        points += _POINT.pack(number, cue.sample, b"data", 0, 0, cue.sample)
        text = cue.label.encode() + b"\0"
        labels += b"labl" + struct.pack("<II", 4 + len(text), number) + text + b"\0" * (len(text) % 2)
    return (b"cue ", struct.pack("<I", len(marks)) + points), (b"LIST", labels)
