"""Where the audio of a file ends, whatever its header says.

The rules, in order: a size that leads to a chunk or to the end of the file is right; one that misses such a place by
whole multiples of 2^32 has wrapped; one followed by anything else is stale; one of 0, of 0xFFFFFFFF, or past the end
of the file leaves the audio running to the end, less any known chunks that stand there.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, replace
from typing import Literal

from fieldfare.takes.wave.riff import UNKNOWN_32, Chunk, after, tail
from fieldfare.takes.wave.source import View

State = Literal["good", "unfinished", "stale", "wrapped", "cut", "unreadable"]

WRAP = 1 << 32
_PLANNED = 0x7FFF0000  # writers that cannot go back state as much as a signed size can say
_SLACK = 8  # writers differ on whether the total counts its own eight bytes or the last pad


@dataclass(frozen=True, slots=True)
class Extent:
    """From where to where audio runs, what the header said, and how far it can be believed."""

    start: int
    end: int
    stated: int | None
    state: State
    says: str
    behind: tuple[Chunk, ...] = ()
    partial_bytes: int = 0  # of a last frame that is not whole

    def of_whole_frames(self, frame_bytes: int) -> Extent:
        """Return the extent less a last frame that is not whole, saying so."""
        rest = (self.end - self.start) % frame_bytes
        if not rest:
            return self
        part = f"the last frame has only {rest} of its {frame_bytes} bytes"
        says = f"{self.says}; {part}" if self.says else part
        state: State = "cut" if self.state == "good" else self.state
        return replace(self, end=self.end - rest, state=state, says=says, partial_bytes=rest)


def audio_extent(view: View, data: Chunk, riff_bytes: int, ds64: bytes, frame_bytes: int) -> Extent:
    """Find where the audio ends.

    Parameters
    ----------
    view
        The file.
    data
        Its audio chunk, with the size that it states.
    riff_bytes
        The total that the file states, less its first eight bytes. [byte]
    ds64
        The chunk with sizes of 64 bits; empty where there is none.
    frame_bytes
        Bytes of a frame, to tell a forgotten frame from stray bytes at the end. [byte]

    Returns
    -------
    The extent, a last frame that is not whole still in it.
    """
    total, size = _sizes(data, riff_bytes, ds64)
    end = data.start + size
    layout = view.layout
    if not size or (size == UNKNOWN_32 and layout.wraps and not ds64):
        return _without_length(view, data.start, size, total)
    if end > view.size:
        return _past_the_end(view, data.start, size)
    row = after(view, end, data.start)
    if row is not None and (row or view.size - end - (-size % layout.align) < frame_bytes):
        return _believed(view, Extent(data.start, end, size, "good", "", row), total)
    return _wrapped(view, data.start, size) or _stale(view, data.start, size)


def _sizes(data: Chunk, riff_bytes: int, ds64: bytes) -> tuple[int, int]:
    """Total and audio bytes as stated: those of 64 bits stand in where the 32 bits say so."""
    total, size = riff_bytes, data.size
    if len(ds64) >= 16:
        wide_total, wide_size = struct.unpack_from("<QQ", ds64)
        total = wide_total if riff_bytes == UNKNOWN_32 else riff_bytes
        size = wide_size if data.size == UNKNOWN_32 else data.size
    return total, size


def _without_length(view: View, start: int, size: int, total: int) -> Extent:
    """The header states no length: nothing was recorded, or it was never told how much."""
    row = after(view, start, start)
    empty = view.size - start < _SLACK or bool(row)
    if size == 0 and empty and row is not None:
        return _believed(view, Extent(start, start, 0, "good", "", row), total)
    row = tail(view, start)
    end = row[0].start - view.layout.header_bytes if row else view.size
    if size == UNKNOWN_32 and end - start >= UNKNOWN_32:
        says = "longer than a size of 32 bits can say: the header stops short, the audio goes on"
        return Extent(start, end, None, "wrapped", says, row)
    says = "the header was never finished: it states no length, and audio runs to the end of the file"
    return Extent(start, end, None, "unfinished", says, row)


def _past_the_end(view: View, start: int, size: int) -> Extent:
    """The header states more than is there."""
    there = view.size - start
    if _PLANNED <= size < 1 << 31 or size >= 1 << 62:
        says = "the header was never finished: it states the longest length there is, not what was recorded"
        return Extent(start, view.size, size, "unfinished", says)
    says = f"the file ends early: the header states {size} bytes of audio, {there} are there"
    return Extent(start, view.size, size, "cut", says)


def _believed(view: View, extent: Extent, total: int) -> Extent:
    """The audio's own size holds; the file's total may still be wrong, which makes strict readers stop or refuse."""
    last = extent.behind[-1].next if extent.behind else extent.end + (extent.start - extent.end) % view.layout.align
    if min(abs(total + 8 - last), abs(total + 8 - view.size)) <= _SLACK:
        return extent
    if extent.end == extent.start and not extent.behind:
        says = "the header was never finished, and no audio was written"
        return replace(extent, state="unfinished", stated=None, says=says)
    says = f"the header's total of {total} bytes is wrong, {view.size - 8} is right; the audio is whole"
    return replace(extent, state="stale", says=says)


def _wrapped(view: View, start: int, size: int) -> Extent | None:
    """Look for the end some multiples of 2^32 further on."""
    for end in range(start + size + WRAP, view.size + 1, WRAP) if view.layout.wraps else ():
        row = after(view, end, start)
        if row is not None:
            says = f"longer than a size of 32 bits can say: it states {size} bytes of audio, {end - start} are there"
            return Extent(start, end, size, "wrapped", says, row)
    return None


def _stale(view: View, start: int, size: int) -> Extent:
    row = tail(view, start + size)
    end = row[0].start - view.layout.header_bytes if row else view.size
    says = (
        f"the header is out of date: it states {size} bytes of audio, and audio goes on for {end - start - size} more"
    )
    return Extent(start, end, size, "stale", says, row)
