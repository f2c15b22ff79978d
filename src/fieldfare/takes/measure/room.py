"""Room for the samples of a slab, kept from one recording to the next: fresh memory costs more than measuring in it."""

from __future__ import annotations

import numpy as np

from fieldfare.takes.measure.grain import I32

_LINE = 64 // 4  # samples in a line of the processor's cache
_HANDED_BACK = 30 << 20  # bytes
_spare: list[I32] = []  # of no recording at the moment; one at most


def _keep_what_is_freed() -> None:
    """Have the C library keep what is freed, rather than give it back and fetch it again, page by page.

    The transforms of every slab take half a megabyte and let it go again. The GNU library hands blocks above a
    threshold back to the system, and raises that to the largest one it has so handed back, 32 MiB at most: mallopt(3),
    M_MMAP_THRESHOLD. Nothing is written to the block, so it costs nothing; with other libraries nothing changes.
    """
    np.empty(_HANDED_BACK, np.uint8)


def take_room(channels: int, columns: int) -> I32:
    """Return room of shape (channels, columns) that begins where a line of the cache does. It is not cleared."""
    count = channels * columns
    try:
        room = _spare.pop()
    except IndexError:
        room = np.empty(0, np.int32)
    if len(room) < count + _LINE:
        _keep_what_is_freed()
        room = np.empty(count + _LINE, np.int32)
    skipped = -(room.ctypes.data // 4) % _LINE
    return room[skipped : skipped + count].reshape(channels, columns)


def give_back(room: I32) -> None:
    """Let the next recording have it; the caller must not use it any more."""
    if not _spare and isinstance(room.base, np.ndarray):
        _spare.append(room.base)
