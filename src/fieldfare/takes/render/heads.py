"""Faults of a file as a whole: what a power cut, a full card or a wrong setting leaves behind."""

from __future__ import annotations

import struct
from pathlib import Path

from fieldfare.takes.render.faults import Planted
from fieldfare.takes.wave import read_head


def break_file(path: Path, planted: Planted) -> None:
    """Break a finished file in the way that was asked for.

    Parameters
    ----------
    path
        A finished recording.
    planted
        A fault of the file: unfinished or stale header, truncated, missing, wrong rate.
    """
    if planted.kind == "missing":
        path.unlink()
        return
    head = read_head(path)
    if planted.kind == "truncated":
        with path.open("r+b") as file:
            file.truncate(head.data_start + head.data_bytes - max(1, round(planted.amount)))
        return
    with path.open("r+b") as file:
        if planted.kind == "wrong rate":
            rate_hz = round(planted.amount)
            file.seek(file.read(head.data_start).index(b"fmt ") + 12)
            file.write(struct.pack("<II", rate_hz, rate_hz * head.frame_bytes))
            return
        stated = (
            0 if planted.kind == "unfinished header" else head.data_bytes // 2 // head.frame_bytes * head.frame_bytes
        )
        file.seek(4)
        file.write(struct.pack("<I", head.data_start - 8 + stated))
        file.seek(head.data_start - 4)
        file.write(struct.pack("<I", stated))
