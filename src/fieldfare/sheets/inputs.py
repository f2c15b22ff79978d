"""The input list: one row an input, from its tape to its track, and below it what was wanted and is not recorded."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from fieldfare.sheets.figures import FigureRow, figure_row
from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.strips import Strip, left_out_strip, strip_of
from fieldfare.sheets.wording import SURENESS, SURENESS_KEY, Units, cable_words, common_sureness, reading
from fieldfare.show.plan import LeftOut, Plan, PlannedInput, UnitUse
from fieldfare.units.text import figure
from fieldfare.units.working import Sureness


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of gear in a cell: what it is and which one."""

    words: str
    tag: str = ""


@dataclass(frozen=True, slots=True)
class InputRow:
    """One row as printed."""

    strip: Strip
    taken: Piece
    stand: Piece
    cables: tuple[Piece, ...]
    socket: str
    preamp: str
    phantom: str
    phantom_owner: str
    pad: str
    gain: str
    reserve: str
    notes: str


@dataclass(frozen=True, slots=True)
class LeftOutRow:
    """One input that is not recorded."""

    strip: Strip
    importance: str
    status: str
    blocks: str
    cure: str


@dataclass(frozen=True, slots=True)
class NextBest:
    """What would be taken instead, should a mic or DI fail."""

    strip: Strip
    spares: str  # tags of the same item, packed as spares
    words: str


@dataclass(frozen=True, slots=True)
class InputSheet:
    """Everything on the input list."""

    head: Head
    summary: str
    detail: str
    gain_head: str
    reserve_head: str
    rows: tuple[InputRow, ...]
    left_out: tuple[LeftOutRow, ...]
    next_best: tuple[NextBest, ...]
    figures: tuple[FigureRow, ...]
    key: str


class Mates(NamedTuple):
    """What rows have to do with one another."""

    numbers: dict[str, int]  # by id
    sharing: dict[str, list[str]]  # labels of what uses the same line as it stands, by id
    hosts: dict[str, PlannedInput]  # the row that another act's input is on, by id of that input


def input_sheet(setting: Setting) -> InputSheet:
    """Make the data of the input list."""
    plan = setting.plan
    mates = Mates(
        {row.id: row.number for row in plan.input},
        _sharing(plan),
        {guest.id: row for guest in plan.guest for row in plan.input if guest.id in row.shared_by},
    )
    gain = common_sureness(row.gain for row in plan.input)
    reserve = common_sureness(row.reserve for row in plan.input)
    return InputSheet(
        head=setting.head("inputs"),
        summary=f"{plan.kept} of {plan.wanted} inputs kept",
        detail=_detail(plan),
        gain_head=f"{SURENESS[gain]}Gain, dB",
        reserve_head=f"{SURENESS[reserve]}In hand, dB",
        rows=tuple(_row(row, mates, setting.units, (gain, reserve)) for row in plan.rigged),
        left_out=tuple(_left_out(row) for row in plan.left_out if not row.shares),
        next_best=tuple(
            NextBest(strip_of(row, setting.units), _spares(row, plan), row.next_best)
            for row in plan.input
            if row.next_best
        ),
        figures=_figure_rows(plan),
        key=SURENESS_KEY,
    )


def _spares(row: PlannedInput, plan: Plan) -> str:
    """Name the spares of a row's own kind that are packed."""
    unit = row.unit
    if unit is None:
        return ""
    alike = (line for line in plan.pack if line.spare and (line.item, line.owner) == (unit.item, unit.owner))
    return ", ".join(tag for line in alike for tag in line.tags)


def _detail(plan: Plan) -> str:
    """Say how much of each importance was kept, and how full the recorder is."""
    sharing = plan.kept - len(plan.input)
    shared = f"{sharing} on the line of another" if sharing else ""
    used = f"{len(plan.input)} of {plan.channels} channels used"
    rate = f"{figure(plan.rate_hz / 1000, 1 if plan.rate_hz % 1000 else 0)} kHz, {plan.bits} bit"
    return "; ".join(part for part in (plan.kept_words, shared, used, rate) if part)


def _row(row: PlannedInput, mates: Mates, units: Units, said_above: tuple[Sureness, Sureness]) -> InputRow:
    return InputRow(
        strip=strip_of(row, units),
        taken=taken_words(row),
        stand=Piece(_owned(row.stand), row.stand.tag) if row.stand else Piece(""),
        cables=tuple(Piece(cable_words(cable, units), cable.tag) for cable in row.cable),
        socket=f"{row.box} {row.socket}",
        preamp=_preamp_words(row),
        phantom=phantom_words(row),
        phantom_owner=(row.phantom_owner or "with its bank") if row.phantom else "",
        pad=f"pad {figure(-abs(row.pad_db))}" if row.pad_db else "",
        gain=reading(row.gain, sign=True, said_above=said_above[0]) if row.preamp_channel else "–",
        reserve=reading(row.reserve, said_above=said_above[1]),
        notes="; ".join(_notes(row, mates, units)),
    )


def taken_words(row: PlannedInput) -> Piece:
    """Say how an input is taken: its mic or DI, with whose it is where it is not ours."""
    if row.unit is None:
        return Piece("house mic" if row.taking == "split" else "line output")
    channel = f", channel {row.di_channel}" if row.di_channel else ""
    return Piece(_owned(row.unit) + channel, row.unit.tag)


def _owned(unit: UnitUse) -> str:
    return unit.item if unit.owner == "ours" else f"{unit.item} ({unit.owner})"


def _preamp_words(row: PlannedInput) -> str:
    """Name what amplifies an input, and where it goes in."""
    return f"{row.preamp} {row.preamp_channel}" if row.preamp_channel else f"{row.preamp}, line"


def phantom_words(row: PlannedInput) -> str:
    """Say what the phantom switch of an input must stand at."""
    if row.phantom:
        return "48 V"
    return "never" if row.phantom_need == "harmful" else "off"


def _sharing(plan: Plan) -> dict[str, list[str]]:
    guests = {guest.id for guest in plan.guest}
    return {
        row.id: [one.label for one in plan.left_out if one.shares == row.id and one.id not in guests]
        for row in plan.input
    }


def _notes(row: PlannedInput, mates: Mates, units: Units) -> Iterable[str]:
    host = mates.hosts.get(row.id)
    if host is not None and host.cable == row.cable:
        yield f"the same mic, carried over from {host.label}"
    elif host is not None:
        yield f"plugged over in place of {host.label}"
    if row.status == "possible":
        yield "possible only"
    if row.splitter:
        yield f"split {row.splitter.tag}, {row.splitter.item}"
    for lead in row.lead:
        yield f"lead {lead.tag}, {cable_words(lead, units)}"
    if row.pair in mates.numbers:
        yield f"pair with {mates.numbers[row.pair]}"
    for label in mates.sharing.get(row.id, ()):
        yield f"also {label}, never at once"
    if row.flip:
        yield "polarity reversed at the source"
    if {row.trunk_line or row.number, row.channel} != {row.number}:
        yield f"trunk line {row.trunk_line}, track {row.channel}" if row.trunk_line else f"track {row.channel}"


def _left_out(row: LeftOut) -> LeftOutRow:
    status = "" if row.status == "confirmed" else row.status
    return LeftOutRow(left_out_strip(row), row.importance, status, row.blocks, row.cure)


def _figure_rows(plan: Plan) -> tuple[FigureRow, ...]:
    """Say how the figures of the list come about: each formula once, with its source and how sure it is."""
    found: dict[tuple[str, str], FigureRow] = {}
    for name, workings in (
        ("gain", [row.gain for row in plan.input]),
        ("in hand", [row.reserve for row in plan.input]),
        ("loudest moment at the preamp", [row.level for row in plan.input]),
    ):
        for working in workings:
            if working.value is not None:
                found.setdefault((name, working.formula), figure_row(f"{name}, {working.unit}", working))
    return tuple(found.values())
