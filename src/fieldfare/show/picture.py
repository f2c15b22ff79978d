"""Where every clip of every camera lies on the take's axis, how sure that is, and what was made of it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fieldfare.show.record import Name, Place3, Record


class ClockCorner(Record):
    """A corner of a clock that did not run straight."""

    device_s: float
    late_s: float = Field(description="By how much the take is later there than the straight line says")


class HeardTrack(Record):
    """One track of the take as a clip heard it."""

    track: str
    late_ms: float = Field(description="By how much the clip hears it later than the mean of all")
    travel_ms: float | None = Field(default=None, description="What the drawing says of its way through the air")
    readings: int = Field(description="That lie on the line")


class ClockReading(Record):
    """One moment at which the clock was read."""

    device_s: float
    take_s: float
    residual_ms: float = Field(description="Against the clock as it is given; median of the tracks")
    tracks: int = Field(description="How many agreed")


class Clip(Record):
    """One file: t_take = offset_s + t_device / (1 + ppm·10⁻⁶)."""

    file: str
    found: bool = Field(description="Whether its place in the take is known")
    offset_s: float = Field(default=0.0, description="Take time of its first picture, or first sample")
    ppm: float = Field(default=0.0, description="By how much its clock is fast against that of the take")
    ppm_plus_minus: float | None = Field(default=None, description="Standard error; none where it could not be read")
    ppm_shared: bool = Field(default=False, description="Taken from all clips of its device")
    corner: tuple[ClockCorner, ...] = Field(default=(), description="Where the clock did not run straight")
    start: int = Field(default=0, description="Sample of the take at its start")
    end: int = Field(default=0, description="Sample of the take at its end")
    start_s: float = 0.0
    end_s: float = 0.0
    confidence: float = Field(default=0.0, ge=0, le=1)
    residual_ms: float = Field(default=0.0, description="Root mean square of the readings about the clock")
    worst_ms: float = Field(default=0.0, description="Largest residual of a moment")
    air: Literal["drawing", "unknown"] = Field(
        default="unknown",
        description="Whether the way of the sound to the camera was taken off: then the picture agrees with the stage",
    )
    air_ms: float = Field(default=0.0, description="What was taken off, on the average")
    length_s: float = Field(description="Of the file, by its own clock")
    picture_rate: str = Field(default="", description="Pictures a second, as a fraction; blank for sound alone")
    frames: int = 0
    timecode: str = Field(default="", description="Of its first picture, where the file has one")
    sound_begins_ms: float = Field(default=0.0, description="Its own sound against its first picture")
    container: str = ""
    reading: tuple[ClockReading, ...] = ()
    heard: tuple[HeardTrack, ...] = ()
    note: tuple[str, ...] = ()


class Device(Record):
    """One camera or recorder with its clips."""

    name: Name
    at: Place3 | None = Field(default=None, description="Where it stood, where somebody said")
    clip: tuple[Clip, ...]


class Laid(Record):
    """One file that was made: a camera's picture with our sound."""

    file: str
    device: str
    clip: str = Field(description="The camera's file")
    title: str
    start_s: float = Field(description="Take time of its first picture")
    end_s: float
    frames: int
    first_frame: int = Field(description="Of the clip, from 0")
    picture_sha256: str = Field(description="Of the picture's packets, the same in the camera's file")
    sound: str = Field(description="Which sound was laid under it")
    early_s: float = Field(
        default=0.0, description="That it begins ahead of the song: pictures can only be cut at some"
    )


class PictureReport(Record):
    """All cameras and recorders against one take."""

    take: Name
    rate_hz: int
    frames: int
    device: tuple[Device, ...]
    laid: tuple[Laid, ...] = ()
    onto: tuple[str, ...] = Field(default=(), description="Recorders' sound on the take's axis, as files")
    edit: tuple[str, ...] = Field(default=(), description="Edit lists that were written")
    note: tuple[str, ...] = ()
