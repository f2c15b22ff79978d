"""The thread: one input's path on one line, hop by hop, with what fails at its hop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from fieldfare.sheets.strips import Strip, run_bands, strip_of
from fieldfare.sheets.wording import Units, cable_words
from fieldfare.show.plan import Hit, Hop, PlannedInput
from fieldfare.show.record import Severity

Column = Literal["taken", "cable", "box", "trunk", "preamp", "track"]

COLUMNS: tuple[tuple[Column, str], ...] = (
    ("taken", "Mic or DI"),
    ("cable", "Cable"),
    ("box", "Box, socket"),
    ("trunk", "Trunk"),
    ("preamp", "Preamp"),
    ("track", "Track"),
)
STANDS_IN: dict[str, Column] = {  # or further on, where the hop before it is
    "lead": "taken",
    "mic": "taken",
    "di": "taken",
    "line out": "taken",
    "splitter": "taken",
    "cable": "cable",
    "box": "box",
    "trunk": "trunk",
    "preamp": "preamp",
    "recorder": "preamp",
    "track": "track",
}
BY_TAG = ("box", "trunk", "preamp", "recorder")  # the tag says which; what it is stands on the pack list
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
    hop: str  # "" where the sentence names it
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
    own = [hit for hit in hits if hit.input == row.id and hit.severity != "note"]
    placed = list(_columns(row.thread))
    stretches = tuple(
        Stretch(
            stations=tuple(_station(hop, row, own, units) for hop, where in placed if where == place),
            bands=run_bands(row.cable) if column == "cable" else (),
        )
        for place, (column, _) in enumerate(COLUMNS)
    )
    return Thread(
        strip=strip_of(row, units),
        phantom=phantom,
        stretches=stretches,
        troubles=tuple(_trouble(hit) for hit in own),
    )


def _trouble(hit: Hit) -> Trouble:
    return Trouble(hit.severity, "" if hit.hop in hit.says else hit.hop, hit.says, remedy_left(hit))


def remedy_left(hit: Hit) -> str:
    """Return the remedy where the sentence of the check does not hold it already."""
    return "" if hit.remedy in hit.says else hit.remedy


def _columns(thread: tuple[Hop, ...]) -> Iterator[tuple[Hop, int]]:
    """Place each hop in its column, never before the one before it; a lead stands with what it leads into."""
    places = {column: place for place, (column, _) in enumerate(COLUMNS)}
    reached = 0
    for number, hop in enumerate(thread):
        if hop.kind in STANDS_IN:
            into = next((one.kind for one in thread[number:] if one.kind != "lead"), hop.kind)
            reached = max(reached, places[STANDS_IN[into]])
            yield hop, reached


def _station(hop: Hop, row: PlannedInput, hits: list[Hit], units: Units) -> Station:
    here = [hit.severity for hit in hits if _at(hit, hop)]
    fails = min(here, key=GRAVITY.index) if here else ""
    cable = next((one for one in (*row.cable, *row.lead) if one.tag == hop.tag), None)
    if cable:
        return Station(cable_words(cable, units), "", hop.tag, fails)
    if hop.kind == "track":
        return Station(f"track {row.channel}", "", "", fails)
    if hop.kind in BY_TAG and hop.tag:
        return Station("", hop.detail, hop.tag, fails)
    return Station(hop.name, hop.detail, hop.tag, fails)


def _at(hit: Hit, hop: Hop) -> bool:
    """Tell whether a check fired at a hop: it names the hop's tag first, or the hop itself."""
    if hop.tag:
        return hit.hop == hop.tag or hit.hop.startswith(f"{hop.tag} ")
    return hop.kind != "track" and hit.hop == hop.name
