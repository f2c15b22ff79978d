"""The venue: a room, a stage with its risers, ways and sockets, and what the house brings."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fieldfare.show.record import Fact, Name, NotNegative, Place, Place3, Positive, Record


class Room(Record):
    """The room the audience is in."""

    length_m: Positive
    width_m: Positive
    height_m: Positive
    reverberation_s: Fact[Positive] = Field(default_factory=Fact[Positive], description="Reverberation time, mid band")
    walls: str = ""
    floor: str = ""


class Rectangle(Record):
    """A rectangle on the plan, by its middle and its size along x and y."""

    name: Name
    at: Place
    size_m: tuple[Positive, Positive]


class Stage(Record):
    """The stage: its middle lies at x = 0, its downstage edge at y = 0."""

    width_m: Positive
    depth_m: Positive
    height_m: NotNegative = 0.0


class Riser(Rectangle):
    """A platform on the stage."""

    height_m: Positive


class KeepClear(Rectangle):
    """Ground that no cable may cross: a fire route, steps, a walkway."""

    kind: Literal["fire route", "steps", "walkway", "door"]


class Way(Record):
    """A path off the stage along which cable may lie: along a wall, behind a curtain."""

    name: Name
    points: tuple[Place, ...] = Field(min_length=2)


class Circuit(Record):
    """A mains circuit, as its breaker sees it."""

    name: Name
    rating_a: Positive
    shared_with: str = Field(default="", description="What else hangs on it: the kitchen, the bar fridges")
    other_load_w: Fact[NotNegative] = Field(default_factory=Fact[NotNegative])
    residual_current_device: Fact[bool] = Field(default_factory=Fact[bool])
    cut_by_limiter: Fact[bool] = Field(default_factory=Fact[bool])


class Socket(Record):
    """A mains socket, where it is and which circuit it hangs on."""

    name: Name
    at: Place
    circuit: Name


class HouseBox(Record):
    """A stage box of the house."""

    name: Name
    at: Place
    lines: int = Field(ge=1)
    split_outputs: int = Field(default=0, ge=0, description="Lines of it that we may take a feed from")
    splits_isolated: Fact[bool] = Field(default_factory=lambda: Fact[bool](ask="house"))


class Mains(Record):
    """The supply of the country."""

    voltage_v: Positive = 230.0
    frequency_hz: Literal[50, 60] = 50


class Position(Record):
    """Where the recordist sits."""

    at: Place3
    table_m: tuple[Positive, Positive] = (1.5, 0.75)


class Venue(Record):
    """A place to record in."""

    name: Name
    address: str = ""
    zone: str = Field(default="UTC", description="Time zone, by its name in the tz database: Europe/London")
    country: str = ""
    room: Room
    stage: Stage
    temperature_c: Fact[float] = Field(default_factory=Fact[float])
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
