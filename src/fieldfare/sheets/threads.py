"""The thread: one input's path on one line, hop by hop, with what fails at its hop."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from fieldfare.sheets.strips import Strip, run_bands, strip_of
from fieldfare.sheets.wording import Units, cable_words
from fieldfare.show.plan import Hit, Hop, PlannedInput, Severity

Column = Literal["taken", "cable", "box", "trunk", "preamp", "track"]

COLUMNS: tuple[tuple[Column, str], ...] = (
    ("taken", "Mic or DI"),
    ("cable", "Cable"),
    ("box", "Box, socket"),
    ("trunk", "Trunk"),
    ("preamp", "Preamp"),
    ("track", "Track"),
)
STANDS_IN: dict[str, Column] = {
    "lead": "taken",
    "mic": "taken",
    "di": "taken",
    "line out": "taken",
    "splitter": "taken",
    "cable": "cable",
    "box": "box",
    "trunk": "trunk",
    "preamp": "preamp",
    "recorder": "track",
    "track": "track",
}
GRAVITY: tuple[Severity, ...] = ("stop", "warn", "note")


@dataclass(frozen=True, slots=True)
class Station:
    """One hop on the thread."""

    name: str
    detail: str
    tag: str
    fails: str  # severity of the worst check that fired here, or ""


@dataclass(frozen=True, slots=True)
class Stretch:
    """What lies in one column of the thread, and the shades of the lead that leaves it."""

    stations: tuple[Station, ...]
    bands: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Trouble:
    """What fails, at which hop, and the remedy."""

    severity: str
    hop: str
    says: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Thread:
    """One input's path."""

    strip: Strip
    phantom: str
    stretches: tuple[Stretch, ...]
    troubles: tuple[Trouble, ...]


def thread_of(row: PlannedInput, hits: Iterable[Hit], phantom: str, units: Units = "m") -> Thread:
    """Lay an input's hops out in columns, each with the worst that its checks found there."""
    own = [hit for hit in hits if hit.input == row.id]
    stretches = tuple(
        Stretch(
            stations=tuple(_station(hop, row, own, units) for hop in row.thread if STANDS_IN.get(hop.kind) == column),
            bands=run_bands(row.cable) if column == "cable" else (),
        )
        for column, _ in COLUMNS
    )
    return Thread(
        strip=strip_of(row, units),
        phantom=phantom,
        stretches=stretches,
        troubles=tuple(Trouble(hit.severity, hit.hop, hit.says, hit.remedy) for hit in own),
    )


def _station(hop: Hop, row: PlannedInput, hits: list[Hit], units: Units) -> Station:
    here = [hit.severity for hit in hits if hit.hop and hit.hop in (hop.tag, hop.name)]
    cable = next((one for one in (*row.cable, *row.lead) if one.tag and one.tag == hop.tag), None)
    name = cable_words(cable, units) if cable else hop.name
    detail = "" if hop.detail == row.label else hop.detail  # its strip says that already
    return Station(name, detail, hop.tag, min(here, key=GRAVITY.index) if here else "")
