"""The plan: what the program makes of kit, venue and show. The same documents give the same plan, byte for byte."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal, get_args

from pydantic import Field

from fieldfare.show.kit import End, Owner, Pattern, Phantom
from fieldfare.show.record import Asked, Name, Place, Place3, Record, Severity
from fieldfare.show.show import Importance
from fieldfare.units.text import listed
from fieldfare.units.working import Working

Taking = Literal["mic", "di", "split", "line"]


class UnitUse(Record):
    """A physical unit with a job in the plan."""

    tag: Name
    item: Name
    owner: Owner = "ours"


class CableUse(UnitUse):
    """A lead with a job in the plan."""

    length_m: float
    colour: str = ""


class Run(Record):
    """One way of a lead over the floor, from the microphone or DI to its box."""

    points: tuple[Place, ...]
    floor_m: float
    needed: Working = Field(description="Floor, up and down the stand, slack; in metres")
    laid_m: float = Field(description="Length of the lead or leads that lie there")
    crosses: tuple[str, ...] = Field(default=(), description="Keep-clear ground that it crosses all the same")


class Port(Record):
    """Where a signal enters or leaves a hop: what is plugged there, and what passes."""

    id: Name = Field(description="One in the whole show")
    end: End | None = Field(description="What it is itself; none where only what goes into it is known")
    fits: tuple[End, ...] = Field(description="The ends that go into it")
    level: Literal["mic", "instrument", "line"]
    balanced: bool
    phantom: Literal["supplies", "needs", "harmed", "indifferent"] = "indifferent"
    impedance_ohm: float | None = None


class Hop(Record):
    """One station of an input's path, in the order the signal passes: what it gives, the next one takes."""

    kind: Literal[
        "source", "mic", "di", "line out", "splitter", "lead", "cable", "box", "trunk", "preamp", "recorder", "track"
    ]
    name: str
    detail: str = ""
    tag: str = ""
    takes: Port | None = None
    gives: Port | None = None
    passes_dc: bool = Field(default=True, description="Whether phantom goes through it the other way")


class Aiming(Record):
    """How a microphone is best turned, and where a wedge stands quietest in it."""

    turn: Working | None = Field(default=None, description="What the best turn gains, own sound over all spill, in dB")
    covers: Working | None = Field(
        default=None, description="Whole angle that a pair before an ensemble takes in, in °"
    )
    says: tuple[str, ...] = Field(description="In sentences")


class PlannedInput(Record):
    """One row of the input list: one source, one mic or DI, one line, one preamp, one track."""

    id: Name
    number: int = Field(description="Line, channel and track wear the same number")
    label: Name
    source: Name
    recipe: Name
    part: Name
    importance: Importance
    status: Literal["confirmed", "expected", "possible"]
    taking: Taking
    unit: UnitUse | None = Field(description="The mic or DI; none where the source itself gives line level")
    di_channel: Annotated[int, Field(ge=1, le=2)] | None = None
    pattern: Pattern | None = None
    phantom_need: Phantom = "ignored"
    at: Place3 = Field(description="Where the mic or DI is")
    aim: Place3 = Field(description="Unit vector along the mic's axis")
    stand: UnitUse | None = None
    splitter: UnitUse | None = None
    house_split: str = Field(default="", description="House box whose own split output is taken")
    lead: tuple[CableUse, ...] = Field(default=(), description="From the source into a DI or line input")
    cable: tuple[CableUse, ...] = Field(
        description="From the mic, DI or splitter to the box; two where there is a join"
    )
    run: Run
    box: Name = Field(description="Tag of the box, or of the trunk where its own sockets are used")
    socket: int
    trunk_line: int
    preamp: Name = Field(description="Tag of the preamp or recorder that amplifies it")
    preamp_channel: int
    channel: int = Field(description="Recorder channel")
    phantom: bool
    phantom_owner: str = Field(default="", description="Who switches it on: ours or house; blank where nobody needs it")
    pad_db: float = 0.0
    pair: str = Field(default="", description="Id of the other side of a stereo pair")
    flip: bool = Field(default=False, description="Polarity is expected to be reversed, as under a snare")
    shared_by: tuple[str, ...] = Field(default=(), description="Ids of inputs that use this row too, never at once")
    spl: Working
    level: Working = Field(description="At the preamp input, in dBu, loudest moment")
    gain: Working
    reserve: Working = Field(description="What is left above the loudest moment of the soundcheck, in dB")
    noise: Working | None = Field(default=None, description="Of mic and preamp at the converter, in dBFS(A)")
    clips_first: str = Field(default="", description="The stage with the least left; blank where that is not known")
    spill: Working = Field(description="Own sound over all spill, in dB")
    aiming: Aiming | None = Field(default=None, description="None where nothing is to be gained, and in a quick plan")
    reason: str
    next_best: str = ""
    thread: tuple[Hop, ...]
    house_thread: tuple[Hop, ...] = Field(default=(), description="Of a split: from the mic to the house's preamp")


class LeftOut(Record):
    """An input that was wanted and is not recorded."""

    id: Name
    label: Name
    source: Name
    importance: Importance
    status: Literal["confirmed", "expected", "possible"]
    blocks: str = Field(description="What stands in the way")
    cure: str = Field(description="The cheapest thing that would bring it back")
    shares: str = Field(default="", description="Id of the row that it uses, never at the same time")


class Hit(Record):
    """A check of the trade that fired."""

    check: Name
    severity: Severity
    input: str = Field(default="", description="Id of the input; blank where it is about the whole show")
    hop: str
    says: str
    remedy: str
    source: str


class CircuitLoad(Record):
    """What hangs on one mains circuit."""

    circuit: Name
    load: Working
    share: Working = Field(description="Load over what the circuit may carry, in per cent")
    feeds: tuple[str, ...]
    notes: tuple[str, ...] = ()


class Power(Record):
    """Mains and battery."""

    circuit: tuple[CircuitLoad, ...] = ()
    drop: tuple[Working, ...] = ()
    battery: Working | None = None
    cautions: tuple[str, ...] = ()


class MediaPlan(Record):
    """Bytes, files, cards and copies."""

    rate: Working
    per_hour: Working
    whole: Working
    file_limit: Working | None = None
    card: tuple[Working, ...] = ()
    copying: tuple[Working, ...] = ()
    notes: tuple[str, ...] = ()


class PackLine(Record):
    """One thing to put in the van."""

    bin: str
    item: Name
    tags: tuple[str, ...]
    owner: Owner
    why: str
    comes_with: tuple[str, ...] = ()
    weight_kg: float | None = None
    spare: bool = False
    odds: Working | None = Field(default=None, description="Of spares: how likely it is that they last the night, in %")


class BinWeight(Record):
    """What a bin weighs when packed, and how to lift it."""

    bin: str
    weight: Working
    caution: str = ""
    load_order: int = 0
    lifting: Working | None = Field(default=None, description="Lifting index into the vehicle, where the bin is heavy")


class LoadPlace(Record):
    """A place on the floor of the vehicle, with the bins that stand on one another there."""

    stack: tuple[Name, ...] = Field(description="From the floor up")
    right_m: float = Field(description="From the left wall, seen from the doors, to its left side")
    back_m: float = Field(description="From behind the seats to its nearer side")
    wide_m: float
    deep_m: float


class Load(Record):
    """How the bins stand in the vehicle: what goes in last comes out first."""

    vehicle: Name
    fits: bool | None = Field(description="None where too little is known")
    place: tuple[LoadPlace, ...] = Field(description="In load order")
    length: Working = Field(description="Of the vehicle's length that is taken, in m")
    weight: Working = Field(description="Of all that is loaded, in kg")
    notes: tuple[str, ...] = ()


class OpenQuestion(Record):
    """What is not known, whom to ask and what depends on it."""

    ask: Asked
    text: str
    depends: str = ""
    about: str = Field(
        default="", description="The place of the documents that it is about: venue.limiter; blank: words alone"
    )


class SpillOctave(Record):
    """What of one octave of a source reaches a microphone, over that octave at 1 m on the source's axis."""

    hz: int
    direct_db: float
    diffuse_db: float


class Spill(Record):
    """How one source is heard in one microphone, beside the source that the microphone is meant for."""

    source: Name
    input: Name
    level_db: float = Field(
        description="dB SPL of that source at the mic, pattern counted, direct and diffuse together"
    )
    direct_db: float
    distance_m: float
    delay_ms: float
    octave: tuple[SpillOctave, ...] = Field(default=(), description="Where the room was measured by octave bands")


class PlacedBox(Record):
    """A box on the stage, with what ends on it."""

    tag: Name
    item: Name
    at: Place
    tail_m: float = 0.0
    sockets: int
    trunk: bool = False


class Task(Record):
    """Something to do on the day."""

    id: Name
    name: Name
    begins: dt.datetime | None = Field(description="Clock time of the venue; none where the show gives no times")
    ends: dt.datetime | None
    minutes: Working
    people: int = Field(description="How many it takes; 0 for what the clock alone decides")
    after: tuple[str, ...] = Field(description="Ids of the tasks that must be done first")
    slack_min: float = Field(description="How long it may be late before the last one is")
    critical: bool = Field(description="Whether the last one is late as soon as it is")


class LineChange(Record):
    """A line that another source is on after a changeover; it keeps its number and the name of its track."""

    number: int = Field(description="Line, channel and track")
    track: Name = Field(description="Label of the row: what stands on the tape and on the track all evening")
    before: str = Field(description="Label of what was on it last; blank where nothing was")
    after: Name = Field(description="Label of what is on it now")
    how: Literal["stays", "carried", "plugged over", "from the start"] = Field(
        description="Whether mic or DI stays where it is, is carried over, makes room for another, or was there already"
    )
    tag: str = Field(default="", description="Of the mic or DI that is on it now; blank for a split of the house")
    box: Name
    socket: int
    gain_db: float | None = Field(default=None, description="What the gain is to be")
    gain_was_db: float | None = None


class Step(Record):
    """Something to do in a changeover, in the order of doing."""

    does: Literal["strike", "carry", "plug", "set", "gain", "check"]
    what: Name
    tag: str = Field(default="", description="Of the unit that is moved")
    input: str = Field(default="", description="Id of the input that it is for")
    minutes: Working
    begins_min: float = Field(description="After the last note")
    hands: tuple[int, ...] = Field(description="Who of the crew does it, from 1")


class Changeover(Record):
    """From one set to the next, where others play."""

    before: Name = Field(description="Who has played")
    after: Name = Field(description="Who plays next")
    begins: dt.datetime
    there_is_min: float = Field(description="By the programme")
    takes: Working = Field(description="All of it, with the crew there is; in minutes")
    enough: Literal["yes", "tight", "no"]
    line: tuple[LineChange, ...] = ()
    step: tuple[Step, ...] = ()
    stays: tuple[Name, ...] = Field(default=(), description="Labels of inputs that play on and are not touched")
    waits: tuple[Name, ...] = Field(default=(), description="Labels of inputs that play next and stand ready already")


class Goal(Record):
    """One goal of the choice, in order, with the proof that nothing better exists."""

    name: str
    value: float
    bound: float
    proven: bool


class Plan(Record):
    """The whole plan."""

    title: Name
    date: dt.date
    venue: Name
    digest: str = Field(description="SHA-256 of the documents it was made from")
    rate_hz: int
    bits: int
    channels: int = Field(description="Channels of the recorder")
    wanted: int
    input: tuple[PlannedInput, ...]
    guest: tuple[PlannedInput, ...] = Field(
        default=(),
        description="Rows as they are while another act's input is on them, with its own mic or with one carried over",
    )
    left_out: tuple[LeftOut, ...]
    box: tuple[PlacedBox, ...]
    trunk_run: Run | None = None
    spill: tuple[Spill, ...]
    hit: tuple[Hit, ...]
    power: Power
    media: MediaPlan
    pack: tuple[PackLine, ...]
    bin: tuple[BinWeight, ...]
    load: Load | None = Field(default=None, description="None where the show names no vehicle")
    question: tuple[OpenQuestion, ...]
    hearing: tuple[Working, ...] = ()
    day: tuple[Task, ...] = Field(default=(), description="In the order of their beginning")
    changeover: tuple[Changeover, ...] = ()
    ready: Working | None = Field(default=None, description="Odds of being ready in time, in per cent")
    goal: tuple[Goal, ...]

    @property
    def rigged(self) -> tuple[PlannedInput, ...]:
        """Every row, and behind it what another act plugs into its line or carries over."""
        return tuple(sorted((*self.input, *self.guest), key=lambda row: row.number))

    @property
    def kept(self) -> int:
        """How many of the wanted inputs are recorded, those that share a row among them."""
        return len(self.input) + sum(bool(one.shares) for one in self.left_out)

    @property
    def kept_words(self) -> str:
        """How many of each importance are kept: "every must, 6 of 10 want and 2 of 3 nice"."""
        words = []
        for rank in get_args(Importance):
            lost = sum(one.importance == rank and not one.shares for one in self.left_out)
            wanted = sum(one.importance == rank for one in self.input)
            wanted += sum(one.importance == rank for one in self.left_out)
            if wanted:
                words.append(f"every {rank}" if not lost else f"{wanted - lost} of {wanted} {rank}")
        return listed(words)
