"""What is looked at in one go, for whoever looks for places in it."""

from __future__ import annotations

from dataclasses import dataclass

from fieldfare.takes.measure.grain import I32, I64


@dataclass(frozen=True, slots=True)
class Scene:
    """What is looked at in one go: samples, where the recording is in them, and which part is new."""

    x: I32
    low: int  # first column of the recording
    high: int
    begin: int  # first column to look at
    end: int
    frame: int  # of column 0
    buckets: int  # from `begin` on, that hold samples
    ahead: int  # buckets after these that are there
    peaks: I32  # (3, channels, buckets) from `begin` on
    sums: I64  # (4, channels, buckets)
    cells: I32  # (channels, cells)
    first_cell: int  # that begins at `begin`
