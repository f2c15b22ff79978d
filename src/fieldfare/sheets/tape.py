"""Tape: bands to cut out for the sockets of every box and the channels of the recorder, and a flag for every lead."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.language import Language, worded
from fieldfare.sheets.strips import Strip, run_bands, strip_of
from fieldfare.sheets.trunks import socket_rows, tail_rows
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
        bands=(*_boxes(plan, units, setting.language), *_channels(plan, units, setting.language)),
        flags=tuple(_flags(plan, units)),
    )


def _flags(plan: Plan, units: Units) -> Iterator[Flag]:
    flagged: set[str] = set()
    for row in plan.rigged:
        for cable in row.cable:
            if cable.tag not in flagged:
                flagged.add(cable.tag)
                yield _flag(row, cable, units)


def _boxes(plan: Plan, units: Units, language: Language) -> list[Band]:
    bands = []
    for box in plan.box:
        strips = {socket: strip_of(row, units) for socket, row in socket_rows(box, plan).items()}
        if box.trunk:
            strips |= {line: _tail(row, language) for line, row in tail_rows(box, plan).items()}
        if strips:
            last = max(strips) if box.trunk else box.sockets
            bands.append(Band(worded("Box {x}", language, x=box.tag), _cells(strips, last)))
    return bands


def _tail(row: PlannedInput, language: Language) -> Strip:
    return Strip(str(row.number), worded("tail of {x}, {n}", language, x=row.box, n=row.socket))


def _channels(plan: Plan, units: Units, language: Language) -> list[Band]:
    strips = {row.channel: strip_of(row, units) for row in plan.input}
    return [Band(worded("Channels of the recorder", language), _cells(strips, max(strips)))] if strips else []


def _cells(strips: dict[int, Strip], last: int) -> tuple[Cell, ...]:
    return tuple(Cell(str(place), strips.get(place)) for place in range(1, last + 1))


def _flag(row: PlannedInput, cable: CableUse, units: Units) -> Flag:
    size = length(cable.length_m, units)
    strip = Strip(str(row.number), row.label, run_bands((cable,)), size)
    return Flag(strip, cable.tag, cable_words(cable, units), cable.owner)
