"""The chunks that a cut keeps of the recording it comes from: clock and marks moved, the rest as it was.

`bext` keeps every byte but its time reference, its UMID (which names the whole recording) and its loudness (EBU Tech
3285 version 2, §2.3 and §2.4). iXML keeps every element but the clock, the tracks that are not in the file, the file
set, which is a new one, and sync points.
"""

from __future__ import annotations

import struct
import xml.etree.ElementTree as Tree
from collections.abc import Iterator
from dataclasses import dataclass, replace
from hashlib import blake2b

from fieldfare.takes.axis import AxisTrack
from fieldfare.takes.wave import Course, Cue, make_cues, read_cues
from fieldfare.takes.wave.bext import FIXED_BYTES, NOT_USED
from fieldfare.takes.wave.riff import FILLERS, UNKNOWN_32, Chunk
from fieldfare.takes.wave.writer import ChunkBytes

DAY_S = 86_400
_TIME_AT, _VERSION_AT, _UMID_AT, _LOUDNESS_AT = 338, 346, 348, 412
_INFO = b"INFO"
_WRITTEN_ANEW = frozenset((b"bext", b"iXML", b"cue ", *FILLERS))


@dataclass(frozen=True, slots=True)
class CutSet:
    """The file set that a piece makes: one file a track, all beginning at one sample."""

    title: str
    start: int
    end: int
    files: int


@dataclass(frozen=True, slots=True)
class CutChunks:
    """Chunks ahead of the audio of a cut and behind it, and the names of those that were left out."""

    before: tuple[ChunkBytes, ...]
    behind: tuple[ChunkBytes, ...]
    left_out: frozenset[str]


def chunks_of(track: AxisTrack, number: int, cut: CutSet) -> CutChunks:
    """Make the chunks of one file.

    Parameters
    ----------
    track
        Where it comes from.
    number
        Of the file in its set, from 1.
    cut
        The piece.
    """
    course = track.course
    head = course.strand.part[0]
    moved = cut.start - course.late
    before: list[ChunkBytes] = []
    left_out: set[str] = set()
    bext = head.chunk(b"bext")
    if bext is not None and len(bext) >= FIXED_BYTES:
        before.append((b"bext", moved_bext(bext, moved, head.rate_hz)))
    ixml = head.chunk(b"iXML")
    if ixml is not None:
        changed = moved_ixml(ixml, moved, head.rate_hz, track.channel + 1, number, cut)
        if changed is None:
            left_out.add("iXML")
        else:
            before.append((b"iXML", changed))
    for chunk in (*head.before, *head.behind):
        if chunk.id == b"LIST" and chunk.payload is not None and chunk.payload[:4] == _INFO:
            before.append((chunk.id, chunk.payload))
        elif chunk.id not in _WRITTEN_ANEW and not _labels(chunk):
            left_out.add(chunk.id.decode("ascii", "replace").strip())
    cues = tuple(_cues(course, cut.start, cut.end))
    return CutChunks(tuple(before), make_cues(cues) if cues else (), frozenset(left_out))


def _labels(chunk: Chunk) -> bool:
    return chunk.id == b"LIST" and chunk.payload is not None and chunk.payload[:4] == b"adtl"


def moved_bext(payload: bytes, by: int, rate_hz: int) -> bytes:
    """Move the clock of a `bext` chunk.

    Parameters
    ----------
    payload
        Of the whole recording.
    by
        Samples from its first to the first of the cut.
    rate_hz
        Sample rate; the clock starts anew at midnight. [Hz]
    """
    changed = bytearray(payload)
    at, version = struct.unpack_from("<QH", payload, _TIME_AT)
    struct.pack_into("<Q", changed, _TIME_AT, (at + by) % (DAY_S * rate_hz))
    if version >= 1:
        changed[_UMID_AT:_LOUDNESS_AT] = bytes(_LOUDNESS_AT - _UMID_AT)
    if version >= 2:
        struct.pack_into("<5H", changed, _LOUDNESS_AT, *(5 * (NOT_USED,)))
    return bytes(changed)


def moved_ixml(payload: bytes, by: int, rate_hz: int, channel: int, number: int, cut: CutSet) -> bytes | None:
    """Move the clock of an iXML chunk and keep of its tracks the one that was cut; none where it cannot be read.

    Parameters
    ----------
    payload
        Of the whole recording.
    by
        Samples from its first to the first of the cut.
    rate_hz
        Sample rate. [Hz]
    channel
        Of the recording, from 1, that was cut.
    number
        Of the file in its set, from 1.
    cut
        The piece.
    """
    try:
        root = Tree.fromstring(payload.strip(b"\0 \r\n\t"))
    except (Tree.ParseError, ValueError, LookupError):
        return None
    stamps = (
        ("SPEED", "TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI", "TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO"),
        ("BEXT", "BWF_TIME_REFERENCE_HIGH", "BWF_TIME_REFERENCE_LOW"),
    )
    for parent, high, low in stamps:
        _move(root.find(parent), high, low, by, rate_hz)
    tracks = root.find("TRACK_LIST")
    if tracks is not None:
        _keep_one(tracks, channel)
    for points in root.findall("SYNC_POINT_LIST"):
        root.remove(points)
    files = root.find("FILE_SET")
    if files is not None:
        family = files.findtext("FAMILY_UID") or ""
        said = f"{family}{cut.title}{cut.start}{cut.end}".encode()
        _set(files, "TOTAL_FILES", str(cut.files))
        _set(files, "FAMILY_UID", blake2b(said, digest_size=16).hexdigest())
        _set(files, "FAMILY_NAME", cut.title)
        _set(files, "FILE_SET_INDEX", str(number))
    text: str = Tree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _move(parent: Tree.Element | None, high: str, low: str, by: int, rate_hz: int) -> None:
    text = parent.findtext(low) if parent is not None else None
    if parent is None or text is None or not text.strip().isdecimal():
        return
    upper = (parent.findtext(high) or "0").strip()
    at = ((int(upper) if upper.isdecimal() else 0) << 32) + int(text)
    moved = (at + by) % (DAY_S * rate_hz)
    _set(parent, high, str(moved >> 32))
    _set(parent, low, str(moved & UNKNOWN_32))


def _keep_one(tracks: Tree.Element, channel: int) -> None:
    for place, one in enumerate(tracks.findall("TRACK"), 1):
        index = (one.findtext("INTERLEAVE_INDEX") or "").strip()
        if (int(index) if index.isdecimal() else place) == channel:
            _set(one, "INTERLEAVE_INDEX", "1")
        else:
            tracks.remove(one)
    _set(tracks, "TRACK_COUNT", str(len(tracks.findall("TRACK"))))


def _set(parent: Tree.Element, tag: str, text: str) -> None:
    found = parent.find(tag)
    (Tree.SubElement(parent, tag) if found is None else found).text = text


def _cues(course: Course, start: int, end: int) -> Iterator[Cue]:
    """Marks of a recording that lie in a stretch of the take, from its first sample."""
    for head, begin in zip(course.strand.part, course.begins, strict=True):
        for cue in read_cues(head):
            if start <= begin + cue.sample < end:
                yield replace(cue, sample=begin + cue.sample - start)
