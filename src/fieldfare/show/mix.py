"""The mix sheet: every choice of a rough mix, to be read, altered by hand and rendered again; and what came of it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from fieldfare.show.record import Name, NotNegative, Record
from fieldfare.show.wording import validated
from fieldfare.show.written import read_toml
from fieldfare.units.faults import BadDocuments

Format = Literal["wav", "flac", "m4a", "mp3"]
SHEET_FILE = "mix.toml"
REMARK = """A rough mix. Every figure may be altered: trim_db is for that, gain_db and pan as well, mute = true leaves a
track out. Then: fieldfare rough FOLDER --sheet THIS-FILE --to FOLDER
gain_db has a figure for each song, in their order. Places are samples of the take."""


class MixTarget(Record):
    """How loud the mix is made, and what it never passes."""

    loudness_lufs: Annotated[float, Field(ge=-40, le=-6)] = Field(
        default=-16.0, description="Integrated loudness of every file"
    )
    ceiling_dbtp: Annotated[float, Field(ge=-12, le=0)] = Field(default=-1.0, description="Highest true peak")


class IdleGate(Record):
    """How a microphone is turned down while nobody uses it; it is open again before the next note begins."""

    below_lufs: Annotated[float, Field(ge=-100, le=0)] = Field(
        description="Its own level, K-weighted, below which nobody uses it"
    )
    down_db: Annotated[float, Field(ge=0, le=40)] = Field(default=9.0, description="How far it is turned down")


class MixTrack(Record):
    """One track of the mix."""

    label: Name = Field(description="As the take has it")
    role: Name = Field(description="What it was taken for")
    mute: bool = Field(default=False, description="Whether it is left out")
    gain_db: tuple[Annotated[float, Field(ge=-80, le=60)], ...] = Field(
        description="One for each song, in the order of the songs below"
    )
    trim_db: Annotated[float, Field(ge=-80, le=40)] = Field(
        default=0.0, description="By hand, on top of the gain of every song"
    )
    pan: Annotated[float, Field(ge=-1, le=1)] = Field(
        default=0.0, description="-1 left, 0 middle, 1 right, as the audience sees the stage"
    )
    high_pass_hz: NotNegative = Field(default=0.0, description="12 dB an octave below it; 0 for none")
    shift: int = Field(default=0, description="Samples by which it is put later; negative: earlier")
    flip: bool = Field(default=False, description="Whether its polarity is turned over")
    gate: IdleGate | None = None
    why: str = Field(default="", description="How these came about")


class MixSong(Record):
    """One song, in samples on the take's axis."""

    title: Name
    start: Annotated[int, Field(ge=0)] = Field(description="First sample that is heard")
    end: Annotated[int, Field(ge=1)] = Field(description="Sample after the last")
    fade_in_s: NotNegative = Field(default=0.02, description="From silence")
    fade_out_s: NotNegative = Field(default=1.5, description="Into silence")


class Ride(Record):
    """A stretch in which the whole mix is turned down, with slopes at both ends."""

    start: Annotated[int, Field(ge=0)] = Field(description="First sample of it")
    end: Annotated[int, Field(ge=1)] = Field(description="Sample after the last")
    gain_db: Annotated[float, Field(ge=-60, le=20)] = Field(description="Against the songs beside it")
    what: str = Field(default="", description="What is heard there")


class MixSheet(Record):
    """A rough mix."""

    take: Name = Field(description="The take it was made for")
    rate_hz: int = Field(description="Sample rate of the take")
    target: MixTarget = MixTarget()
    track: tuple[MixTrack, ...] = Field(min_length=1)
    song: tuple[MixSong, ...] = Field(min_length=1)
    ride: tuple[Ride, ...] = ()


class TrackShare(Record):
    """What one track gives to a piece."""

    label: Name
    pan: float = Field(ge=-1, le=1, description="-1 left, 1 right")
    loudness_lufs: float | None = Field(description="Of the track by itself in the mix, ahead of the limiter")
    shut: tuple[tuple[int, int], ...] = Field(
        default=(), description="Where its gate is shut: first sample on the take's axis and the sample after the last"
    )


class MixCourse(Record):
    """How a piece went, step by step, and what it is made of. None where there is nothing, or nothing yet."""

    title: str
    start: int = Field(description="First sample on the take's axis")
    end: int = Field(description="Sample after the last")
    step_s: float = Field(gt=0, description="Length of a step")
    momentary_lufs: tuple[float | None, ...] = Field(description="Highest in each step, of the 400 ms before")
    short_lufs: tuple[float | None, ...] = Field(description="Highest in each step, of the 3 s before")
    limited_db: tuple[float, ...] = Field(description="Most that the limiter took off in each step")
    track: tuple[TrackShare, ...] = Field(description="Those that are heard, in the sheet's order")


class Rendered(Record):
    """One file of a rough mix, as it was measured after it was written."""

    file: str
    title: str
    format: Format
    start: int = Field(description="First sample on the take's axis")
    frames: int = Field(description="Of the file, at its own rate")
    rate_hz: int
    loudness_lufs: float | None = Field(description="None for silence")
    true_peak_dbtp: float | None
    range_lu: float
    gain_db: float = Field(description="That brought it to the loudness asked for")
    limited_db: float = Field(description="Most that the limiter took off")
    limited_share: float = Field(ge=0, le=1, description="Share of the time in which it took off more than 1 dB")
    course: MixCourse | None = Field(default=None, description="How it went; with the first file of a piece alone")


class MixReport(Record):
    """What came of a mix sheet."""

    take: Name
    sheet: str = Field(description="File of the mix sheet")
    file: tuple[Rendered, ...]
    note: tuple[str, ...] = Field(default=(), description="What a person should know or look at")


def read_mix(path: Path) -> MixSheet:
    """Read a mix sheet.

    Raises
    ------
    BadDocuments
        Every fault of it.
    """
    written = read_toml(path)
    sheet, faults = validated(written, MixSheet)
    said = list(faults)
    if sheet is not None:
        songs = len(sheet.song)
        for place, track in enumerate(sheet.track):
            if len(track.gain_db) != songs:
                read = f"has {len(track.gain_db)} values for {songs} {'song' if songs == 1 else 'songs'}"
                said.append(written.blemish(("track", place, "gain_db"), read, "give one for each song"))
        for place, song in enumerate(sheet.song):
            if song.end <= song.start:
                said.append(written.blemish(("song", place, "end"), "is not after its start", "give a later sample"))
    if said or sheet is None:
        raise BadDocuments(tuple(said))
    return sheet
