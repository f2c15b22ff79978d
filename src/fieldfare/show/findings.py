"""What was found in recorded files: measures of every track, findings with their place, and the state of every copy."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from pydantic import Field

from fieldfare.show.record import Name, Record, Severity

Trouble = Literal[
    "dead",
    "very low",
    "clipped",
    "clipped before the converter",
    "dropout",
    "repeated block",
    "missing block",
    "click",
    "crackle",
    "thump",
    "wireless dropout",
    "gain step",
    "hum",
    "dc",
    "polarity",
    "duplicate",
    "wrong rate",
    "wrong length",
    "wrong depth",
    "missing",
    "unexpected",
    "unfinished header",
    "truncated",
    "damaged",
    "unreadable",
]
Container = Literal["WAV", "RF64", "BW64", "W64", "AIFF", "AIFF-C", "FLAC", "unknown"]


class Finding(Record):
    """Something about a recording that a person should know, with its place to the sample."""

    kind: Trouble
    severity: Severity
    track: str = Field(default="", description="Label of the track; blank where it is about the take")
    file: str = ""
    start: int | None = Field(default=None, description="First sample")
    end: int | None = Field(default=None, description="Sample after the last")
    count: int = Field(default=1, description="How many places, where several are told as one finding")
    places: tuple[tuple[int, int], ...] = Field(default=(), description="Start and end of each place, at most 100")
    confidence: float = Field(ge=0, le=1)
    says: str
    sounds: str = Field(default="", description="What it sounds like, so that it can be listened for")
    remedy: str
    figures: dict[str, float] = Field(default_factory=dict, description="What was measured, name with unit to value")


class LevelCourse(Record):
    """The level of a track over time, a column for each stretch of equal length; none where all of one is zero."""

    frames: int = Field(gt=0, description="Samples of each column; the last may hold fewer")
    peak_dbfs: tuple[float | None, ...]
    rms_dbfs: tuple[float | None, ...]


class LaterPart(Record):
    """A further file of a track that goes on over several."""

    file: str
    first: int = Field(description="Sample of the track that it begins with")


class TrackMeasure(Record):
    """One track as measured. Levels re full scale; rms so that a full-scale sine reads 0 dBFS."""

    file: str
    label: str
    channel: int = Field(description="Channel of the file, from 1")
    number: int | None = Field(default=None, description="Track number by the plan")
    input: str = Field(default="", description="Id of the input by the plan")
    source: str = Field(default="", description="What makes the sound, by the plan or the list of inputs")
    later: tuple[LaterPart, ...] = Field(default=(), description="Where the track goes on over further files")
    frames: int
    rate_hz: int
    bits: int
    peak_dbfs: float | None = Field(description="None where every sample is zero")
    peak_at: int
    rms_dbfs: float | None
    loud_dbfs: float | None = Field(description="95th percentile of the 0.4 s rms")
    floor_dbfs: float | None = Field(description="5th percentile of the 0.4 s rms")
    dc_dbfs: float | None
    clipped_samples: int
    hum_hz: float | None = None
    hum_dbfs: float | None = None
    course: LevelCourse | None = Field(default=None, description="Level over time, for a plot")


class FileState(Record):
    """One file as it lies on the medium, before anything is believed."""

    path: str
    bytes: int
    container: Container
    channels: int
    rate_hz: int
    bits: int
    frames: int = Field(description="Counted from the bytes that are there")
    stated_frames: int | None = Field(description="What the header says; none where it says nothing useful")
    header: Literal["good", "unfinished", "stale", "wrapped", "cut", "unreadable"]
    says: str = ""


class Mended(Record):
    """A recording written anew from a damaged one, its samples proven the same."""

    source: FileState
    file: str = Field(description="The new file")
    frames: int
    dropped_bytes: int = Field(description="Of a last frame that was not whole")
    sha256: str = Field(description="Of the samples, which both files share")
    kept: tuple[str, ...] = Field(default=(), description="Chunks taken over unchanged")
    says: str


class TakeReport(Record):
    """Every track of one take, checked."""

    take: Name
    show: str = ""
    rate_hz: int
    frames: int
    file: tuple[FileState, ...]
    track: tuple[TrackMeasure, ...]
    finding: tuple[Finding, ...]
    not_known: tuple[str, ...] = Field(
        default=(), description="What could not be told, and why: no plan, one track only"
    )

    @property
    def length_s(self) -> float:
        """How long the take is; 0 where no file of it could be read, and no rate is known. [s]"""
        return self.frames / self.rate_hz if self.rate_hz else 0.0


class CopiedFile(Record):
    """One file of the card and the state of its copies."""

    path: str
    bytes: int
    sha256: str = Field(description="Of what was read from the card; blank until it was read whole")
    read_back: tuple[str, ...] = Field(description="Destinations whose copy was read back and is equal")
    trouble: tuple[str, ...] = ()


class OffloadReport(Record):
    """What lies where after an offload, and whether the card may be wiped."""

    card: str
    destination: tuple[str, ...]
    devices: int = Field(description="How many different devices the destinations lie on")
    file: tuple[CopiedFile, ...]
    complete: bool = Field(description="Every file was read back equal from two destinations on different devices")
    missing: tuple[str, ...] = Field(default=(), description="What still stands in the way of that")
    notes: tuple[str, ...] = Field(default=(), description="How copies were read back, what was passed over")
    finished: dt.datetime | None = Field(default=None, description="When the report was drawn up, in UTC")
    take: tuple[TakeReport, ...] = Field(default=(), description="The tracks as they were measured on the way")
