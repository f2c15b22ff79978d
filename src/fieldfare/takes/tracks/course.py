"""The level of a track over time, in so few columns that it can be drawn and kept."""

from __future__ import annotations

import numpy as np

from fieldfare.show.findings import LevelCourse
from fieldfare.takes.measure import Channel, peak_dbfs, rms_dbfs

MOST_COLUMNS = 300


def level_course(channel: Channel, full_scale: int) -> LevelCourse | None:
    """Return the course of a channel's level; none where it holds no samples.

    Parameters
    ----------
    channel
        As measured.
    full_scale
        0 dBFS as a peak, in codes.
    """
    strip = channel.strip
    if not channel.frames or not len(strip.low):
        return None
    each = -(-len(strip.low) // MOST_COLUMNS)
    starts = np.arange(0, len(strip.low), each)
    peaks = np.maximum(
        np.maximum.reduceat(strip.high.astype(np.int64), starts),
        -np.minimum.reduceat(strip.low.astype(np.int64), starts),
    )
    energy = np.add.reduceat(strip.energy.astype(np.float64), starts)
    frames = each * strip.frames
    held = [min(frames, channel.frames - place * frames) for place in range(len(starts))]
    return LevelCourse(
        frames=frames,
        peak_dbfs=tuple(_rounded(peak_dbfs(int(peak), full_scale)) for peak in peaks),
        rms_dbfs=tuple(
            _rounded(rms_dbfs(float(sum_), max(1, count), full_scale)) for sum_, count in zip(energy, held, strict=True)
        ),
    )


def _rounded(level_dbfs: float | None) -> float | None:
    return None if level_dbfs is None else round(level_dbfs, 1)
