"""What the watch says: one event a line of JSON, the same that the terminal tells and that the desk shows."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fieldfare.show.record import Record, Severity

Kind = Literal[
    "rolling",
    "not-rolling",
    "continues",
    "stalled",
    "goes-on",
    "closed",
    "stopped",
    "vanished",
    "renamed",
    "rate",
    "reserved",
    "form",
    "missing",
    "unreadable",
    "disc",
    "limit",
    "silent",
    "stuck",
    "clipping",
    "lower",
    "back",
    "status",
    "summary",
]


class Event(Record):
    """One thing that happened, or one state that is told."""

    kind: Kind
    severity: Severity
    after_s: float = Field(description="Seconds since the watch began")
    at: str = Field(default="", description="Clock time with its offset; blank where no clock was given")
    file: str = Field(default="", description="Name below the folder, with forward slashes")
    channel: int = Field(default=0, description="Channel in the file, from 1; 0 where it is about the file or the disc")
    track: str = Field(default="", description="What the channel is called")
    says: str
    remedy: str = ""
    figures: dict[str, float] = Field(default_factory=dict, description="Numbers behind the words, unit in the name")


class Level(Record):
    """How loud a track was at line check."""

    track: str
    loud_dbfs: float = Field(description="Of its loudest 0.4 s, a full-scale sine being 0")


class LineCheck(Record):
    """Levels kept at line check, to compare the show with."""

    level: tuple[Level, ...]
