"""The fewest changes: the choice's own program with one goal more, right after what is kept.

An assignment is what one input holds: its mic or DI or split, stand, splitter, lead, cable, box and socket, line of the
trunk, channel. It is changed where the input afterwards uses something there that it did not use before; what is only
put aside is no change, and what goes with an input that is lost is none either. The goals, in their order:

1. importance kept: *must*, then *want*, then *nice*;
2. the fewest changed assignments;
3. the fewest of them against a pin, then the fewest mics and DIs of another item;
4. what the choice looks at anyway: fitness, owners, joins, metres, order of the kit.

Proof, two ways. Whoever loses something must change at least once. Where everybody is kept, and nobody changes but
those who lost something, and they once each, no plan has fewer changes; to find it all others can be left where
they stand. Where there is none, the whole program is solved.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from fieldfare.plan.choice.columns import uses
from fieldfare.plan.choice.goals import importance
from fieldfare.plan.choice.solver import INFINITE, Aim, Model, Row, Solution, ones, solve_in_order, value_of
from fieldfare.plan.whatif.dead import Dead
from fieldfare.plan.whatif.standing import Holds, Standing
from fieldfare.plan.whatif.stays import plugged_at
from fieldfare.show.plan import Goal
from fieldfare.units.faults import NotDone

FIELDS = 8  # assignments that one input has at most
CHANGES = "changed assignments"
MANY = 8  # inputs that lose something at once: what is saved is then proven, but ties are left as they fall

Terms = dict[int, float]


@dataclass(frozen=True, slots=True)
class Solved:
    """The values of the program's columns, with the proof."""

    values: Solution
    goals: tuple[Goal, ...]

    @property
    def changes(self) -> int:
        """How many assignments change."""
        return int(next(goal.value for goal in self.goals if goal.name == CHANGES))

    @property
    def rank(self) -> tuple[float, ...]:
        """What is compared: must, want and nice inputs kept, and changes; smaller is better."""
        kept = [-goal.value for goal in self.goals if goal.name.endswith("inputs kept")]
        return (*kept, self.changes)


def fewest_changes(standing: Standing, dead: Dead) -> Solved | None:
    """Plan again with the fewest changes from the standing plan.

    Parameters
    ----------
    standing
        The plan as it stands.
    dead
        What cannot be used any more.

    Returns
    -------
    The values of the program's columns; none where nothing fits, which can only be where a pin forbids it.
    """
    aims, rows = _aims(standing, dead), tuple(_rows(standing, dead))
    touched = touched_by(standing, dead)
    near = None if standing.come else _near(standing, aims, rows, touched)
    if near is not None and near.changes <= len(touched) and _all_kept(standing, near):
        return near
    model = replace(standing.program.model, rows=[*standing.program.model.rows, *rows])
    kept = aims if len(touched) <= MANY else aims[: 1 + next(n for n, aim in enumerate(aims) if aim.name == CHANGES)]
    try:
        solved = solve_in_order(model, kept)
    except NotDone:  # within its minute; what leaves everybody else where they stand is a plan all the same
        near = near or _near(standing, aims, rows, touched | standing.come)
        if near is None:
            raise
        return Solved(near.values, tuple(goal.model_copy(update={"proven": False}) for goal in near.goals))
    return None if solved is None else Solved(solved[0], solved[1])


def touched_by(standing: Standing, dead: Dead) -> frozenset[int]:
    """Inputs that hold something that is dead: each of them must change, or is lost."""
    return frozenset(number for number, one in standing.holds.items() if any(_hits(standing, one, dead).values()))


def _hits(standing: Standing, one: Holds, dead: Dead) -> dict[str, bool]:
    """Which assignments of an input have died."""
    row, guest = one.row, standing.number_of(one.row.id) in standing.guests
    boxed = row.box in dead.tags and row.box not in standing.ranges
    return {
        "item": bool(row.unit) and row.unit is not None and row.unit.tag in dead.tags,
        "stand": row.stand is not None and row.stand.tag in dead.tags,
        "splitter": row.splitter is not None and row.splitter.tag in dead.tags,
        "lead": any(lead.tag in dead.tags for lead in row.lead),
        "cable": any(cable.tag in dead.tags for cable in row.cable),
        "landing": not guest and (boxed or (row.box, row.socket) in dead.sockets),
        "line": not guest and row.trunk_line in _gone_lines(standing, dead) | dead.lines,
        "channel": not guest and _channel_gone(standing, one, dead),
    }


def _gone_lines(standing: Standing, dead: Dead) -> set[int]:
    return {line for tag, lines in standing.ranges.items() if tag in dead.tags for line in lines}


def _channel_gone(standing: Standing, one: Holds, dead: Dead) -> bool:
    row = one.row
    outside = (row.preamp, row.preamp_channel) in dead.spots
    return row.channel in dead.channels or outside or bool({row.preamp, standing.case.recorder_tag} & dead.tags)


def _aims(standing: Standing, dead: Dead) -> tuple[Aim, ...]:
    program = standing.program
    changes = changed(standing, dead)
    pinned = {pin.input for pin in standing.of.show.pin if pin.use or pin.stand or pin.box or pin.line or pin.channel}
    by_hand = {n for n in standing.holds if program.case.inputs[n].wanted.id in pinned}
    owners = _owners_of(standing) if by_hand else {}
    held = {column: cost for column, cost in changes.items() if owners.get(column) in by_hand}
    span, inputs = FIELDS * len(program.case.inputs), len(program.case.inputs)
    first = len(importance(program))
    goals = standing.goals
    return (
        *goals[:first],
        Aim(CHANGES, tuple(changes.items()), span),
        *([Aim("changes against a pin", tuple(held.items()), span)] if held else []),
        Aim("mics and DIs of another item", tuple(_unlike(standing)), inputs),
        *goals[first:],
    )


def changed(standing: Standing, dead: Dead) -> Terms:
    """Sum up changed assignments: one for each thing that an input would use and does not use now."""
    program, terms = standing.program, defaultdict[int, float](float)
    hits = {number: _hits(standing, one, dead) for number, one in standing.holds.items()}
    for column, number, field, same in _assignments(standing):
        if number not in standing.come and not (same and not hits.get(number, {}).get(field, False)):
            terms[column] += 1
    for (guest, host, _), column in program.guest.items():
        if guest not in standing.come and (standing.guests.get(guest) != host or guest in standing.holds):
            terms[column] += 1
    for (guest, host), column in program.plugged.items():
        if guest not in standing.come and (standing.guests.get(guest) != host or guest not in standing.holds):
            terms[column] += 1
    for number in range(len(program.case.inputs)):
        if number not in standing.come:
            _numbers_changed(standing, number, hits.get(number, {}), terms)
    return {column: factor for column, factor in terms.items() if factor}


def _assignments(standing: Standing) -> Iterator[tuple[int, int, str, bool]]:
    """List every column that gives an input something: column, input, which assignment, whether it stands so."""
    program, holds = standing.program, standing.holds
    for (number, index), column in program.way.items():
        ways, one = program.case.inputs[number].ways, holds.get(number)
        now = ways[one.way] if one is not None and one.way is not None else None
        way = ways[index]
        mine = (way.heap, way.house_box, way.line)
        yield column, number, "item", now is not None and mine == (now.heap, now.house_box, now.line)
        if way.splitter is not None:
            yield column, number, "splitter", now is not None and way.splitter == now.splitter
    for (number, heap), column in program.stand.items():
        yield column, number, "stand", number in holds and holds[number].stand == heap
    for lays, field in ((program.cable, "cable"), (program.line_cable, "cable"), (program.lead, "lead")):
        for (number, lay), column in lays.items():
            yield column, number, field, number in holds and getattr(holds[number], field) == tuple(sorted(lay.heaps))
    for (number, lay), column in program.jumper.items():
        yield column, number, "lead", number in holds and holds[number].jumper == tuple(sorted(lay.heaps))
    for (number, landing), column in program.land.items():
        yield column, number, "landing", number in holds and holds[number].landing == landing


def _numbers_changed(standing: Standing, number: int, hits: Mapping[str, bool], terms: Terms) -> None:
    """Count a changed channel and a changed line of the trunk."""
    program, stays, case = standing.program, standing.stays, standing.case
    terms[program.own[number]] += 1
    if number in stays.channel and not hits["channel"]:
        for column in stays.channel[number]:
            terms[column] -= 1
    line = standing.holds[number].row.trunk_line if number in standing.holds and not hits["line"] else 0
    for (one, land), column in program.land.items():
        landing = case.landings[land]
        if one == number and landing.trunk:
            same = landing.own and line in standing.ranges.get(landing.tag, ())
            terms[column] += 0 if same else 1
            if (one, land) in program.beside:
                terms[program.beside[one, land]] -= 1
    if line and number in stays.line:
        terms[stays.line[number]] -= 1


def _unlike(standing: Standing) -> Iterator[tuple[int, float]]:
    heaps = standing.case.stock.heaps
    for (number, index), column in standing.program.way.items():
        one = standing.holds.get(number)
        if one is not None and one.way is not None:
            ways = standing.case.inputs[number].ways
            now, then = ways[one.way].item_heap, ways[index].item_heap
            alike = now == then or (now is not None and then is not None and heaps[now].entry == heaps[then].entry)
            if not alike:
                yield column, 1.0


def _rows(standing: Standing, dead: Dead) -> Iterator[Row]:
    """Take away what is dead: units of heaps, sockets, lines, channels."""
    yield from _fewer_units(standing, dead)
    yield from _fewer_sockets(standing, dead)
    yield from _fewer_channels(standing, dead)
    hits = {number: _hits(standing, one, dead) for number, one in standing.holds.items()}
    for number, one in hits.items():
        if one["channel"] and number in standing.stays.channel:
            yield Row(tuple(ones(standing.stays.channel[number])), -INFINITE, 0)
        if one["line"] and number in standing.stays.line:
            yield Row(((standing.stays.line[number], 1.0),), -INFINITE, 0)


def _fewer_units(standing: Standing, dead: Dead) -> Iterator[Row]:
    program, stock = standing.program, standing.case.stock
    short = {
        heap: sum(tag not in dead.tags for tag in one.tags)
        for heap, one in enumerate(stock.heaps)
        if dead.tags & set(one.tags)
    }
    if not short:
        return
    terms: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for column, heap, count in uses(program):
        if heap in short:
            terms[heap].append((column, float(count)))
    for heap, left in short.items():
        yield Row(tuple(terms[heap]), -INFINITE, left)
        whole = sum(not dead.tags & set(pair) for pair in stock.heaps[heap].pairs)
        pairs = [column for (*_, a, b), column in program.matched.items() if (a, b) == (heap, heap)]
        yield Row(tuple(ones(pairs)), -INFINITE, whole)


def _fewer_sockets(standing: Standing, dead: Dead) -> Iterator[Row]:
    program, case = standing.program, standing.case
    gone = (_gone_lines(standing, dead) | set(dead.lines)) & standing.lines
    through: list[tuple[int, float]] = []
    for number, landing in enumerate(case.landings):
        here = plugged_at(program, number)
        lines = standing.ranges.get(landing.tag)
        if lines is not None:
            left = len(set(lines) - gone - case.dead_lines)
            claimed = [
                column
                for one, column in standing.stays.line.items()
                if standing.holds[one].row.trunk_line in set(lines) - gone
            ]
            yield Row((*here, *ones(claimed)), -INFINITE, left)
        else:
            dead_here = sum(tag == landing.tag for tag, _ in dead.sockets)
            dead_here += len(dead.channels) if landing.tag == case.recorder_tag else 0
            left = 0 if landing.tag in dead.tags else landing.sockets - dead_here
            if left < landing.sockets:
                yield Row(tuple(here), -INFINITE, left)
        through += here if landing.trunk else []
    if case.trunk_lines is not None:
        yield Row(tuple(through), -INFINITE, len(standing.lines - gone))


def _fewer_channels(standing: Standing, dead: Dead) -> Iterator[Row]:
    program, case = standing.program, standing.case
    for bank, columns in zip(case.banks, program.bank, strict=True):
        left = len(set(bank.channels) - dead.channels)
        if left < len(bank.channels):
            yield Row(tuple(ones(columns.values())), -INFINITE, left)
    for outboard, columns in zip(case.outboards, program.outside_of, strict=True):
        gone = sum(tag in outboard.tags for tag, _ in dead.spots)
        left = 0 if dead.tags & set(outboard.tags) else outboard.channels - gone
        if left < outboard.channels:
            yield Row(tuple(ones(columns.values())), -INFINITE, left)
    if case.recorder_tag in dead.tags:
        yield Row(tuple(ones(program.own)), -INFINITE, 0)
    numbers = range(len(case.inputs))
    at_line = [column for number in numbers for column in program.ways_where(number, line=True)]
    left = len(set(case.line_channels) - dead.channels)
    yield Row(tuple(ones([*at_line, *program.outside])), -INFINITE, left)


def _owners_of(standing: Standing) -> dict[int, int]:
    """Which input each column decides about; columns that only count are not there."""
    program = standing.program
    found = {column: number for number, column in enumerate(program.own)}
    for columns in (program.way, program.stand, program.land, program.cable, program.line_cable):
        found |= {column: key[0] for key, column in columns.items()}
    for lays in (program.lead, program.jumper):
        found |= {column: key[0] for key, column in lays.items()}
    return found


def _near(standing: Standing, aims: tuple[Aim, ...], rows: tuple[Row, ...], touched: frozenset[int]) -> Solved | None:
    """Solve with everybody left where they stand but those who lost something; none where they do not find anything."""
    fixed = _fixed(standing, touched)
    if fixed is None:
        return None
    model = standing.program.model
    smaller = _without(replace(model, rows=[*model.rows, *rows]), fixed)
    if smaller is None:
        return None
    small, places = smaller
    open_ = [moved for aim in aims if (moved := _moved(aim, small, places)).terms]
    solved = solve_in_order(small, open_ or [Aim("", (), 0)])
    if solved is None:
        return None
    values = np.zeros(len(model.least), dtype=np.int64)
    for column, value in fixed.items():
        values[column] = value
    for column, place in places.items():
        values[column] = solved[0][place]
    unproven = {goal.name for goal in solved[1] if not goal.proven}
    return Solved(values, tuple(_told(aim, values, aim.name not in unproven) for aim in aims))


def _told(aim: Aim, values: Solution, proven: bool) -> Goal:
    value = round(aim.sign * value_of(aim.terms, values) * aim.unit + 0.0, 3)
    return Goal(name=aim.name, value=value, bound=value, proven=proven)


def _moved(aim: Aim, small: Model, places: Mapping[int, int]) -> Aim:
    """The same goal for the smaller program; its values differ by less there, so that more goals fit into one."""
    terms = tuple((places[column], factor) for column, factor in aim.terms if column in places)
    span = sum(abs(factor) * (small.most[column] - small.least[column]) for column, factor in terms)
    return replace(aim, terms=terms, span=min(aim.span, int(span)))


def _fixed(standing: Standing, touched: frozenset[int]) -> dict[int, int] | None:
    """Give every column that decides about an input that lost nothing the value it has; none where there is no word."""
    program, fixed = standing.program, dict[int, int]()
    same = {column: number not in standing.guests for number, column in enumerate(program.own)}
    for column, _, _, stands in _assignments(standing):
        same[column] = same.get(column, True) and stands
    for column, number in ((c, n) for (n, _), c in program.cable.items()):
        same[column] &= not _by_line(standing, number)
    for column, number in ((c, n) for (n, _), c in program.line_cable.items()):
        same[column] &= _by_line(standing, number)
    for column, number in _owners_of(standing).items():
        if number not in touched:
            fixed[column] = int(same[column] and number in standing.holds)
    fixed |= _lodging_fixed(standing, touched)
    whole = all(one.way is not None and one.landing is not None for one in standing.holds.values())
    return fixed if whole else None


def _lodging_fixed(standing: Standing, touched: frozenset[int]) -> dict[int, int]:
    """The same for who is a guest of whom."""
    program, fixed = standing.program, dict[int, int]()
    for (guest, host, index), column in program.guest.items():
        if standing.guests.get(guest) != host:
            fixed[column] = 0
        elif host not in touched:
            fixed[column] = int(standing.holds[host].way == index and guest not in standing.holds)
    for (guest, host), column in program.plugged.items():
        if guest not in touched:
            fixed[column] = int(standing.guests.get(guest) == host and guest in standing.holds)
    return fixed


def _by_line(standing: Standing, number: int) -> bool:
    one = standing.holds.get(number)
    return one is not None and one.way is not None and standing.case.inputs[number].ways[one.way].line


def _without(model: Model, fixed: Mapping[int, int]) -> tuple[Model, dict[int, int]] | None:
    """Put what is known into the rows; none where one of them cannot hold any more."""
    places = {column: place for place, column in enumerate(one for one in range(len(model.least)) if one not in fixed)}
    small = Model([model.least[column] for column in places], [model.most[column] for column in places])
    for row in model.rows:
        known = sum(factor * fixed[column] for column, factor in row.terms if column in fixed)
        terms = tuple((places[column], factor) for column, factor in row.terms if column not in fixed)
        if terms:
            small.rows.append(Row(terms, row.least - known, row.most - known))
        elif not row.least - 1e-9 <= known <= row.most + 1e-9:
            return None
    return small, places


def _all_kept(standing: Standing, solved: Solved) -> bool:
    program = standing.program
    return all(any(solved.values[column] for column in program.kept(n)) for n in range(len(program.case.inputs)))
