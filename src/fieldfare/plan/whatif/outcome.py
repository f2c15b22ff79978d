"""One failure, planned again: which rows stand afterwards, what changes in words, what is lost."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from fieldfare.plan.rows import around, input_rows
from fieldfare.plan.wanted import Choice, Chosen, NotKept
from fieldfare.plan.whatif.carriers import Instead, ways_round
from fieldfare.plan.whatif.dead import Dead, fresh
from fieldfare.plan.whatif.fewest import Solved, fewest_changes, touched_by
from fieldfare.plan.whatif.settle import Settled, settle
from fieldfare.plan.whatif.standing import Standing
from fieldfare.plan.whatif.words import move
from fieldfare.show.plan import PlannedInput
from fieldfare.show.whatif import Lost, Move, Outcome
from fieldfare.units.text import listed


@dataclass(frozen=True, slots=True)
class Again:
    """A plan made again around what is dead."""

    way: Instead
    solved: Solved
    settled: Settled

    @property
    def changes(self) -> int:
        """Changed assignments, a spare box, trunk or recorder put in place counted as one."""
        return self.solved.changes + len(self.way.swaps)

    @property
    def rank(self) -> tuple[float, ...]:
        """Importance lost, then changes; smaller is better."""
        return (*self.solved.rank[:-1], self.changes)


def again(standing: Standing, dead: Dead) -> Again:
    """Plan again with the fewest changes, with a spare in the place of a dead box, trunk or recorder or without.

    Parameters
    ----------
    standing
        The plan as it stands.
    dead
        What cannot be used any more.
    """
    tried = []
    for way in ways_round(standing, fresh(dead, standing.of.kit)):
        solved = fewest_changes(way.standing, way.dead)
        assert solved is not None, "leaving everything out is always possible: nothing is held by a pin"
        tried.append(Again(way, solved, settle(way.standing, way.dead, solved)))
    return min(tried, key=lambda one: one.rank)


def choice_of(found: Again) -> Choice:
    """Return the choice that a plan is made of: rows as they stand afterwards, and what is not kept and why."""
    standing, settled, swaps = found.way.standing, found.settled, found.way.swaps
    rows = {number: _renamed(row, swaps) for number, row in settled.rows.items()}
    ids = {number: one.wanted.id for number, one in enumerate(standing.case.inputs)}
    chosen = tuple(
        replace(row, reason=reason, next_best="")
        for number, row in sorted(rows.items(), key=lambda one: one[1].channel)
        for reason in [_reason(standing, number)]
    )
    return Choice(
        chosen=chosen,
        not_kept=tuple(_not_kept(found, {ids[guest]: ids[host] for guest, host in settled.hosts.items()})),
        goals=found.solved.goals,
        guests=tuple(_renamed(row, swaps) for _, row in sorted(settled.guests.items())),
    )


def _reason(standing: Standing, number: int) -> str:
    return standing.holds[number].row.reason if number in standing.holds else "Comes after all."


def _renamed(row: Chosen, swaps: Mapping[str, str]) -> Chosen:
    return replace(row, box=swaps.get(row.box, row.box), preamp=swaps.get(row.preamp, row.preamp))


def _not_kept(found: Again, hosts: Mapping[str, str]) -> Iterator[NotKept]:
    standing = found.way.standing
    rows = {row.wanted.id for row in found.settled.rows.values()}
    said = {one.id: one for one in standing.plan.left_out}
    stood = {row.id for row in standing.plan.input}
    for wanted in standing.laid.all_wanted:
        if wanted.id in hosts:
            blocks = said[wanted.id].blocks if wanted.id in said else "shares a line"
            yield NotKept(wanted, blocks, "", shares=hosts[wanted.id])
        elif wanted.id not in rows:
            before = said.get(wanted.id)
            lost = wanted.id in stood or bool(before and before.shares)
            blocks = "nothing at the venue takes the place of what failed" if lost or not before else before.blocks
            yield NotKept(wanted, blocks, "" if lost or not before else before.cure)


def moves(found: Again) -> tuple[Move, ...]:
    """Say what a person does, carriers first, then input by input."""
    standing, swaps = found.way.standing, found.way.swaps
    told = [
        Move(input="", label=dead, says=f"put {spare} in its place, every plug where it was")
        for dead, spare in swaps.items()
    ]
    settled = found.settled
    changed = [(number, row) for number, row in sorted(settled.rows.items()) if _differs(standing, number, row)]
    told += [
        Move(input=one.id, label=one.label, says=f"uses the line of {standing.case.inputs[host].wanted.label}")
        for guest, host in sorted(settled.hosts.items())
        for one in [standing.case.inputs[guest].wanted]
        if standing.guests.get(guest) != host
    ]
    changed += [
        (n, row) for n, row in sorted(settled.guests.items()) if n in standing.holds and _differs(standing, n, row)
    ]
    switched: dict[bool, list[PlannedInput]] = {True: [], False: []}
    rows = _planned(standing, [row for _, row in changed])
    for (number, _), row in zip(changed, rows, strict=True):
        held = standing.holds.get(number) if (number in standing.guests) == (number in settled.hosts) else None
        if held is not None and _only_phantom(held.row, row):
            switched[row.phantom].append(row)
        elif one := move(held.row if held else None, row, standing.case.recorder_tag):
            told.append(one)
    return (*told, *(_switch(on, rows) for on, rows in switched.items() if rows))


def _only_phantom(before: PlannedInput, after: PlannedInput) -> bool:
    again = after.model_copy(update={"phantom": before.phantom})
    return before.phantom != after.phantom and move(before, again, before.preamp) is None


def _switch(on: bool, rows: list[PlannedInput]) -> Move:
    """One move for all that only see their phantom switched with others."""
    channels = listed(str(row.channel) for row in rows)
    says = f"{'on' if on else 'off'} for channel{'s' if len(rows) > 1 else ''} {channels} too, which does no harm there"
    return Move(input="", label="Phantom", says=says)


def _planned(standing: Standing, rows: list[Chosen]) -> tuple[PlannedInput, ...]:
    choice = Choice(chosen=tuple(rows), not_kept=(), goals=())
    laid = standing.laid
    return input_rows(choice, around(standing.of.show, standing.of.kit, choice, laid.reach, laid.sounding, laid.air))


def _differs(standing: Standing, number: int, row: Chosen) -> bool:
    held = standing.holds.get(number)
    if held is None:
        return True
    was = held.row
    return (
        (was.unit.tag if was.unit else "", was.stand.tag if was.stand else "", was.house_split, was.taking)
        != (row.unit, row.stand, row.house_split, row.taking)
        or (was.splitter.tag if was.splitter else "") != row.splitter
        or (tuple(c.tag for c in was.lead), tuple(c.tag for c in was.cable)) != (row.lead, row.cable)
        or (was.box, was.socket, was.trunk_line, was.channel, was.preamp, was.preamp_channel, was.phantom)
        != (row.box, row.socket, row.trunk_line, row.channel, row.preamp, row.preamp_channel, row.phantom)
    )


def lost(found: Again) -> tuple[Lost, ...]:
    """List the inputs that had a place and have none any more."""
    standing, settled = found.way.standing, found.settled
    kept = {*settled.rows, *settled.hosts}
    had = {*standing.holds, *standing.guests, *standing.come}
    return tuple(
        Lost(input=one.wanted.id, label=one.wanted.label, importance=one.wanted.importance)
        for number, one in enumerate(standing.case.inputs)
        if number in had and number not in kept
    )


def outcome_of(standing: Standing, dead: Dead) -> Outcome:
    """Plan again around what is dead, and say what becomes of the plan."""
    found = again(standing, dead)
    serves = sorted(touched_by(standing, dead))
    return Outcome(
        dead=dead.words(),
        serves=tuple(standing.case.inputs[number].wanted.label for number in serves),
        move=moves(found),
        lost=lost(found),
        changes=found.changes,
        goal=found.solved.goals,
    )
