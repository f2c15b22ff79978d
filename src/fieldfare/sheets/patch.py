"""The patch sheet: every box by its sockets, to be taped to it; then every channel as a thread, for the recorder."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.inputs import Piece, phantom_words, taken_words
from fieldfare.sheets.strips import Strip, strip_of
from fieldfare.sheets.threads import COLUMNS, Thread, thread_of
from fieldfare.sheets.trunks import socket_rows, tail_rows
from fieldfare.sheets.wording import Units, cable_words, length, where_words
from fieldfare.show.kit import Kit
from fieldfare.show.plan import PlacedBox, Plan, PlannedInput
from fieldfare.units.text import spans


@dataclass(frozen=True, slots=True)
class SocketRow:
    """One socket of a box; without a strip it is free."""

    socket: str
    strip: Strip | None
    cables: tuple[Piece, ...]
    taken: Piece
    trunk_line: str
    track: str
    phantom: str


@dataclass(frozen=True, slots=True)
class BoxPatch:
    """One box and its sockets."""

    tag: str
    item: str
    where: str
    used: str
    rows: tuple[SocketRow, ...]
    tails: str  # the sockets of a trunk that the tails of drop boxes plug into
    free: str


@dataclass(frozen=True, slots=True)
class Bank:
    """Preamps that share one phantom switch, or one preamp with a switch of its own."""

    name: str
    stands: str


@dataclass(frozen=True, slots=True)
class PatchSheet:
    """Everything on the patch sheet."""

    head: Head
    boxes: tuple[BoxPatch, ...]
    banks: tuple[Bank, ...]
    columns: tuple[str, ...]
    threads: tuple[Thread, ...]


FREE_ROWS = 6  # free sockets get a row each up to here: somewhere to write when a line dies


def patch_sheet(setting: Setting, kit: Kit) -> PatchSheet:
    """Make the data of the patch sheet."""
    plan = setting.plan
    return PatchSheet(
        head=setting.head("patch"),
        boxes=tuple(_box(box, setting) for box in plan.box if not box.trunk or socket_rows(box, plan)),
        banks=tuple(_banks(plan, kit)),
        columns=tuple(title for _, title in COLUMNS),
        threads=tuple(thread_of(row, plan.hit, phantom_words(row), setting.units) for row in plan.rigged),
    )


def _box(box: PlacedBox, setting: Setting) -> BoxPatch:
    units = setting.units
    rows = socket_rows(box, setting.plan)
    tails = tail_rows(box, setting.plan) if box.trunk else {}
    free = [socket for socket in range(1, box.sockets + 1) if socket not in rows and socket not in tails]
    lines = [_socket(row, units) for row in setting.plan.rigged if row.box == box.tag]
    if len(free) <= FREE_ROWS and not box.trunk:
        lines += [SocketRow(str(socket), None, (), Piece(""), "", "", "") for socket in free]
    x, y = box.at
    side = "left" if x > 0 else "right"
    across = f"{length(abs(x), units)} {side} of the middle" if x else ""
    upstage = f"{length(abs(y), units)} {'upstage' if y > 0 else 'in front'} of the edge" if y else "at the edge"
    tail = f", tail {length(box.tail_m, units)}" if box.tail_m else ""
    return BoxPatch(
        tag=box.tag,
        item=f"{box.item}{tail}",
        where=", ".join(part for part in (where_words(box.at, setting.venue.stage), across, upstage) if part),
        used=f"{len(rows)} of {box.sockets} sockets used",
        rows=tuple(sorted(lines, key=lambda line: int(line.socket))),
        tails="; ".join(_tails(tails)),
        free=spans(free),
    )


def _tails(tails: dict[int, PlannedInput]) -> Iterator[str]:
    for tag in dict.fromkeys(row.box for row in tails.values()):
        yield f"tail of {tag} in {spans([line for line, row in tails.items() if row.box == tag])}"


def _socket(row: PlannedInput, units: Units) -> SocketRow:
    return SocketRow(
        socket=str(row.socket),
        strip=strip_of(row, units),
        cables=tuple(Piece(cable_words(cable, units), cable.tag) for cable in row.cable),
        taken=taken_words(row),
        trunk_line=str(row.trunk_line or "–"),
        track=str(row.channel),
        phantom=phantom_words(row),
    )


def _banks(plan: Plan, kit: Kit) -> Iterator[Bank]:
    """Say what each phantom switch must stand at."""
    for preamp in kit.preamp:
        for row in plan.input:
            if row.preamp in preamp.tags and row.preamp_channel:
                yield Bank(f"{row.preamp} {row.preamp_channel}", "48 V" if row.phantom else "off")
    by_preamp = {(row.preamp, row.preamp_channel): row for row in plan.input}
    used = {row.preamp for row in plan.input}
    for recorder in kit.recorder:
        for tag in recorder.tags:
            if tag in used:
                for first in range(1, recorder.preamps + 1, recorder.phantom_bank):
                    last = min(first + recorder.phantom_bank - 1, recorder.preamps)
                    rows = [by_preamp[tag, n] for n in range(first, last + 1) if (tag, n) in by_preamp]
                    if rows:
                        name = f"{tag} {first} to {last}" if last > first else f"{tag} {first}"
                        yield Bank(name, "48 V" if any(row.phantom for row in rows) else "off")
