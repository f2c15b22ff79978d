"""What is true of a rendered recording: songs, paths, polarity, and every fault that was put in."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fieldfare.show.findings import Trouble
from fieldfare.show.record import Place3, Record


class TrueSong(Record):
    """One song, in samples from the take's start."""

    title: str
    feel: str
    tempo_bpm: float
    count_in: int
    start: int = Field(description="First note after the count-in")
    end: int = Field(description="The last chord is released")
    loud_db: float = Field(description="Re the loudest song of the take")


class TrueStretch(Record):
    """A stretch of the take."""

    kind: Literal["before", "song", "between", "after"]
    start: int
    end: int


class TruePath(Record):
    """The direct way from one sound to one track."""

    sound: str
    input: str
    own: bool = Field(description="The input is meant for it")
    distance_m: float
    delay: float = Field(description="Samples from the sound to the track")
    peak_dbfs: float = Field(description="Of the direct sound alone, at the sound's loudest moment")
    polarity: Literal[1, -1]


class TrueTrack(Record):
    """One track of the take."""

    file: str
    input: str
    label: str
    channel: int
    polarity: Literal[1, -1] = Field(description="As recorded: −1 where a fault reversed it")
    planned_peak_dbfs: float = Field(description="Where the plan's gain puts its own sound's loudest moment")
    peak_dbfs: float = Field(description="Of the samples as written")
    noise_dbfs: float = Field(description="Of mic, preamp and converter, rms so that a full-scale sine reads 0")
    diffuse_db: float | None = Field(description="Strength of the room in it, re an omni of the same gain")


class TrueSound(Record):
    """One thing that sounds, and where."""

    sound: str
    family: str
    at: Place3
    level_db: float = Field(description="Highest peak at 1 m, as the dB SPL of a sine with that peak")
    diffuse_at_1m_db: float = Field(description="Level of the room it makes, re itself at 1 m")


class TrueFault(Record):
    """One fault that was put in."""

    kind: Trouble
    input: str
    label: str
    file: str
    start: int | None = Field(default=None, description="First sample; none where it is about the file")
    end: int | None = Field(default=None, description="Sample after the last")
    places: tuple[tuple[int, int], ...] = Field(default=(), description="At most 100")
    figures: dict[str, float] = Field(default_factory=dict)
    of: str = Field(default="", description="The other track of a duplicate or a pair")
    says: str = ""


class TrueArrival(Record):
    """How late the direct sound of one source is at a camera."""

    sound: str
    distance_m: float
    late_s: float


class TrueCamera(Record):
    """One file of a camera or a second recorder: t_take = offset_s + t_device / (1 + ppm·10⁻⁶)."""

    name: str
    file: str
    at: Place3
    offset_s: float = Field(description="On the take's axis, when its first picture was taken")
    ppm: float = Field(description="By how much its clock is fast")
    frame_rate: str
    frames: int
    rate_hz: int
    samples: int
    arrival: tuple[TrueArrival, ...]


class Truth(Record):
    """Everything that is true of a rendered take."""

    title: str
    seed: int
    rate_hz: int
    bits: int
    frames: int
    card: str = Field(description="Folder of the card, from here")
    origin: int = Field(description="Samples since midnight of the first sample")
    temperature_c: float
    speed_m_s: float
    reverberation_s: float
    volume_m3: float
    assumed: tuple[str, ...] = Field(default=(), description="What nobody has said, and the render took")
    song: tuple[TrueSong, ...]
    stretch: tuple[TrueStretch, ...]
    track: tuple[TrueTrack, ...]
    sound: tuple[TrueSound, ...]
    path: tuple[TruePath, ...]
    fault: tuple[TrueFault, ...]
    camera: tuple[TrueCamera, ...] = ()
