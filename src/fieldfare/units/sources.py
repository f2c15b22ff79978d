"""The bibliography: one place that says where a number comes from and how the source was seen."""

from __future__ import annotations

from typing import Literal, NamedTuple

PRACTICE = "common practice, no source"

Seen = Literal["at first hand", "quoted by another", "from memory"]


class Source(NamedTuple):
    """A published source, and how it was seen by whoever wrote the check."""

    title: str
    seen: Seen
    note: str = ""


SOURCES: dict[str, Source] = {
    "definition": Source("Follows from the definition of the unit or by arithmetic alone", "at first hand"),
    "dBu": Source("Decibel relative to the voltage of 1 mW in 600 Ω, 0.7746 V", "quoted by another"),
}
