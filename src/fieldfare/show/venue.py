"""The venue: a room, a stage with its risers, ways and sockets, and what the house brings."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fieldfare.show.record import Fact, Name, NotNegative, Place, Place3, Positive, Record


class RoomOctave(Record):
    """Reverberation time in one octave band, where somebody has measured it."""

    hz: Literal[63, 125, 250, 500, 1000, 2000, 4000, 8000] = Field(description="Middle of the band")
    reverberation_s: Positive = Field(description="Reverberation time in this band")


class Room(Record):
    """The room the audience is in."""

    length_m: Positive = Field(description="The longer side")
    width_m: Positive = Field(description="The shorter side")
    height_m: Positive = Field(description="Floor to ceiling, on the whole")
    reverberation_s: Fact[Positive] = Field(default_factory=Fact[Positive], description="Reverberation time, mid band")
    octave: tuple[RoomOctave, ...] = Field(default=(), description="Reverberation time by octave band")
    walls: str = Field(default="", description="What they are made of")
    floor: str = Field(default="", description="What it is made of")

    @property
    def mid_reverberation_s(self) -> float | None:
        """Reverberation time of the middle bands: as stated, or the mean of 500 and 1000 Hz. [ISO3382-1]"""
        by_hz = {one.hz: one.reverberation_s for one in self.octave}
        if self.reverberation_s.known is None and 500 in by_hz and 1000 in by_hz:
            return (by_hz[500] + by_hz[1000]) / 2
        return self.reverberation_s.known


class Rectangle(Record):
    """A rectangle on the plan, by its middle and its size along x and y."""

    name: Name = Field(description="What it is called on the drawing")
    at: Place
    size_m: tuple[Positive, Positive] = Field(description="Along x and along y")


class Stage(Record):
    """The stage: its middle lies at x = 0, its downstage edge at y = 0."""

    width_m: Positive = Field(description="Along x")
    depth_m: Positive = Field(description="Along y")
    height_m: NotNegative = Field(default=0.0, description="Above the floor of the room")


class Riser(Rectangle):
    """A platform on the stage."""

    height_m: Positive = Field(description="Above the stage")


class KeepClear(Rectangle):
    """Ground that no cable may cross: a fire route, steps, a walkway."""

    kind: Literal["fire route", "steps", "walkway", "door"] = Field(description="What it is kept clear for")


class Way(Record):
    """A path off the stage along which cable may lie: along a wall, behind a curtain."""

    name: Name = Field(description="What it is called on the drawing")
    points: tuple[Place, ...] = Field(min_length=2, description="From corner to corner along it")


class Generator(Record):
    """A generator, as its plate has it."""

    apparent_va: Positive = Field(description="What it gives all night, not for seconds")
    power_factor: Annotated[float, Field(gt=0, le=1)] = Field(
        default=0.8, description="On the plate beside it; 1 where the plate gives watts"
    )
    altitude_m: Annotated[float, Field(ge=-500, le=6000)] = Field(
        default=0.0, description="Of the place above the sea: from 1000 m up it gives less"
    )


class Circuit(Record):
    """A mains circuit, as its breaker sees it."""

    name: Name = Field(description="What it is called at the board")
    rating_a: Positive = Field(description="Of its breaker")
    shared_with: str = Field(default="", description="What else hangs on it: the kitchen, the bar fridges")
    other_load_w: Fact[NotNegative] = Field(
        default_factory=Fact[NotNegative], description="What else it carries during the show"
    )
    residual_current_device: Fact[bool] = Field(default_factory=Fact[bool], description="Whether it has one")
    cut_by_limiter: Fact[bool] = Field(default_factory=Fact[bool], description="Whether the sound limiter cuts it")
    generator: Generator | None = Field(default=None, description="What feeds it, where that is not the mains")


class Socket(Record):
    """A mains socket, where it is and which circuit it hangs on."""

    name: Name = Field(description="What it is called on the drawing")
    at: Place
    circuit: Name = Field(description="Name of the circuit it hangs on")


class HouseBox(Record):
    """A stage box of the house."""

    name: Name = Field(description="What stands on it")
    at: Place
    lines: int = Field(ge=1, description="How many it has")
    split_outputs: int = Field(default=0, ge=0, description="Lines of it that we may take a feed from")
    splits_isolated: Fact[bool] = Field(
        default_factory=lambda: Fact[bool](ask="house"),
        description="Whether transformers part its split outputs from the house",
    )


class Mains(Record):
    """The supply of the country."""

    voltage_v: Positive = Field(default=230.0, description="Of the country's supply")
    frequency_hz: Literal[50, 60] = Field(default=50, description="Of the country's supply")


class Position(Record):
    """Where the recordist sits."""

    at: Place3
    table_m: tuple[Positive, Positive] = Field(default=(1.5, 0.75), description="Width and depth of the table there")


class Venue(Record):
    """A place to record in."""

    name: Name = Field(description="What it is called")
    address: str = Field(default="", description="Where the van goes")
    zone: str = Field(default="UTC", description="Time zone, by its name in the tz database: Europe/London")
    room: Room
    stage: Stage
    temperature_c: Fact[float] = Field(default_factory=Fact[float], description="In the room during the show")
    mains: Mains = Mains()
    limiter: Fact[str] = Field(
        default_factory=Fact[str], description='Sound limiter: "none", or the name of the circuit that it cuts'
    )
    recordist: Position
    riser: tuple[Riser, ...] = ()
    keep_clear: tuple[KeepClear, ...] = ()
    way: tuple[Way, ...] = ()
    circuit: tuple[Circuit, ...] = ()
    socket: tuple[Socket, ...] = ()
    house_box: tuple[HouseBox, ...] = ()
