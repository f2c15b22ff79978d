"""Room for the samples of a slab, kept from one recording to the next: fresh memory costs more than measuring in it."""

from __future__ import annotations

import mmap
from contextlib import suppress

import numpy as np

from fieldfare.takes.measure.grain import I32

_HANDED_BACK = 30 << 20  # bytes
_FEW = 2  # channels
_spare: list[I32] = []  # of no recording at the moment; one at most


def _keep_what_is_freed() -> None:
    """Have the C library keep what is freed, rather than give it back and fetch it again, page by page.

    The transforms of every slab take half a megabyte and let it go again. The GNU library hands blocks above a
    threshold back to the system, and raises that to the largest one it has so handed back, 32 MiB at most: mallopt(3),
    M_MMAP_THRESHOLD. Nothing is written to the block, so it costs nothing; with other libraries nothing changes.
    """
    np.empty(_HANDED_BACK, np.uint8)


def _fresh(samples: int) -> I32:
    """Return room for so many samples that begins on a page; on large pages, where the system has such."""
    held = mmap.mmap(-1, 4 * samples)
    if large := getattr(mmap, "MADV_HUGEPAGE", None):
        with suppress(OSError):
            held.madvise(large)
    return np.frombuffer(held, np.int32)


def take_room(channels: int, columns: int) -> I32:
    """Return room of shape (channels, columns) that begins on a page. It is not cleared."""
    count = channels * columns
    try:
        room = _spare.pop()
    except IndexError:
        room = np.empty(0, np.int32)
    if len(room) < count:
        _keep_what_is_freed()
        room = _fresh(count)
    return room[:count].reshape(channels, columns)


def give_back(room: I32) -> None:
    """Let the next recording have it; the caller must let go of it.

    Only room of one or two channels is kept: such recordings come by the dozen, and each would fill its room but once.
    """
    if not _spare and len(room) <= _FEW and isinstance(room.base, np.ndarray):
        _spare.append(room.base)
