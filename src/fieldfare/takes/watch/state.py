"""What the watch remembers from look to look. All of it is plain data, so that a look is a pure function."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from fieldfare.show.inputs_csv import ListedInput
from fieldfare.show.plan import Plan
from fieldfare.show.record import Severity
from fieldfare.takes.watch.events import Event, Kind, Level, LineCheck
from fieldfare.takes.watch.facts import SeenFile

Phase = Literal["waiting", "rolling", "reserved", "stalled", "closed"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a plan, or a list of inputs, asks of the recording."""

    rate_hz: int | None  # none where nobody said
    bits: int | None
    track: tuple[str, ...]
    by: str = "the plan"


@dataclass(frozen=True, slots=True)
class Moment:
    """A file's size at a look that found it grown."""

    at_s: float
    bytes: int


@dataclass(frozen=True, slots=True)
class FileWatch:
    """One file: how it grew, and in which phase it is."""

    seen: SeenFile
    phase: Phase = "waiting"
    growth: tuple[Moment, ...] = ()
    grew_s: float = 0.0  # when it was last found grown or written
    longest_pause_s: float = 0.0
    goes_on_in: str = ""  # the file that carries its tracks on
    always_right: bool = False  # whether its header fitted while it grew
    told: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Loud:
    """How loud a channel was in one stretch."""

    at_s: float
    heard_s: float
    dbfs: float


@dataclass(frozen=True, slots=True)
class ChannelWatch:
    """One channel: what was heard of it."""

    track: str
    heard_s: float = 0.0
    peak_dbfs: float = -200.0
    loudest_dbfs: float = -200.0
    recent: tuple[Loud, ...] = ()
    silent_s: float = 0.0
    held_s: float = 0.0
    clips: int = 0
    clip_told_s: float | None = None
    told: frozenset[Kind] = frozenset()


ChannelKey = tuple[str, int]  # name of the file, channel from 1


@dataclass(frozen=True, slots=True)
class Watch:
    """The whole watch between two looks."""

    wanted: Wanted | None = None
    line_check: Mapping[str, float] = field(default_factory=dict)
    began_s: float | None = None
    at_s: float = 0.0
    longest_look_s: float = 0.0  # between two looks
    file: Mapping[str, FileWatch] = field(default_factory=dict)
    channel: Mapping[ChannelKey, ChannelWatch] = field(default_factory=dict)
    rolling_since_s: float | None = None
    splits: bool = False  # whether a new file has gone on from an older one
    free_bytes: int = 0
    told: frozenset[str] = frozenset()
    count: Mapping[Severity, int] = field(default_factory=dict)

    @property
    def growing(self) -> tuple[FileWatch, ...]:
        """Files that are being recorded into."""
        return tuple(one for one in self.file.values() if one.phase in ("rolling", "reserved"))

    def event(
        self,
        kind: Kind,
        severity: Severity,
        says: str,
        remedy: str = "",
        *,
        file: str = "",
        channel: int = 0,
        track: str = "",
        figures: dict[str, float] | None = None,
    ) -> Event:
        """Say something at the time of the present look."""
        return Event(
            kind=kind,
            severity=severity,
            after_s=round(self.at_s - (self.began_s or 0.0), 3) if self.began_s is not None else 0.0,
            file=file,
            channel=channel,
            track=track,
            says=says,
            remedy=remedy,
            figures={name: round(value, 3) for name, value in (figures or {}).items()},
        )


def begin(wanted: Wanted | None = None, line_check: LineCheck | None = None) -> Watch:
    """Return a watch that has seen nothing yet."""
    levels = {one.track: one.loud_dbfs for one in line_check.level} if line_check else {}
    return Watch(wanted=wanted, line_check=levels)


def wanted_of(plan: Plan) -> Wanted:
    """Return what a plan asks of the recording."""
    return Wanted(plan.rate_hz, plan.bits, tuple(row.label for row in plan.input))


def wanted_of_inputs(inputs: Sequence[ListedInput]) -> Wanted:
    """Return what a list of inputs asks: which tracks there are, and no more."""
    return Wanted(None, None, tuple(row.label for row in inputs), "the list of inputs")


def line_check_of(watch: Watch) -> LineCheck:
    """Return the levels that were heard, to be kept as line check; channels that held nothing are left out."""
    heard: dict[str, float] = {}
    for one in watch.channel.values():
        if one.track and one.loudest_dbfs > -200.0:
            heard[one.track] = max(heard.get(one.track, -200.0), one.loudest_dbfs)
    return LineCheck(level=tuple(Level(track=track, loud_dbfs=round(db, 1)) for track, db in heard.items()))
