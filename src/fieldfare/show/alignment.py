"""Time and polarity between tracks that hear the same: what was measured, what was drawn, and what is offered.

Delays are samples, with fractions: b hears it so many samples after a. Nothing here is applied; shifts are an offer,
and are read again from the document where a person asks for new files.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field

from fieldfare.show.record import Name, NotNegative, Record
from fieldfare.show.wording import validated
from fieldfare.show.written import read_toml
from fieldfare.units.faults import BadDocuments

PairKind = Literal["DI and mic", "split and own mic", "two mics", "overhead", "room", "house mix", "spill"]
OWN_SOURCE: tuple[PairKind, ...] = ("DI and mic", "two mics", "split and own mic")  # two tracks of one source alone
AlignFault = Literal["polarity", "distance", "mic moved", "temperature", "labels swapped"]


REMARK = """Shifts that bring tracks together. Mark those that are wanted with apply = true, alter samples and
flip as need be, then: fieldfare align FOLDER --shifts THIS-FILE --to NEW-FOLDER
The recordings are only read. samples: later; negative: earlier."""


class PairDelay(Record):
    """One source, heard by the track close to it and by another one."""

    a: Name = Field(description="Label of the track close to the source")
    b: Name = Field(description="Label of the track that hears it too")
    a_input: str = Field(default="", description="Id of the input by the plan")
    b_input: str = ""
    source: str = Field(default="", description="What sounds, where somebody said")
    kind: PairKind
    delay: float = Field(description="b hears it so many samples after a")
    plus_minus: float = Field(description="Samples: by how much two halves of the take disagree, and what can be read")
    delay_ms: float
    polarity: Literal[1, -1] = Field(description="-1: b is upside down against a")
    coherence: float = Field(ge=0, le=1, description="What of b is a, over the frequencies that count")
    level_db: float = Field(description="Of the source in b, against a")
    confidence: float = Field(ge=0, le=1, description="That the delay is right to 2 samples, and the polarity")
    drawn: float | None = Field(default=None, description="Delay by the drawing, in samples; none where nothing is")
    off_m: float | None = Field(default=None, description="How much longer the way is than drawn, in metres")
    polarity_drawn: Literal[1, -1] | None = None


class AlignFinding(Record):
    """Something that a person should look at."""

    kind: AlignFault
    severity: Literal["warn", "note"]
    track: tuple[str, ...] = Field(description="Labels of the tracks that it is about")
    confidence: float = Field(ge=0, le=1)
    says: str
    remedy: str
    figures: dict[str, float] = Field(default_factory=dict)


class TrackRow(Record):
    """Which input a track carries, by what is heard on it."""

    track: Name = Field(description="Label that it was given by name and number")
    file: str
    as_labelled: str = Field(description="Id of the input, by name and number")
    as_heard: str = Field(description="Id of the input that fits best")


class Fitted(Record):
    """The drawing, moved as little as the measured delays ask for."""

    temperature_c: float
    temperature_plus_minus: float
    temperature_drawn: float | None = Field(default=None, description="Of the room, where somebody said")
    moved: tuple[MovedMic, ...] = Field(default=(), description="The mics that lie elsewhere than drawn")
    rest_m: float = Field(description="What is left between drawing and delays, root mean square")
    pairs: int = Field(description="Delays that went in")


class MovedMic(Record):
    """A mic that does not stand where it was drawn."""

    track: Name
    input: str = ""
    by_m: float = Field(description="At least so far from where it was drawn")
    along: tuple[float, float, float] = Field(description="Most likely way it was moved: x, y, z in metres")
    sure: NotNegative = Field(description="Times the spread that is usual")


class Shift(Record):
    """One track, put later or earlier."""

    track: Name
    file: str = ""
    apply: bool = Field(description="true: it goes into new files when they are asked for")
    samples: float = Field(default=0.0, description="Later by so many samples; negative: earlier. Fractions are kept")
    flip: bool = Field(default=False, description="Its polarity is turned over")
    against: str = Field(default="", description="What it then coincides with")
    group: Literal["source", "overheads", "rooms"] = "source"
    confidence: float = Field(default=1.0, ge=0, le=1)
    why: str = ""


class TakeAlignment(Record):
    """One take."""

    take: Name
    rate_hz: int
    frames: int
    pair: tuple[PairDelay, ...] = ()
    finding: tuple[AlignFinding, ...] = ()
    row: tuple[TrackRow, ...] = Field(default=(), description="Only where what is heard and the labels differ")
    fitted: Fitted | None = None
    shift: tuple[Shift, ...] = ()
    not_known: tuple[str, ...] = ()


class Alignment(Record):
    """Time and polarity of all takes of a night."""

    show: str = ""
    take: tuple[TakeAlignment, ...]


class ShiftList(Record):
    """The shifts of one take, to be altered by hand before they are applied."""

    take: Name
    rate_hz: int
    shift: tuple[Shift, ...] = ()


class ShiftedFile(Record):
    """One new file, read back."""

    track: Name
    source: tuple[str, ...] = Field(description="Files that it was made from; they were only read")
    channel: int = Field(description="Of those files, from 1")
    file: str
    samples: float
    flip: bool
    frames: int
    sha256: str = Field(description="Of the samples in the new file, as read back")
    exact: bool = Field(description="Every sample is one of the source's: no fraction was asked for")


class ShiftReport(Record):
    """What was written."""

    take: Name
    folder: str
    file: tuple[ShiftedFile, ...]


def read_shifts(path: Path) -> ShiftList:
    """Read a list of shifts.

    Raises
    ------
    BadDocuments
        Every fault of it.
    """
    written = read_toml(path)
    shifts, faults = validated(written, ShiftList)
    if faults or shifts is None:
        raise BadDocuments(tuple(faults))
    return shifts
