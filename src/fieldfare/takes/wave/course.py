"""A recording that may lie in several files, read as one: any stretch of it, wherever the files begin and end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from fieldfare.takes.wave.blocks import read_packed
from fieldfare.takes.wave.head import Head
from fieldfare.takes.wave.samples import unpack
from fieldfare.takes.wave.sets import Strand

Sound = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Course:
    """A recording on the take's axis: its files with the samples at which each begins."""

    strand: Strand
    late: int  # samples from the take's start to its own

    @cached_property
    def begins(self) -> tuple[int, ...]:
        """First sample of each file."""
        lengths = [head.frames + gap for head, gap in zip(self.strand.part, (*self.strand.gap, 0), strict=False)]
        return tuple(accumulate(lengths[:-1], initial=self.late))

    @property
    def end(self) -> int:
        """Sample after the last."""
        return self.begins[-1] + self.strand.part[-1].frames

    def spans(self, start: int, end: int) -> Iterator[tuple[Head, int, int, int]]:
        """Tell which files hold a stretch: file, first frame of it, how many, and the sample of the first."""
        for head, begin in zip(self.strand.part, self.begins, strict=True):
            first, last = max(start, begin), min(end, begin + head.frames)
            if last > first:
                yield head, first - begin, last - first, first

    def read(self, start: int, frames: int) -> Sound:
        """Read a stretch, shape (frames, channels)."""
        out = np.zeros((frames, self.strand.channels), np.float32)
        for head, first, count, at in self.spans(start, start + frames):
            whole = unpack(read_packed(head, first, count), head.form)
            part = out[at - start : at - start + count]  # full scale is a power of two: single precision rounds once
            np.multiply(whole, np.float32(1.0 / head.full_scale), out=part, dtype=np.float32, casting="unsafe")
        return out
