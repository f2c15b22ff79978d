"""A small show written by hand: a plan of a few inputs on a stage, with what sounds there."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from fieldfare.show.kit import Kit, Mic, Pattern, Recorder
from fieldfare.show.plan import CableUse, MediaPlan, Plan, PlannedInput, Power, Run, Taking, UnitUse
from fieldfare.show.record import Fact, Place3
from fieldfare.show.show import Act, Set, Show, Source
from fieldfare.show.venue import Position, Room, Stage, Venue
from fieldfare.units.sources import PRACTICE
from fieldfare.units.working import Working

RATE_HZ = 48_000
FULL_SCALE_DBU, TARGET_DBFS = 18.0, -12.0
SENSITIVITY_DBU = -128.0  # at 0 dB SPL: 2 mV/Pa


@dataclass(frozen=True, slots=True)
class Heard:
    """What sounds, as a plan's own list has it."""

    source: str
    part: str
    at: Place3
    level_db: float
    directivity: float = 1.0


def figure(value: float | None, unit: str) -> Working:
    """Return a figure that was made up for a test."""
    return Working(value=value, unit=unit, formula="made up", source=PRACTICE)


def planned(
    number: int, name: str, source: str, recipe: str, part: str, at: Place3, aim: Place3, *, spl_db: float = 110.0,
    pattern: Pattern | None = "cardioid", taking: Taking = "mic", pair: str = "", flip: bool = False,
) -> PlannedInput:  # fmt: skip
    """Return one row of an input list whose gain puts its own sound's loudest moment at the target."""
    level_dbu = spl_db + SENSITIVITY_DBU if taking in ("mic", "split") else -20.0
    return PlannedInput(
        id=name.lower().replace(" ", "-"), number=number, label=name, source=source, recipe=recipe, part=part,
        importance="must", status="confirmed", taking=taking, unit=UnitUse(tag=f"M-{number}", item="a mic"),
        pattern=pattern if taking in ("mic", "split") else None, at=at, aim=aim, cable=(CABLE,), run=RUN, box="B-1",
        socket=number, trunk_line=number, preamp="R-1", preamp_channel=number, channel=number, phantom=False, pair=pair,
        flip=flip, spl=figure(spl_db if taking in ("mic", "split") else None, "dB SPL"), level=figure(level_dbu, "dBu"),
        gain=figure(FULL_SCALE_DBU + TARGET_DBFS - level_dbu, "dB"), reserve=figure(6, "dB"),
        noise=figure(-110, "dBFS(A)"), spill=figure(6, "dB"),
        reason="by hand", thread=(),
    )  # fmt: skip


CABLE = CableUse(tag="C-1", item="a cable", length_m=5)
RUN = Run(points=((0, 0), (1, 0)), floor_m=1, needed=figure(2, "m"), laid_m=5)
DOWN: Place3 = (0.0, 0.0, -1.0)
UP: Place3 = (0.0, 0.0, 1.0)
AHEAD: Place3 = (0.0, 1.0, 0.0)
OVERHEAD = ("Kit", "drum kit", "overhead")

INPUTS = (
    planned(1, "Kick", "Kit", "drum kit", "kick", (0, 2.5, 0.3), AHEAD, spl_db=130),
    planned(2, "Snare top", "Kit", "drum kit", "snare top", (0.2, 3.0, 0.75), DOWN, spl_db=132),
    planned(3, "Snare bottom", "Kit", "drum kit", "snare bottom", (0.2, 3.0, 0.5), UP, spl_db=126, flip=True),
    planned(4, "Overhead left", *OVERHEAD, (-0.6, 3.1, 1.9), DOWN, spl_db=114, pair="overhead-right"),
    planned(5, "Overhead right", *OVERHEAD, (0.9, 3.1, 1.9), DOWN, spl_db=114, pair="overhead-left"),
    planned(6, "Fiddle DI", "Fiddle", "fiddle", "pickup", (-1, 1, 0), DOWN, taking="di"),
    planned(7, "Fiddle mic", "Fiddle", "fiddle", "mic", (-1.0, 1.0, 1.7), DOWN, spl_db=104, pattern="supercardioid"),
    planned(8, "Trumpet", "Trumpet", "trumpet", "trumpet", (2.0, 1.2, 1.5), AHEAD, spl_db=124),
    planned(9, "Room left", "Room", "room pair", "room", (-3, -0.4, 2), (0, -1.0, 0), spl_db=106, pair="room-right"),
    planned(10, "Room right", "Room", "room pair", "room", (-2.8, -0.4, 2), (0, -1.0, 0), spl_db=106, pair="room-left"),
)  # fmt: skip
SOUNDS = (
    Heard("Kit", "kick", (0, 2.8, 0.3), 112, 1.2),
    Heard("Kit", "snare", (0.2, 3.0, 0.65), 115, 1.3),
    Heard("Kit", "cymbals", (0.3, 3.1, 1.2), 110),
    Heard("Fiddle", "fiddle", (-1, 1, 1.5), 90, 1.5),
    Heard("Trumpet", "bell", (2.0, 1.5, 1.5), 112, 3.0),
)


def small_show() -> Show:
    """Return the show."""
    sources = (
        Source(name="Kit", recipe="drum kit", at=(0, 3), player="drummer"),
        Source(name="Fiddle", recipe="fiddle", at=(-1, 1), player="fiddler"),
        Source(name="Trumpet", recipe="trumpet", at=(2, 1.5), player="trumpeter"),
        Source(name="Room", recipe="room pair", at=(-3, 0)),
    )
    return Show(
        title="A small show", date=dt.date(2026, 12, 4), venue="venue.toml", kit=("kit.toml",),
        set=(Set(start=dt.time(20), minutes=40, songs=("The First Reel", "The Second Polka")),),
        act=(Act(name="The Trio", source=sources),),
    )  # fmt: skip


def small_venue() -> Venue:
    """Return the venue."""
    return Venue(
        name="A hall",
        room=Room(length_m=20, width_m=10, height_m=5, reverberation_s=Fact(value=1.0, status="expected")),
        stage=Stage(width_m=7, depth_m=4, height_m=0.5), temperature_c=Fact(value=20.0, status="expected"),
        recordist=Position(at=(-5, 1, 0)),
    )  # fmt: skip


def small_kit() -> Kit:
    """Return the kit: as many mics as the plan has inputs."""
    mics = tuple(
        Mic(item="a mic", tags=(f"M-{row.number}",), kind="small dynamic", pattern="cardioid", phantom="ignored",
            sensitivity_mv_pa=2, impedance_ohm=200)
        for row in INPUTS
    )  # fmt: skip
    return Kit(mic=mics, recorder=(Recorder(item="a recorder", tags=("R-1",), preamps=16, max_input_dbu=10),))


def small_plan(inputs: tuple[PlannedInput, ...] = INPUTS) -> Plan:
    """Return a plan with these inputs and nothing else."""
    media = MediaPlan(rate=figure(1, "MB/s"), per_hour=figure(1, "GB"), whole=figure(1, "GB"))
    return Plan(
        title="A small show", date=dt.date(2026, 12, 4), venue="A hall", digest="0" * 64, rate_hz=RATE_HZ, bits=24,
        channels=16, wanted=len(inputs), input=inputs, left_out=(), box=(), spill=(), hit=(), power=Power(),
        media=media, pack=(), bin=(), question=(), goal=(),
    )  # fmt: skip
