"""Tape: bands to cut out for the sockets of every box and the channels of the recorder, and a flag for every lead."""

from __future__ import annotations

from dataclasses import dataclass

from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.strips import Strip, run_bands, strip_of
from fieldfare.sheets.wording import Units, cable_words, length
from fieldfare.show.plan import CableUse, Plan, PlannedInput


@dataclass(frozen=True, slots=True)
class Cell:
    """One socket or channel of a band; without a strip it is free to be written on."""

    place: str
    strip: Strip | None


@dataclass(frozen=True, slots=True)
class Band:
    """What is stuck along one box or one row of preamps, cell beside cell."""

    name: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Flag:
    """What is folded round both ends of a lead."""

    strip: Strip
    tag: str
    words: str
    owner: str


@dataclass(frozen=True, slots=True)
class TapeSheet:
    """Everything on the tape sheet."""

    head: Head
    bands: tuple[Band, ...]
    flags: tuple[Flag, ...]


def tape_sheet(setting: Setting) -> TapeSheet:
    """Make the data of the tape sheet."""
    plan, units = setting.plan, setting.units
    return TapeSheet(
        head=setting.head("tape"),
        bands=(*_boxes(plan, units), *_channels(plan, units)),
        flags=tuple(_flag(row, cable, units) for row in plan.input for cable in row.cable),
    )


def _boxes(plan: Plan, units: Units) -> list[Band]:
    bands = []
    for box in plan.box:
        rows = {row.socket: row for row in plan.input if row.box == box.tag}
        if rows:
            sockets = range(1, (max(rows) if box.trunk else box.sockets) + 1)
            bands.append(
                Band(f"Box {box.tag}", _cells({n: rows.get(n) for n in sockets if n in rows or not box.trunk}, units))
            )
    return bands


def _channels(plan: Plan, units: Units) -> list[Band]:
    if not plan.input:
        return []
    rows = {row.channel: row for row in plan.input}
    return [Band("Channels of the recorder", _cells({n: rows.get(n) for n in range(1, max(rows) + 1)}, units))]


def _cells(rows: dict[int, PlannedInput | None], units: Units) -> tuple[Cell, ...]:
    return tuple(Cell(str(place), strip_of(row, units) if row else None) for place, row in rows.items())


def _flag(row: PlannedInput, cable: CableUse, units: Units) -> Flag:
    size = length(cable.length_m, units)
    strip = Strip(str(row.number), row.label, run_bands((cable,)), size)
    return Flag(strip, cable.tag, cable_words(cable, units), cable.owner)
