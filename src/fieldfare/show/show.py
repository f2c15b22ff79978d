"""The show: one booking at one venue on one date, with who plays, where they stand and what was decided by hand."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from fieldfare.show.kit import MicKind, Owner, Pattern, Phantom
from fieldfare.show.record import Asked, Fact, Name, NotNegative, Place, Place3, Positive, Record

Importance = Literal["must", "want", "nice"]


class HouseMic(Record):
    """A microphone that the house puts up and that we take a split of."""

    item: Name = Field(default="house vocal mic", description="What it is, in generic words")
    kind: MicKind = Field(default="small dynamic", description="What sort of microphone it is")
    pattern: Pattern = Field(default="cardioid", description="How it hears around itself")
    phantom: Phantom = Field(default="ignored", description="What it makes of phantom power")
    sensitivity_mv_pa: Positive = Field(default=2.0, description="Output at 94 dB SPL")
    impedance_ohm: Positive = Field(default=200.0, description="Of its output")
    max_spl_db: Positive | None = Field(default=None, description="The loudest it takes")
    wireless: bool = Field(default=False, description="Comes through a radio link")
    owner: Fact[Owner] = Field(
        default_factory=lambda: Fact[Owner](value="house", status="expected", ask="house"),
        description="Whose it is; to be asked where nobody knows",
    )
    house_box: str = Field(
        default="", description="The house stage box its line ends on; where there is one alone, that"
    )


class Source(Record):
    """What makes the sound: a drum kit, an amplifier, a voice, a room."""

    name: Name = Field(description="What stands on the tape, and where the name of its inputs comes from")
    recipe: Name = Field(description="Which recipe turns it into inputs; fieldfare recipes lists them")
    at: Place
    facing_deg: float = Field(default=270.0, description="0 is to the right, 90 upstage, 270 towards the audience")
    status: Literal["confirmed", "expected", "possible"] = Field(
        default="expected", description="Whether it will be there: possible ones are planned for, not counted on"
    )
    importance: Importance | None = Field(
        default=None, description="Instead of what the recipe says, for all its inputs"
    )
    has: tuple[str, ...] = Field(default=(), description='What the recipe can use: "pickup", "amplifier", "line out"')
    counts: dict[str, int] = Field(default_factory=dict, description="How many of a part: { toms = 2 }")
    leave_out: tuple[str, ...] = Field(default=(), description="Parts of the recipe that are not wanted")
    player: str = Field(default="", description="Who plays it, by role: drummer")
    doubles_with: str = Field(
        default="", description="A source that never sounds at the same time: the same player, or another act"
    )
    alone: bool = Field(
        default=False, description="Whether it sounds only while the band is silent: a compère, talk between songs"
    )
    level_db: Positive | None = Field(
        default=None, description="Loudest, dB SPL at 1 m, where known better than the recipe"
    )
    house_mic: HouseMic | None = None
    note: str = Field(default="", description="Anything worth remembering")


class Wedge(Record):
    """A monitor loudspeaker on the floor."""

    name: Name = Field(description="What it is called on the drawing")
    at: Place
    facing_deg: float = Field(description="0 is to the right, 90 upstage, 270 towards the audience")


class Camera(Record):
    """A camera whose pictures are to be put to the sound."""

    name: Name = Field(description="What it is called")
    at: Place3
    frame_rate: str = Field(default="", description="As its operator says it: 25, 29.97")
    scratch_sound: bool = Field(
        default=True, description="Whether it records sound of its own, by which it is put in time"
    )


class Act(Record):
    """Who plays."""

    name: Name = Field(description="What it is called")
    source: tuple[Source, ...] = ()


def _listed(value: object) -> object:
    """One name may stand alone, without brackets."""
    if isinstance(value, str):
        return (value,)
    return tuple(value) if isinstance(value, list) else value


class Set(Record):
    """A stretch of music without a break."""

    start: dt.time = Field(description="By the venue's clock")
    minutes: Positive = Field(description="How long it lasts")
    act: Annotated[tuple[Name, ...], BeforeValidator(_listed, json_schema_input_type=Name | tuple[Name, ...])] = Field(
        default=(), description="Which act plays it, or which acts; blank: all. An act that no set names plays in all"
    )
    songs: tuple[str, ...] = Field(default=(), description="Their titles, in order")


class Times(Record):
    """The clock times of the day, in the venue's zone."""

    load_in: dt.time | None = Field(default=None, description="When the doors open for the van")
    soundcheck: dt.time | None = Field(default=None, description="When the band's begins")
    doors: dt.time | None = Field(default=None, description="When the audience comes in")
    curfew: dt.time | None = Field(default=None, description="When it must be silent")


class Pin(Record):
    """What a person has decided by hand; the plan is made again around it."""

    input: Name = Field(description="Id of the input: kick, lead-vocal")
    use: str = Field(default="", description="Tag of the mic or DI to use")
    stand: str = Field(default="", description="Tag of the stand to use")
    box: str = Field(default="", description="Tag of the box or trunk to plug into")
    line: Annotated[int, Field(ge=1)] | None = Field(default=None, description="Number of the line of the trunk")
    channel: Annotated[int, Field(ge=1)] | None = Field(default=None, description="Channel of the recorder")
    never: tuple[str, ...] = Field(default=(), description="Tags of mics or DIs that may not be used here")
    keep: bool | None = Field(default=None, description="true: keep this input whatever else goes; false: leave it out")


class BoxPlace(Record):
    """Where one of our boxes, or the stage end of the trunk, is put down."""

    box: Name = Field(description="Its tag")
    at: Place


class Question(Record):
    """Something that only somebody else can answer."""

    ask: Asked = Field(description="Whom to ask")
    text: Name = Field(description="The question, as it goes into the letter")
    answer: str = Field(default="", description="What was said to it; blank while it is open")
    by: str = Field(default="", description="Who said so")
    on: dt.date | None = Field(default=None, description="When it was said")

    @model_validator(mode="after")
    def _answered_by_somebody(self) -> Self:
        if self.answer and not (self.by and self.on):
            raise ValueError('an answer says by whom and on which date: give by = "…" and on = 2026-11-20')
        return self


class Recording(Record):
    """What the recorder is set to."""

    rate_hz: Literal[44_100, 48_000, 88_200, 96_000, 192_000] = Field(default=48_000, description="Samples a second")
    bits: Literal[16, 24, 32] = Field(default=24, description="Bits a sample")
    copies: Annotated[int, Field(ge=1, le=5)] = Field(
        default=2, description="How many copies must exist before a card may be wiped"
    )
    full_scale_dbu: float = Field(default=18.0, description="Level that reads 0 dBFS; EBU R 68 has +18 dBu")
    peak_target_dbfs: float = Field(default=-12.0, description="Where the loudest moment of the soundcheck should peak")
    reserve_db: NotNegative = Field(default=6.0, description="How much louder the show may get than the soundcheck")


class Vehicle(Record):
    """What carries the rig there: its loading space, from behind the seats to the doors."""

    name: Name = Field(default="vehicle", description="What it is called")
    length_m: Positive = Field(description="Of the loading space, along the vehicle")
    width_m: Positive = Field(description="Of the loading space, between the wheel arches")
    height_m: Positive = Field(description="Of the loading space")
    payload_kg: Positive | None = Field(default=None, description="What may be loaded, people apart")


class Spares(Record):
    """How sure one wants to be that there are spares enough; habit comes first, and odds may add to it."""

    wanted_odds: Annotated[float, Field(gt=0, le=0.999_999)] = Field(
        default=0.95, description="Odds wanted that the spares of one item last the night"
    )
    fail_odds: dict[str, Annotated[float, Field(ge=0, le=1)]] = Field(
        default_factory=dict,
        description='Odds that one fails in a night, by kind or by item: { cable = 0.02, "active DI" = 0.01 }',
    )


class Show(Record):
    """One booking."""

    title: Name = Field(description="What stands on every sheet")
    date: dt.date = Field(description="The day of the show")
    venue: Name = Field(description="The venue's file, from the show's folder")
    kit: tuple[Name, ...] = Field(description="Kit files, from the show's folder", min_length=1)
    recordist: str = Field(default="", description="Who records")
    house_engineer: str = Field(default="", description="Who runs the PA")
    times: Times = Times()
    recording: Recording = Recording()
    vehicle: Vehicle | None = None
    spares: Spares = Spares()
    crew: Annotated[int, Field(ge=1, le=50)] = Field(default=1, description="How many rig and strike, you among them")
    set: tuple[Set, ...] = ()
    act: tuple[Act, ...] = ()
    wedge: tuple[Wedge, ...] = ()
    camera: tuple[Camera, ...] = ()
    pin: tuple[Pin, ...] = ()
    box_place: tuple[BoxPlace, ...] = ()
    question: tuple[Question, ...] = ()
    note: str = Field(default="", description="Anything worth remembering")

    @property
    def sources(self) -> tuple[Source, ...]:
        """The sources of all acts."""
        return tuple(source for act in self.act for source in act.source)
