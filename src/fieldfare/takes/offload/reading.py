"""One reading of a file of the card, handed block by block to all who want it.

Blocks start on frames of the recording, so that it can be measured as it goes by. While the takers work on one block
the next is read. What cannot be read is tried again in small pieces; those that stay unreadable are told by place and
stand as zeros.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from fieldfare.takes.offload.disk import Disk
from fieldfare.takes.wave import Head
from fieldfare.takes.wave.source import aligned_buffer

BLOCK_BYTES = 1 << 20
_PIECE_BYTES = 4096  # the smallest unit that media read
_LOST_BLOCKS = 8  # after so many blocks in a row with nothing readable the rest is given up

Taker = Callable[[memoryview], object]
Tick = Callable[[int], None]  # so many bytes more are done


@dataclass(slots=True)
class Holes:
    """Stretches of a file that could not be read, from byte to byte, and the system's word for it."""

    stretch: list[tuple[int, int]] = field(default_factory=list)
    why: str = ""

    def add(self, start: int, end: int, why: str) -> None:
        """Add a stretch, joined to the last where they touch."""
        if self.stretch and self.stretch[-1][1] == start:
            start = self.stretch.pop()[0]
        self.stretch.append((start, end))
        self.why = why


def steps(size: int, head: Head | None) -> Iterator[tuple[int, int]]:
    """Cut a file into blocks: up to the audio, whole frames of audio, the rest."""
    edges = [0, size]
    if head is not None and head.data_bytes and head.in_place:
        edges = [0, head.data_start, head.data_start + head.data_bytes, size]
    for place, (start, end) in enumerate(pairwise(edges)):
        whole = head.frame_bytes if head is not None and head.in_place and place == 1 else 1
        step = max(BLOCK_BYTES // whole, 1) * whole
        for at in range(start, end, step):
            yield at, min(at + step, end)


def read_once(
    disk: Disk, path: Path, size: int, head: Head | None, pool: ThreadPoolExecutor, takers: list[Taker], tick: Tick
) -> Holes:
    """Read a file once, from its start to `size`, and hand each block to every taker in order.

    Returns
    -------
    What could not be read; the takers got zeros in its place, or nothing once the rest was given up.

    Raises
    ------
    OSError
        The file cannot be opened. What a taker raises comes out too, once the block is done with.
    """
    holes = Holes()
    blocks = list(steps(size, head))
    longest = max((end - start for start, end in blocks), default=1)
    buffers = (aligned_buffer(longest), aligned_buffer(longest))
    busy: list[Future[object]] = []
    lost_in_a_row = 0
    try:
        with disk.open_source(path) as file:
            for number, (start, end) in enumerate(blocks):
                block = buffers[number % 2][: end - start]
                lost_in_a_row = lost_in_a_row + 1 if _read_block(file, block, start, holes) else 0
                if lost_in_a_row == _LOST_BLOCKS:
                    holes.add(end, size, holes.why)
                    break
                _finish(busy)
                busy = [pool.submit(taker, block) for taker in takers]
                tick(end - start)
        _finish(busy)
    finally:
        wait(busy)  # whatever ends the reading, nobody may still be writing when copies are closed
    return holes


def _finish(busy: list[Future[object]]) -> None:
    """Wait for all, then let the first fault out."""
    faults = [fault for one in busy if (fault := one.exception())]
    if faults:
        raise faults[0]


def _read_block(file: io.FileIO, block: memoryview, start: int, holes: Holes) -> bool:
    """Fill a block from the file; return whether nothing of it could be read."""
    with suppress(OSError):
        if _fill(file, block, start):
            return False
    lost, at, end = 0, start, start + len(block)
    while at < end:
        after = min((at // _PIECE_BYTES + 1) * _PIECE_BYTES, end)  # a piece is what the medium reads at once
        piece = block[at - start : after - start]
        why = _why_not_filled(file, piece, at)
        if why:
            piece[:] = bytes(len(piece))
            holes.add(at, after, why)
            lost += len(piece)
        at = after
    return lost == len(block)


def _why_not_filled(file: io.FileIO, piece: memoryview, start: int) -> str:
    """Fill a piece from the file; return what stood in the way, or nothing."""
    try:
        return "" if _fill(file, piece, start) else "the file ends early"
    except OSError as error:
        return error.strerror or str(error)


def _fill(file: io.FileIO, part: memoryview, start: int) -> bool:
    """Read until the part is full; return false where the file ends before."""
    file.seek(start)
    filled = 0
    while filled < len(part):
        count = file.readinto(part[filled:])
        if not count:
            return False
        filled += count
    return True
