"""Every single failure of what the plan uses, and which of them are cured alike."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from fieldfare.plan.choice.stock import natural
from fieldfare.plan.whatif.dead import Dead
from fieldfare.plan.whatif.standing import Standing
from fieldfare.show.kit import Di, Kit, Mic, Recorder, Splitter, Stand, Thing
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.show.whatif import DeadKind, Failure, Move, Outcome
from fieldfare.units.text import listed

Single = tuple[DeadKind, str, Dead]  # kind, what it is, what is dead then

_OWN = (  # what tells one of several apart that are cured alike
    (re.compile(r" instead of [^;,(]+(?: \+ [^;,(]+)*"), ""),
    (re.compile(r"still channel \d+"), "same channel"),
    (re.compile(r"; gain about [+−-]?\d+ dB"), ""),
)


def singles(standing: Standing) -> Iterator[Single]:
    """List everything that may fail alone: each unit in use, each socket, line and channel in use, each bank."""
    things = standing.of.kit.by_tag
    rows = (*standing.plan.input, *standing.plan.guest)
    yield from _carriers(standing, things)
    yield from _numbers(standing)
    for tag, lead in _units(rows):
        yield _kind(things[tag], lead), things[tag].item, Dead(tags=frozenset({tag}))


def _units(rows: Iterable[PlannedInput]) -> Iterator[tuple[str, bool]]:
    """Every unit that is in use, once, and whether it is a lead into a DI or back from a splitter."""
    found: dict[str, bool] = {}
    for row in rows:
        for unit in (row.unit, row.splitter, row.stand, *row.cable):
            if unit:
                found.setdefault(unit.tag, False)
        found |= {lead.tag: True for lead in row.lead}
    return ((tag, found[tag]) for tag in sorted(found, key=natural))


def _kind(thing: Thing, lead: bool) -> DeadKind:
    kinds: tuple[tuple[type[Thing], DeadKind], ...] = (
        (Mic, "mic"),
        (Di, "DI"),
        (Splitter, "splitter"),
        (Stand, "stand"),
    )
    other: DeadKind = "lead" if lead else "cable"
    return next((word for kind, word in kinds if isinstance(thing, kind)), other)


def _carriers(standing: Standing, things: Mapping[str, Thing]) -> Iterator[Single]:
    plan, recorder = standing.plan, standing.case.recorder_tag
    if recorder:
        yield "recorder", things[recorder].item, Dead(tags=frozenset({recorder}))
    for box in plan.box:
        if box.tag != recorder:
            yield "trunk" if box.trunk else "box", box.item, Dead(tags=frozenset({box.tag}))
    for tag in sorted({row.preamp for row in plan.input} - {recorder}, key=natural):
        yield "preamp", things[tag].item, Dead(tags=frozenset({tag}))


def _numbers(standing: Standing) -> Iterator[Single]:
    plan, recorder = standing.plan, standing.case.recorder_tag
    machine = next((one for one in standing.of.kit.recorder if recorder in one.tags), None)
    own = {recorder, *standing.ranges}
    for row in sorted(plan.input, key=lambda row: row.trunk_line):
        if row.trunk_line:
            yield "line", "line of the trunk", Dead(lines=frozenset({row.trunk_line}))
    for row in sorted(plan.input, key=lambda row: (natural(row.box), row.socket)):
        if row.box not in own:
            yield "socket", "socket of a box", Dead(sockets=frozenset({(row.box, row.socket)}))
    yield from _banks(machine, plan)
    for row in plan.input:
        yield "channel", "channel of the recorder", Dead(channels=frozenset({row.channel}))
        if row.preamp != recorder:
            spot = (row.preamp, row.preamp_channel)
            yield "channel", "channel of a preamp", Dead(spots=frozenset({spot}))


def _banks(machine: Recorder | None, plan: Plan) -> Iterator[Single]:
    """Neighbouring preamps with one phantom switch have more than that in common."""
    step = machine.phantom_bank if machine else 1
    if machine is None or step == 1:
        return
    used = {row.channel for row in plan.input}
    for first in range(1, machine.preamps + 1, step):
        bank = frozenset(range(first, min(first + step, machine.preamps + 1)))
        if bank & used:
            yield "channel", "bank of preamps", Dead(channels=bank)


def grouped(found: Iterable[tuple[DeadKind, str, Outcome]]) -> tuple[Failure, ...]:
    """Put failures together that are cured alike; the most harm first, then in the order in which they came."""
    whole = list(found)
    same = Counter(_key(one, _cure(one[2], alone=True)) for one in whole)
    groups: dict[tuple[str, str, str], list[tuple[DeadKind, str, Outcome]]] = defaultdict(list)
    for one in whole:
        full = _key(one, _cure(one[2], alone=True))
        groups[full if same[full] > 1 else _key(one, _cure(one[2], alone=False))].append(one)
    told = [_failure(ones) for ones in groups.values()]
    return tuple(sorted(told, key=lambda one: tuple(-count for count in one.harm)))


def _key(one: tuple[DeadKind, str, Outcome], cure: str) -> tuple[str, str, str]:
    return one[0], one[1], f"{cure} {_lost(one[2])}"


def _failure(ones: Sequence[tuple[DeadKind, str, Outcome]]) -> Failure:
    kind, what, first = ones[0]
    alike = len({_cure(one[2], alone=True) for one in ones}) == 1
    return Failure(kind=kind, what=what, says=_cure(first, alone=alike), outcome=tuple(one[2] for one in ones))


def _cure(outcome: Outcome, *, alone: bool) -> str:
    """Say what to do: in full where it is the only one, else without what tells it from the others."""
    served = set(outcome.serves)
    told = outcome.move if alone else sorted(outcome.move, key=lambda one: one.label not in served)
    parts = [_said(one, served, alone=alone, several=len(told) > 1) for one in told]
    if outcome.lost and not outcome.move and not outcome.note:
        parts = ["nothing takes its place"]
    parts += [outcome.note] if outcome.note else []
    return ". ".join(part[:1].upper() + part[1:] for part in parts or ["nothing changes"])


def _lost(outcome: Outcome) -> str:
    """Tell apart what loses its own inputs, and what loses others."""
    labels = {one.label for one in outcome.lost}
    return "its own" if labels and labels == set(outcome.serves) else ", ".join(sorted(labels))


def _said(move: Move, served: set[str], *, alone: bool, several: bool) -> str:
    if alone or move.label not in served:
        return f"{move.label}: {move.says}"
    text = move.says
    for pattern, short in _OWN:
        text = pattern.sub(short, text)
    return f"the input it is on: {text}" if several else text


def left_home(kit: Kit, plan: Plan, dead: Iterable[str]) -> str:
    """Name good units of the same entries that are not packed: what would help had it come along."""
    there = {tag for line in plan.pack for tag in line.tags}
    mine = set(dead)
    spare = [
        tag
        for thing in kit.things
        if mine & set(thing.tags) and thing.owner != "house"
        for tag in thing.good_tags
        if tag not in there | mine
    ]
    return (
        f"{listed(sorted(spare, key=natural))} would do it, and {'stays' if len(spare) == 1 else 'stay'} at home"
        if spare
        else ""
    )
