"""What one look at a folder sees: sizes, the time, the disc, and what stood in the bytes that are new."""

from __future__ import annotations

from dataclasses import dataclass

from fieldfare.takes.wave import Head


@dataclass(frozen=True, slots=True)
class Heard:
    """What one channel held in the bytes that were read since the last look. A full-scale sine is 0 dBFS rms."""

    peak_dbfs: float
    loud_dbfs: float  # of its loudest block
    held_s: float  # longest time at one value, not zero
    held_all: bool  # one value from end to end
    zero: bool  # and nothing but zeros
    clips: int  # runs at full scale


@dataclass(frozen=True, slots=True)
class SeenFile:
    """One file at one look."""

    name: str  # below the folder, with forward slashes
    bytes: int
    written_ns: int  # when the system says it was last written
    head: Head | None  # none where nothing can be read yet
    label: tuple[str, ...] = ()  # of each channel
    heard: tuple[Heard, ...] = ()  # for each channel; empty where nothing new was read
    heard_s: float = 0.0
    number: int = 0  # that the file system knows it by, whatever it is called; 0 where it has none


@dataclass(frozen=True, slots=True)
class Seen:
    """One look at a folder."""

    at_s: float  # on a clock that never jumps
    file: tuple[SeenFile, ...]
    free_bytes: int
    largest_file: int | None = None  # that the file system allows; none where it is no concern
