"""The head of a file whose audio stands in a `data` chunk: WAV, RF64, BW64 and W64.

A chunk of odd length, sizes of another moment, sizes that wrapped and chunks out of order are all met; what `extent`
says of the audio counts.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, replace
from pathlib import Path

from fieldfare.show.findings import Container
from fieldfare.takes.wave.extent import Extent, audio_extent
from fieldfare.takes.wave.form import Form, read_form
from fieldfare.takes.wave.head import Head, head_from, unreadable
from fieldfare.takes.wave.layouts import W64, W64_WAVE
from fieldfare.takes.wave.riff import FILLERS, Chunk, chunk_at, with_payload
from fieldfare.takes.wave.source import View

_CONTAINERS: dict[bytes, Container] = {b"RIFF": "WAV", b"RF64": "RF64", b"BW64": "BW64"}
_REWRITTEN = frozenset((b"fmt ", b"data", b"ds64", b"fact"))


@dataclass(frozen=True, slots=True)
class _Walked:
    """The chunks up to and after the audio, and why the walk ended early, if it did."""

    form: Form | str | None
    extent: Extent | None
    before: tuple[Chunk, ...]
    broken: str


def riff_head(view: View, path: Path) -> Head:
    """Read the head of a file that starts as WAV, RF64 or BW64 do."""
    start = view.at(0, 12)
    container = _CONTAINERS[start[:4]]
    if start[8:12] != b"WAVE":
        return unreadable(path, view, container, "it is not a WAV file, though it starts like one")
    return _head(view, path, container, 12, struct.unpack("<I", start[4:8])[0])


def w64_head(view: View, path: Path) -> Head:
    """Read the head of a file that starts as W64 does; its total counts all of its bytes."""
    view.layout = W64
    start = view.at(0, 40)
    if start[24:40] != W64_WAVE:
        return unreadable(path, view, "W64", "it is not a W64 recording, though it starts like one")
    return _head(view, path, "W64", 40, struct.unpack("<Q", start[16:24])[0] - 8)


def _head(view: View, path: Path, container: Container, at: int, riff_bytes: int) -> Head:
    walked = _walk(view, at, riff_bytes)
    if walked.extent is None:
        return unreadable(path, view, container, walked.broken or "it holds no audio chunk", walked.form)
    if not isinstance(walked.form, Form):
        says = walked.form or walked.broken or "it holds no format chunk, so channels and depth are not known"
        head = unreadable(path, view, container, says)
        return replace(head, data_start=walked.extent.start, before=walked.before, behind=walked.extent.behind)
    return head_from(path, view, container, walked.form, walked.extent, walked.before)


def _walk(view: View, at: int, riff_bytes: int) -> _Walked:
    """Go from chunk to chunk, past the audio, to the end."""
    form: Form | str | None = None
    ds64, broken = b"", ""
    extent: Extent | None = None
    rows: tuple[list[Chunk], list[Chunk]] = ([], [])
    while extent is None and view.size - at >= view.layout.header_bytes:
        chunk = chunk_at(view, at)
        if chunk is None or (chunk.id != b"data" and chunk.end > view.size):
            broken = f"at byte {at} stands no chunk that fits, where one has to start"
            break
        if chunk.id == b"data":
            frame_bytes = form.frame_bytes if isinstance(form, Form) else 1
            extent = audio_extent(view, chunk, riff_bytes, ds64, frame_bytes)
            row = extent.behind
        else:
            row = (chunk,)
        for one in row:
            if one.id == b"fmt " and form is None:
                form = read_form(view.at(one.start, min(one.size, 64)))
            elif one.id == b"ds64":
                ds64 = view.at(one.start, min(one.size, 28))
            elif one.id not in _REWRITTEN | FILLERS:
                rows[extent is not None].append(with_payload(view, one))
        at = chunk.next
    if extent is not None:
        extent = replace(extent, behind=tuple(rows[1]))
    return _Walked(form, extent, tuple(rows[0]), broken)
