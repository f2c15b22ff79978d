"""The head of an AIFF or AIFF-C file (AIFF 1.3, 1989; AIFF-C draft, 1991), uncompressed forms.

Numbers stand big end first, and 8-bit samples are signed, unless the compression type says otherwise. Channels, depth,
rate and frames stand in `COMM`, the audio in `SSND`, whose first eight bytes are no audio.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from fieldfare.show.findings import Container
from fieldfare.takes.wave.extent import Extent, audio_extent
from fieldfare.takes.wave.form import Form, plain_form
from fieldfare.takes.wave.head import Coding, Head, head_from, unreadable
from fieldfare.takes.wave.layouts import AIFF
from fieldfare.takes.wave.riff import FILLERS, Chunk, chunk_at, with_payload
from fieldfare.takes.wave.source import View

_HEAD = frozenset((b"COMM", b"SSND", b"FVER"))
_AHEAD = 8  # offset and block size, between the header of SSND and its audio
_WHOLE: dict[bytes, Coding] = {
    b"NONE": "big end first",
    b"twos": "big end first",
    b"in24": "big end first",
    b"in32": "big end first",
    b"sowt": "packed",
}
_MOST_CHANNELS, _MOST_HZ = 1024, 1_000_000
_FLOATS = {b"fl32": 4, b"FL32": 4, b"fl64": 8, b"FL64": 8}


class Common(NamedTuple):
    """What `COMM` says."""

    form: Form
    frames: int
    coding: Coding


class _Walked(NamedTuple):
    common: Common | str | None
    audio: Chunk | None
    row: tuple[Chunk, ...]
    broken: str


def extended(field: bytes) -> float:
    """Return the number that an IEEE 754 field of 80 bits holds, as AIFF writes the rate; 0 where it can be none.

    >>> extended(bytes.fromhex("400ebb80000000000000")), extended(bytes.fromhex("400eac44000000000000"))
    (48000.0, 44100.0)
    """
    exponent, mantissa = struct.unpack(">HQ", field)
    size = (exponent & 0x7FFF) - 16383 - 63
    return math.ldexp(float(mantissa), size) if size < 64 and not exponent & 0x8000 else 0.0


def read_common(payload: bytes) -> Common | str:
    """Read `COMM`, or say why it cannot be read."""
    if len(payload) < 18:
        return f"its COMM chunk holds {len(payload)} bytes where at least 18 are needed"
    channels, frames, bits = struct.unpack_from(">HIH", payload)
    rate_hz = round(extended(payload[8:18]))
    kind = payload[18:22] if len(payload) >= 22 else b"NONE"
    if not 0 < channels <= _MOST_CHANNELS or not 0 < rate_hz <= _MOST_HZ or not 0 < bits <= 64:
        return f"its COMM chunk says {channels} channels, {rate_hz} Hz, {bits} bits"
    if kind in _FLOATS:
        size = _FLOATS[kind]
        return Common(plain_form(channels, rate_hz, 8 * size, size, is_float=True), frames, "big end first")
    if kind == b"raw " and bits <= 8:
        return Common(plain_form(channels, rate_hz, bits, 1), frames, "packed")
    if kind not in _WHOLE:
        return f"the audio is compressed (type {kind.decode('ascii', 'replace')!r})"
    if bits > 32:
        return f"its COMM chunk says whole numbers of {bits} bits, more than any recorder writes"
    size = (bits + 7) // 8
    return Common(plain_form(channels, rate_hz, bits, size), frames, "signed bytes" if size == 1 else _WHOLE[kind])


def aiff_head(view: View, path: Path) -> Head:
    """Read the head of a file that starts as AIFF or AIFF-C do."""
    view.layout = AIFF
    start = view.at(0, 12)
    container: Container = "AIFF" if start[8:12] == b"AIFF" else "AIFF-C"
    walked = _walk(view)
    if walked.audio is None:
        says = walked.broken or "it holds no audio chunk"
        form = walked.common.form if isinstance(walked.common, Common) else None
        return unreadable(path, view, container, says, form)
    ahead = view.at(walked.audio.start, _AHEAD)
    skipped = _AHEAD + struct.unpack(">I", ahead[:4])[0] if len(ahead) == _AHEAD else _AHEAD
    audio = replace(walked.audio, start=walked.audio.start + skipped, size=max(walked.audio.size - skipped, 0))
    common = walked.common if walked.common is not None else _behind(view, audio)
    if not isinstance(common, Common):
        return unreadable(path, view, container, common or "it holds no COMM chunk, so channels are not known")
    if audio.start > view.size:
        audio = replace(audio, start=view.size)
    extent = audio_extent(view, audio, struct.unpack(">I", start[4:8])[0], b"", common.form.frame_bytes)
    extent = replace(extent, behind=_kept(view, extent.behind))
    counted = _counted(extent, common)
    return head_from(path, view, container, common.form, counted, _kept(view, walked.row), common.coding)


def _walk(view: View) -> _Walked:
    """Go from chunk to chunk, up to the audio."""
    common: Common | str | None = None
    row: list[Chunk] = []
    at = 12
    while view.size - at >= AIFF.header_bytes:
        chunk = chunk_at(view, at)
        if chunk is None or (chunk.id != b"SSND" and chunk.end > view.size):
            return _Walked(common, None, tuple(row), f"at byte {at} stands no chunk that fits")
        if chunk.id == b"SSND":
            return _Walked(common, chunk, tuple(row), "")
        if chunk.id == b"COMM" and common is None:
            common = read_common(view.at(chunk.start, min(chunk.size, 64)))
        row.append(chunk)
        at = chunk.next
    return _Walked(common, None, tuple(row), "")


def _behind(view: View, audio: Chunk) -> Common | str | None:
    """Find `COMM` after the audio, where the standard lets it stand too."""
    found = audio_extent(view, audio, 0, b"", 1).behind
    comm = next((chunk for chunk in found if chunk.id == b"COMM"), None)
    return None if comm is None else read_common(view.at(comm.start, min(comm.size, 64)))


def _kept(view: View, row: Iterable[Chunk]) -> tuple[Chunk, ...]:
    return tuple(with_payload(view, chunk) for chunk in row if chunk.id not in _HEAD | FILLERS)


def _counted(extent: Extent, common: Common) -> Extent:
    """Hold the frames that `COMM` states against the audio: readers go by them."""
    frames = (extent.end - extent.start) // common.form.frame_bytes
    if extent.state != "good" or frames == common.frames:
        return extent
    stated = common.frames * common.form.frame_bytes
    if not common.frames:
        says = "the header was never finished: its COMM chunk states no frames"
        return replace(extent, state="unfinished", stated=None, says=says)
    says = f"the header is out of date: its COMM chunk states {common.frames} frames, {frames} are there"
    return replace(extent, state="stale", stated=stated, says=says)
