"""What checks look at, and what they give."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from fieldfare.show.findings import FileState, Trouble
from fieldfare.show.inputs_csv import ListedInput
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.show.record import Severity
from fieldfare.takes.measure import Channel, Measures, levels_dbfs, peak_dbfs
from fieldfare.takes.measure.grain import F64
from fieldfare.takes.measure.hum import Hum, find_hum
from fieldfare.takes.wave import Damage

MOST_PLACES = 100
SILENCE_DB = -200.0


@dataclass(frozen=True)
class Track:
    """One channel of one file, with what the plan says of it."""

    label: str
    named: bool  # by its file or the plan, not only numbered
    state: FileState
    place: int  # channel of the file, from 1
    measures: Measures
    number: int | None = None
    planned: PlannedInput | None = None
    mains_hz: float | None = None
    doubt: str = ""  # where its name and its number say different things
    late: int = 0  # samples from the take's start to its own
    holes: tuple[tuple[int, int], ...] = ()  # between files that continue one another, filled with silence
    listed: ListedInput | None = None  # what the list of inputs says, where there is no plan
    torn: tuple[Damage, ...] = ()  # what of its file could not be decoded; silence stands there

    @property
    def channel(self) -> Channel:
        """What was measured of it."""
        return self.measures.channel[self.place - 1]

    @property
    def rate_hz(self) -> int:
        """Sample rate by the file. [Hz]"""
        return self.measures.form.rate_hz

    @property
    def full_scale(self) -> int:
        """0 dBFS as a peak, in codes."""
        return self.measures.full_scale

    @cached_property
    def levels_db(self) -> F64:
        """Short-term rms from stretch to stretch. [dBFS]"""
        return levels_dbfs(self.channel.levels)

    @cached_property
    def loud_db(self) -> float:
        """95th percentile of the short-term rms; -200 for silence. [dBFS]"""
        return float(np.percentile(self.levels_db, 95)) if len(self.levels_db) else SILENCE_DB

    @cached_property
    def floor_db(self) -> float:
        """5th percentile of the short-term rms; -200 for silence. [dBFS]"""
        return float(np.percentile(self.levels_db, 5)) if len(self.levels_db) else SILENCE_DB

    @cached_property
    def peak_db(self) -> float:
        """Highest peak; -200 for silence. [dBFS]"""
        peak = peak_dbfs(self.channel.peak, self.full_scale)
        return SILENCE_DB if peak is None else peak

    @property
    def used_bits(self) -> int:
        """How many bits of its codes it ever sets; 0 for silence, and for float, where that says nothing."""
        used = self.channel.used_bits
        if not used or self.measures.form.is_float:
            return 0
        return self.measures.code_bits - ((used & -used).bit_length() - 1)

    @property
    def quantum(self) -> int:
        """The smallest step of its codes."""
        used = self.channel.used_bits
        return max(1, used & -used)

    @cached_property
    def hum(self) -> Hum | None:
        """Its steady hum."""
        return find_hum(self.channel.lows, self.mains_hz)


@dataclass(frozen=True)
class Take:
    """All tracks of one continuous pass, with the files they lie in, readable or not."""

    name: str
    states: tuple[FileState, ...]
    tracks: tuple[Track, ...]
    plan: Plan | None = None
    rate_hz: int = 0  # that of the plan, or of most files
    frames: int = 0  # of most tracks
    bits: int = 0  # those of the plan, or of most files
    missing: tuple[PlannedInput | ListedInput, ...] = ()
    listed: bool = False  # whether a list of inputs says what should be there, where there is no plan

    @property
    def by(self) -> str:
        """What says which tracks there should be; blank where nothing does."""
        return "the plan" if self.plan else "the list of inputs" if self.listed else ""


@dataclass(frozen=True, slots=True)
class Hit:
    """Where a check fired, and what it found."""

    severity: Severity
    says: str
    remedy: str
    confidence: float
    start: int | None = None
    end: int | None = None
    places: tuple[tuple[int, int], ...] = ()
    count: int = 1
    figures: Mapping[str, float] = field(default_factory=dict)
    track: str = ""
    file: str = ""


@dataclass(frozen=True, slots=True)
class TrackCheck:
    """A check of each track by itself."""

    kind: Trouble
    sounds: str  # what the fault sounds like
    source: str
    find: Callable[[Track], Iterable[Hit]]


@dataclass(frozen=True, slots=True)
class TakeCheck:
    """A check of all tracks and files together."""

    kind: Trouble
    sounds: str
    source: str
    find: Callable[[Take], Iterable[Hit]]


def spanned(places: Iterable[tuple[int, int]]) -> tuple[int, int, tuple[tuple[int, int], ...], int]:
    """Return first sample, end, places to tell, and how many there are."""
    every = tuple(places)
    return every[0][0], every[-1][1], every[:MOST_PLACES], len(every)
