"""The signal drawing: every channel's path in the symbols of circuit diagrams, from the sound to the track."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.strips import Strip, run_bands, strip_of
from fieldfare.sheets.wording import Units, cable_words
from fieldfare.show.kit import Di, End, Kit, Splitter, Thing
from fieldfare.show.plan import CableUse, Hop, PlannedInput, Port

Symbol = Literal[
    "mic", "output", "lead", "transformer", "amplifier", "branch", "contact", "lines", "preamp", "converter"
]
Plug = Literal["", "pin", "hole"]

COLUMNS: tuple[str, ...] = ("Source", "DI or split", "Cable", "Box", "Trunk", "Preamp", "Recorder")
PLACES: dict[str, int] = {
    "mic": 0, "line out": 0, "lead": 1, "di": 1, "splitter": 1, "cable": 2, "box": 3, "trunk": 4, "preamp": 5,
    "recorder": 6, "track": 6,
}  # fmt: skip
PINS: tuple[End, ...] = ("xlr-m", "jack-ts", "jack-trs")
SYMBOLS: dict[str, Symbol] = {
    "mic": "mic", "line out": "output", "lead": "lead", "cable": "lead", "box": "contact", "trunk": "lines",
    "preamp": "preamp", "recorder": "converter", "track": "converter",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Drawn:
    """One symbol with what is written to it."""

    symbol: Symbol
    tag: str
    words: str
    takes: Plug  # what the plug at either end of a lead is
    gives: Plug
    conductors: str  # on a lead: how many lead the signal
    phantom: str  # "48 V" where it is fed in, "needs 48 V" where it is needed
    bands: tuple[str, ...]  # shades of a lead
    blocks: bool  # direct current does not pass


@dataclass(frozen=True, slots=True)
class SignalRow:
    """One channel: its symbols by column, and those of the house behind a split."""

    strip: Strip
    cells: tuple[tuple[Drawn, ...], ...]
    house: tuple[Drawn, ...]


@dataclass(frozen=True, slots=True)
class SignalSheet:
    """Everything on the signal drawing."""

    head: Head
    columns: tuple[str, ...]
    rows: tuple[SignalRow, ...]


def signal_sheet(setting: Setting, kit: Kit) -> SignalSheet:
    """Make the data of the signal drawing.

    Sources
    -------
    Symbols after [IEC60617]: microphone, transformer, amplifier, converter, plug and socket, group of conductors.
    """
    things = kit.by_tag
    rows = sorted(setting.plan.input, key=lambda row: row.channel)
    return SignalSheet(
        head=setting.head("signal"),
        columns=COLUMNS,
        rows=tuple(_row(row, things, setting.units) for row in rows),
    )


def _row(row: PlannedInput, things: dict[str, Thing], units: Units) -> SignalRow:
    leads = {lead.tag: lead for lead in (*row.lead, *row.cable)}
    cells: list[list[Drawn]] = [[] for _ in COLUMNS]
    for place, hop in _placed(row.thread):
        cells[place].append(_drawn(hop, things.get(hop.tag), leads, row, units))
    house = row.house_thread[2:]  # behind the mic and the splitter, which the row itself shows
    return SignalRow(
        strip=strip_of(row, units),
        cells=tuple(tuple(cell) for cell in cells),
        house=tuple(_drawn(hop, things.get(hop.tag), leads, row, units) for hop in house),
    )


def _placed(thread: Iterable[Hop]) -> Iterator[tuple[int, Hop]]:
    """Give each hop its column, never before the one before it; a track without a recorder before it is one."""
    hops = tuple(hop for hop in thread if hop.kind in PLACES)
    reached = 0
    for number, hop in enumerate(hops):
        if hop.kind == "track" and any(one.kind == "recorder" for one in hops[:number]):
            continue
        reached = max(reached, PLACES[hop.kind])
        yield reached, hop


def _drawn(hop: Hop, thing: Thing | None, leads: dict[str, CableUse], row: PlannedInput, units: Units) -> Drawn:
    lead = leads.get(hop.tag)
    balanced = bool(hop.gives and hop.gives.balanced)
    return Drawn(
        symbol=_symbol(hop, thing),
        tag=hop.tag,
        words=cable_words(lead, units) if lead else f"track {row.channel}" if hop.kind == "track" else _words(hop),
        takes=_plug(hop.takes),
        gives=_plug(hop.gives),
        conductors="" if hop.kind not in ("lead", "cable") else "2" if balanced else "1",
        phantom=_phantom(hop),
        bands=run_bands((lead,)) if lead and lead.colour else (),
        blocks=not hop.passes_dc,
    )


def _symbol(hop: Hop, thing: Thing | None) -> Symbol:
    if isinstance(thing, Di):
        return "transformer" if thing.isolated else "amplifier"
    if hop.kind == "splitter":
        active = isinstance(thing, Splitter) and thing.isolation == "active"
        return "branch" if hop.passes_dc else "amplifier" if active else "transformer"
    return SYMBOLS.get(hop.kind, "branch")


def _plug(port: Port | None) -> Plug:
    if port is None or port.end is None:
        return ""
    return "pin" if port.end in PINS else "hole"


def _phantom(hop: Hop) -> str:
    """What stands at a symbol about phantom power."""
    ports = [port.phantom for port in (hop.takes, hop.gives) if port]
    if "supplies" in ports:
        return "48 V"
    return "needs 48 V" if "needs" in ports else "never 48 V" if "harmed" in ports and hop.kind == "mic" else ""


def _words(hop: Hop) -> str:
    if hop.kind in ("box", "trunk", "recorder"):
        return hop.detail
    if hop.kind == "preamp" and hop.tag:
        return hop.detail.rsplit(", phantom", 1)[0]
    return hop.name
