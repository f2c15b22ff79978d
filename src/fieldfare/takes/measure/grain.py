"""How finely a recording is looked at: the fixed grain of all measuring. Frames, unless the name says otherwise."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

U8 = NDArray[np.uint8]
I32 = NDArray[np.int32]
I64 = NDArray[np.int64]
F16 = NDArray[np.float16]
F32 = NDArray[np.float32]
F64 = NDArray[np.float64]

BUCKET = 512  # smallest stretch that minimum, maximum and energy are kept of
CELL = 16  # smallest stretch that a sum is kept of: the grain of repeated blocks and of the low band
TOP_WINDOW = 4096  # its largest peak is looked at for a flat top
LEVEL_S = 0.4  # short-term rms
LOW_S = 2.0  # stretch of the low band that hum and excerpts are taken from
LOW_HZ = 1500  # about the sample rate of the low band
GLIMPSE_BUCKETS = 16  # of which the one that bends least is looked at for a glimpse of the treble
GLIMPSE_SAMPLES = 128  # of a glimpse
GLIMPSE_HZ = (8000, 12_000, 15_000, 18_000, 22_500)  # edges of its bands

AHEAD = TOP_WINDOW  # what is looked at lags by this much behind what was fed, so that its sequel is known
BEFORE = TOP_WINDOW  # kept of what went before
CONTEXT = 128  # judged on each side of a run
EDGE = 12  # the part of that right beside it
FLAT_LEAST = 16  # shortest run of equal samples that is told
RAIL_LEAST = 3  # shortest run at full scale that is told
TOP_REACH = 2048  # how far a flat top is followed to each side
TOP_FLAT = 3.0  # how much further than a parabola the signal falls beyond a flat top
TOP_LEAST = 3  # samples of the shortest one
TOP_NEAR = 3  # how far beyond it its fall is looked for at least; else a quarter of its width
TOP_SEVERAL = 3  # shorter ones of one height in a bucket, which are no chance: noise has one more in ten such buckets
TOP_APART = 4  # frames at least from one of them to the next
LAGS = 128  # longest lag in cells at which a block may stand twice: 2048 frames; the shortest is 2 cells
CLICK_REACH = 64  # judged on each side of a click
CLICK_GAP = 4  # left out before it
CLICK_RING = 96  # left out after it: a spark rings for up to two milliseconds
CELL_CHANGES = 4  # samples of a cell that differ from the one before, to be more than a step of a square wave

SLAB_SAMPLES = 6 << 20  # measured at a time, all channels together


ROW_SPARE = 144  # columns after a row's last, so that rows do not begin at the same place of the processor's cache


def slab_frames(channels: int) -> int:
    """Return how many frames are measured at a time: whole top windows, about `SLAB_SAMPLES` samples."""
    return max(SLAB_SAMPLES // channels // TOP_WINDOW, 1) * TOP_WINDOW
