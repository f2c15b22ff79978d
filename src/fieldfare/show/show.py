"""The show: one booking at one venue on one date, with who plays, where they stand and what was decided by hand."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from pydantic import Field

from fieldfare.show.kit import MicKind, Owner, Pattern, Phantom
from fieldfare.show.record import Asked, Fact, Name, NotNegative, Place, Place3, Positive, Record

Importance = Literal["must", "want", "nice"]


class HouseMic(Record):
    """A microphone that the house puts up and that we take a split of."""

    item: Name = "house vocal mic"
    kind: MicKind = "small dynamic"
    pattern: Pattern = "cardioid"
    phantom: Phantom = "ignored"
    sensitivity_mv_pa: Positive = 2.0
    impedance_ohm: Positive = 200.0
    max_spl_db: Positive | None = None
    wireless: bool = False
    owner: Fact[Owner] = Field(default_factory=lambda: Fact[Owner](value="house", status="expected", ask="house"))
    house_box: str = Field(default="", description="The house stage box its line ends on")


class Source(Record):
    """What makes the sound: a drum kit, an amplifier, a voice, a room."""

    name: Name
    recipe: Name = Field(description="Which recipe turns it into inputs; fieldfare recipes lists them")
    at: Place
    facing_deg: float = Field(default=270.0, description="0 is to the right, 90 upstage, 270 towards the audience")
    status: Literal["confirmed", "expected", "possible"] = "expected"
    importance: Importance | None = Field(
        default=None, description="Instead of what the recipe says, for all its inputs"
    )
    has: tuple[str, ...] = Field(default=(), description='What the recipe can use: "pickup", "amplifier", "line out"')
    counts: dict[str, int] = Field(default_factory=dict, description="How many of a part: { toms = 2 }")
    leave_out: tuple[str, ...] = Field(default=(), description="Parts of the recipe that are not wanted")
    player: str = ""
    doubles_with: str = Field(default="", description="A source by the same player, never sounding at the same time")
    level_db: Positive | None = Field(
        default=None, description="Loudest, dB SPL at 1 m, where known better than the recipe"
    )
    house_mic: HouseMic | None = None
    note: str = ""


class Wedge(Record):
    """A monitor loudspeaker on the floor."""

    name: Name
    at: Place
    facing_deg: float


class Camera(Record):
    """A camera whose pictures are to be put to the sound."""

    name: Name
    at: Place3
    frame_rate: str = ""
    scratch_sound: bool = True


class Act(Record):
    """Who plays."""

    name: Name
    source: tuple[Source, ...] = ()


class Set(Record):
    """A stretch of music without a break."""

    start: dt.time
    minutes: Positive
    songs: tuple[str, ...] = ()


class Times(Record):
    """The clock times of the day, in the venue's zone."""

    load_in: dt.time | None = None
    soundcheck: dt.time | None = None
    doors: dt.time | None = None
    curfew: dt.time | None = None


class Pin(Record):
    """What a person has decided by hand; the plan is made again around it."""

    input: Name = Field(description="Id of the input: kick, lead-vocal")
    use: str = Field(default="", description="Tag of the mic or DI to use")
    stand: str = ""
    box: str = ""
    line: Annotated[int, Field(ge=1)] | None = None
    channel: Annotated[int, Field(ge=1)] | None = None
    never: tuple[str, ...] = Field(default=(), description="Tags of mics or DIs that may not be used here")
    keep: bool | None = Field(default=None, description="true: keep this input whatever else goes; false: leave it out")


class BoxPlace(Record):
    """Where one of our boxes, or the stage end of the trunk, is put down."""

    box: Name = Field(description="Its tag")
    at: Place


class Question(Record):
    """Something that only somebody else can answer."""

    ask: Asked
    text: Name


class Recording(Record):
    """What the recorder is set to."""

    rate_hz: Literal[44_100, 48_000, 88_200, 96_000, 192_000] = 48_000
    bits: Literal[16, 24, 32] = 24
    copies: Annotated[int, Field(ge=1, le=5)] = 2
    full_scale_dbu: float = Field(default=18.0, description="Level that reads 0 dBFS; EBU R 68 has +18 dBu")
    peak_target_dbfs: float = Field(default=-12.0, description="Where the loudest moment of the soundcheck should peak")
    reserve_db: NotNegative = Field(default=6.0, description="How much louder the show may get than the soundcheck")


class Show(Record):
    """One booking."""

    title: Name
    date: dt.date
    venue: Name = Field(description="The venue's file, from the show's folder")
    kit: tuple[Name, ...] = Field(description="Kit files, from the show's folder", min_length=1)
    recordist: str = ""
    house_engineer: str = ""
    times: Times = Times()
    recording: Recording = Recording()
    crew: Annotated[int, Field(ge=1, le=50)] = 1
    set: tuple[Set, ...] = ()
    act: tuple[Act, ...] = ()
    wedge: tuple[Wedge, ...] = ()
    camera: tuple[Camera, ...] = ()
    pin: tuple[Pin, ...] = ()
    box_place: tuple[BoxPlace, ...] = ()
    question: tuple[Question, ...] = ()
    note: str = ""

    @property
    def sources(self) -> tuple[Source, ...]:
        """The sources of all acts."""
        return tuple(source for act in self.act for source in act.source)
