"""What measuring a recording gives: plain figures in the recording's own codes, and where things stand in frames.

Places are (start, end): the first frame and the one after the last. Codes are whole numbers; `full_scale` of them is
0 dBFS as a peak. Nothing here judges: that is what `takes.checks` is for.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10

import numpy as np

from fieldfare.takes.measure.grain import F16, F32, F64, I32, I64
from fieldfare.takes.wave import Form


@dataclass(frozen=True, slots=True)
class Strip:
    """The course of a channel: extremes, energy and bends of one stretch after another."""

    frames: int  # of each stretch; the last one may hold fewer
    low: I32
    high: I32
    energy: I64  # sum of squares
    bends: F32  # sum of the magnitudes of second differences


@dataclass(frozen=True, slots=True)
class RailPlace:
    """Samples at full scale, close together."""

    start: int
    end: int
    runs: int  # of three samples or more, entered or left steeply
    samples: int  # in those runs
    longest: int


@dataclass(frozen=True, slots=True)
class FlatRun:
    """Samples that are all equal, and what stands on both sides."""

    start: int
    end: int
    value: int
    before: int  # largest magnitude in the samples just before
    after: int
    jump_in: int  # from the last sample before
    jump_out: int
    edge_before: int  # largest magnitude in the very last samples before
    edge_after: int


@dataclass(frozen=True, slots=True)
class Repeat:
    """A block that equals the one right before it, sample for sample."""

    start: int  # of the second
    lag: int
    frames: int  # that are equal
    peak: int


@dataclass(frozen=True, slots=True)
class Click:
    """A bend far sharper than those around it."""

    at: int
    bend: int
    before: float  # mean bend on each side
    after: float
    alone: bool  # one sample, and not a step that stays
    over_before: float  # what prediction leaves here, times the most that it leaves before; 0: not looked at
    over_after: float  # and after
    change: float  # of the spectrum from before to after, in nats
    tall: float  # the bend over the peak of what is beside it

    @property
    def ratio(self) -> float:
        """To the mean bend on the livelier side."""
        return self.bend / max(self.before, self.after, 1.0)

    @property
    def over(self) -> float:
        """How many times the most that prediction leaves on either side."""
        return min(self.over_before, self.over_after)


@dataclass(frozen=True, slots=True)
class Thump:
    """A mean that jumps out of rest and falls back like a charging capacitor; to the bucket."""

    start: int
    end: int  # where a fifth of it is left
    height: float  # mean of the bucket where it is highest, re full scale, with its sign
    swing: float  # highest rms of what sounds through its fall, over its height


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole with sharp edges; to the bucket. Levels of buckets, dB re a full-scale sine."""

    start: int
    end: int
    before_db: float
    inside_db: float
    after_db: float
    bright_inside: float  # mean bend over rms: 1.95 for white noise
    bright_before: float  # that of the brightest bucket at the edge
    bright_after: float


@dataclass(frozen=True, slots=True)
class Hiss:
    """Noise that begins and ends at once; to the block of 64 frames."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Tops:
    """How the highest peak of each window looks, by its height, for one side of zero.

    Rows are heights in steps of 0.1 dB down from `TOP_DB`; columns count rounded peaks, flat ones, and those that are
    one of several of one height within a bucket, each too short to be seen as flat.
    """

    counts: I32
    cut_at: I64  # first frame of each that is not rounded
    cut_width: I64
    cut_row: I64  # its height

    def height_db(self, row: int) -> float:
        """Return the height of a row's upper edge. [dBFS]"""
        return TOP_DB - 0.1 * row


TOP_DB = 20.0  # float files go above full scale
TOP_ROWS = 600  # down to -40 dBFS


@dataclass(frozen=True, slots=True)
class Low:
    """The low band, up to about 600 Hz, in stretches of about two seconds."""

    frames: int  # of each stretch
    step: int  # frames from one sample of the low band to the next
    level: F32  # mean square re full scale of each stretch
    mean: F32  # re full scale
    mains: F32  # (stretches, 2 mains, harmonics, 3): amplitude of the line re full scale or 0, its Hz / harmonic, floor
    excerpt_at: I64  # which stretches are kept as they are
    excerpt: F32  # (kept, samples), re full scale


@dataclass(frozen=True, slots=True)
class Glimpses:
    """Short looks at the treble where it is quietest, in four bands above 8 kHz."""

    widths: tuple[int, ...]  # bins of each band
    at: I64  # first frame of each
    level: F16  # (glimpses, bands), so that a full-scale sine reads 0; silence reads -200. [dBFS]


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel, measured."""

    frames: int
    low: int
    high: int
    peak_at: int
    total: int  # sum of all samples
    energy: int  # sum of all squares
    used_bits: int  # of the container that are ever set, as a mask
    strip: Strip
    levels: F64  # mean square about the mean of stretches of 0.4 s, re full scale squared
    rails: tuple[RailPlace, ...]
    flats: tuple[FlatRun, ...]
    repeats: tuple[Repeat, ...]
    clicks: tuple[Click, ...]
    clicks_in_all: int
    tops: tuple[Tops, Tops]  # above and below zero
    lows: Low
    glimpses: Glimpses
    thumps: tuple[Thump, ...]
    holes: tuple[Hole, ...]
    hisses: tuple[Hiss, ...]

    @property
    def peak(self) -> int:
        """Largest magnitude."""
        return max(self.high, -self.low)


@dataclass(frozen=True, slots=True)
class Measures:
    """One recording, or several that continue one another, measured."""

    form: Form
    frames: int
    full_scale: int  # in codes
    code_bits: int  # of a code, by its container
    level_frames: int  # of each stretch of 0.4 s
    not_numbers: int  # samples of a float file that are none
    channel: tuple[Channel, ...]


def peak_dbfs(peak: float, full_scale: float) -> float | None:
    """Return a peak re full scale; none for silence. [dBFS]

    >>> peak_dbfs(8388608 // 2, 8388608)
    -6.020599913279624
    """
    return 20 * log10(peak / full_scale) if peak > 0 else None


def rms_dbfs(energy: float, frames: int, full_scale: float) -> float | None:
    """Return a level re the rms of a full-scale sine, so that the sine reads 0 and a square wave +3.01. [dBFS]

    Sources
    -------
    [AES17]: 0 dBFS is the rms of a 997 Hz sine whose peak reaches full scale.

    >>> round(rms_dbfs(8388608**2 * 100, 100, 8388608), 2)
    3.01
    """
    return 10 * log10(2 * energy / (frames * full_scale**2)) if energy > 0 else None


def levels_dbfs(energy: F64) -> F64:
    """Return mean squares re full scale squared as levels; silence reads -200. [dBFS]"""
    return 10 * np.log10(np.maximum(2 * energy, 1e-20))
