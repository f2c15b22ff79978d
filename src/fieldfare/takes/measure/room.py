"""Room for the samples of a slab, kept from one recording to the next: fresh memory costs more than measuring in it."""

from __future__ import annotations

import numpy as np

from fieldfare.takes.measure.grain import I32

_LINE = 64 // 4  # samples in a line of the processor's cache
_spare: list[I32] = []  # of no recording at the moment; one at most


def take_room(channels: int, columns: int) -> I32:
    """Return room of shape (channels, columns) that begins where a line of the cache does. It is not cleared."""
    count = channels * columns
    try:
        room = _spare.pop()
    except IndexError:
        room = np.empty(0, np.int32)
    if len(room) < count + _LINE:
        room = np.empty(count + _LINE, np.int32)
    skipped = -(room.ctypes.data // 4) % _LINE
    return room[skipped : skipped + count].reshape(channels, columns)


def give_back(room: I32) -> None:
    """Let the next recording have it; the caller must not use it any more."""
    if not _spare and isinstance(room.base, np.ndarray):
        _spare.append(room.base)
