"""What passes between the rooms of the plan: wanted inputs, what sounds on the stage, and what was chosen."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from fieldfare.show.kit import MicKind, Pattern, StandKind
from fieldfare.show.plan import Goal, Taking
from fieldfare.show.record import Place3
from fieldfare.show.show import HouseMic, Importance, Source
from fieldfare.units.working import Working


@dataclass(frozen=True, slots=True)
class Sounding:
    """One thing that makes sound, where it is and how loud it gets."""

    source: str  # name of the show's source
    part: str  # part of the recipe: "kick", "bell", "voice"; "" where the source is one piece
    at: Place3  # metres
    level_db: float  # dB SPL at 1 m on its axis, free field, loudest moment
    plus_minus_db: float
    directivity: float = 1.0  # Q towards the room; 1 radiates alike in all directions
    never_with: str = ""  # a source by the same player that is silent while this one sounds
    sets: frozenset[int] = frozenset()  # numbers of the sets in which it sounds; empty: all
    alone: bool = False  # it sounds only while the band is silent


@dataclass(frozen=True, slots=True)
class Accept:
    """One way in which an input may be taken, the best first."""

    taking: Taking
    kinds: tuple[MicKind, ...] = ()  # for a mic, any of these
    patterns: tuple[Pattern, ...] = ()  # empty: any
    clip: bool | None = None  # True: must clip to the instrument; False: must stand or lie; None: either
    active: bool | None = None  # for a DI
    least_input_ohm: float = 0.0  # for a DI: what the pickup needs to see
    score: int = 100  # 0 to 100, suitability before spill and SPL reserve are counted
    why: str = ""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One input that somebody would like to have, before anything is chosen."""

    id: str  # "kick", "lead-vocal": stable from plan to file
    label: str  # what stands on the tape: "Kick", "Lead vocal"
    source: Source
    part: str
    importance: Importance
    order: int  # place in the input list: drums first, voices last
    at: Place3  # where the mic is, or the DI lies
    aim: Place3  # unit vector along the mic's axis, towards the sound
    sound_at: Place3  # the middle of the sound it is meant for
    distance_m: float  # from the sound to the mic
    spl_db: tuple[float, float]  # expected range of the loudest moment at the mic, dB SPL
    accept: tuple[Accept, ...]
    stands: tuple[StandKind, ...] = ()  # acceptable, best first; empty: none needed
    pair: str = ""  # id of the other side of a stereo pair
    matched: Literal["must", "rather", "alike", "no"] = "no"  # a pair's units: matched, of one kind, or any
    house_mic: HouseMic | None = None
    signal_dbu: float | None = None  # of a pickup or line output, loudest moment, at the instrument
    source_ohm: float = 150.0  # of a pickup or line output
    lead_end: str = "jack-ts"  # what plugs into the instrument
    flip: bool = False
    why: str = ""
    hears: tuple[str, ...] = ()  # soundings of its own source that it is meant for; empty: all of them
    height_m: float = 0.0  # of the mic above the floor that its stand stands on
    own_lead: bool = False  # the player brings the lead from the instrument
    sets: frozenset[int] = frozenset()  # numbers of the sets in which its source sounds; empty: all
    room_spl: Working | None = None  # of a mic that hears the room: how its level comes about


@dataclass(frozen=True, slots=True)
class Chosen:
    """One input as chosen: every piece by its tag."""

    wanted: Wanted
    taking: Taking
    accept: Accept
    unit: str = ""  # tag of the mic or DI; "" for a line output or a house mic
    item: str = ""
    di_channel: int | None = None
    stand: str = ""
    splitter: str = ""  # our own; "" where the house box itself gives the split
    house_split: str = ""  # name of the house box whose split output it takes
    lead: tuple[str, ...] = ()  # from the instrument to the DI; for a split of ours, back to the house box
    cable: tuple[str, ...] = ()
    box: str = ""
    socket: int = 0
    trunk_line: int = 0
    preamp: str = ""
    preamp_channel: int = 0
    channel: int = 0
    phantom: bool = False  # what the preamp's switch stands at
    shared_by: tuple[str, ...] = ()  # ids of inputs that use this row too, never at the same time
    reason: str = ""
    next_best: str = ""


@dataclass(frozen=True, slots=True)
class NotKept:
    """A wanted input that has no row of its own, and why."""

    wanted: Wanted
    blocks: str
    cure: str
    shares: str = ""  # id of the row of the same player that it uses, never at the same time


@dataclass(frozen=True, slots=True)
class Choice:
    """The whole choice with its proof."""

    chosen: tuple[Chosen, ...]
    not_kept: tuple[NotKept, ...]
    goals: tuple[Goal, ...]
    guests: tuple[Chosen, ...] = ()  # rows as they are while another act's mic is on them, carried or plugged over
    notes: tuple[str, ...] = field(default=())
