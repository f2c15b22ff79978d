"""One reading of a file of the card, handed block by block to all who want it.

Blocks start on frames of the recording, so that it can be measured as it goes by. Each taker works on its own, a few
blocks behind the reading at most, so that one that is busy for a moment holds nobody up. What cannot be read is tried
again in small pieces; those that stay unreadable are told by place and stand as zeros.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from fieldfare.takes.offload.disk import Disk
from fieldfare.takes.wave import Head
from fieldfare.takes.wave.source import aligned_buffer

BLOCK_BYTES = 1 << 20
_BUFFERS = 4  # blocks that are under way at once
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


def read_once(disk: Disk, path: Path, size: int, head: Head | None, takers: Sequence[Taker], tick: Tick) -> Holes:
    """Read a file once, from its start to `size`, and hand each block to every taker in order, each in a thread.

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
    buffers = [aligned_buffer(longest) for _ in blocks[:_BUFFERS]]
    busy: list[list[Future[object]]] = [[] for _ in buffers]
    lost_in_a_row = 0
    with ExitStack() as stack:
        threads = [stack.enter_context(ThreadPoolExecutor(max_workers=1)) for _ in takers]  # done before copies close
        with disk.open_source(path) as file:
            for number, (start, end) in enumerate(blocks):
                place = number % _BUFFERS
                _finish(busy[place])
                block = buffers[place][: end - start]
                lost_in_a_row = lost_in_a_row + 1 if _read_block(file, block, start, holes) else 0
                if lost_in_a_row == _LOST_BLOCKS:
                    holes.add(end, size, holes.why)
                    break
                busy[place] = [thread.submit(taker, block) for thread, taker in zip(threads, takers, strict=True)]
                tick(end - start)
        for waiting in busy:
            _finish(waiting)
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
