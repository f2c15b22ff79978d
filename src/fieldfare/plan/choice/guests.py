"""Guests on the rows of others, and what is carried or plugged over between two sets, in the integer program."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from fieldfare.plan.choice.case import Case, Input
from fieldfare.plan.choice.columns import PHANTOMS, Program
from fieldfare.plan.choice.shares import Share, plays
from fieldfare.plan.choice.solver import ones
from fieldfare.plan.choice.ways import Way
from fieldfare.show.kit import Di, Mic


def plugged(program: Program) -> None:
    """Make the columns of rows, and of guests that plug a mic or DI of their own into the line of another."""
    case, model = program.case, program.model
    program.own += [model.column() for _ in case.inputs]
    for share in case.shares:
        if share.manner == "own":
            program.plugged[share.pair] = model.column()


def guests(program: Program) -> None:
    """Let an input use the row of another: with its mic or DI where that suits both, or with its own."""
    model = program.model
    _lodged(program)
    _beside(program)
    _one_at_a_time(program)
    for number in range(len(program.case.inputs)):
        if len(program.kept(number)) > 1:
            model.row(ones(program.kept(number)), most=1)
    for (_, host), column in program.plugged.items():
        model.row([(column, 1), (program.own[host], -1)], most=0)
    _both_sides(program)
    _asked_of_phantom(program)
    _changes(program)


def _lodged(program: Program) -> None:
    """Guests with the mic or DI of their host."""
    case, model = program.case, program.model
    for share in case.shares:
        if share.manner == "own":
            continue
        guest, host = case.inputs[share.guest], case.inputs[share.host]
        mine = []
        for index, way in enumerate(host.ways):
            if _suits(case, share, way):
                column = program.guest[share.guest, share.host, index] = model.column()
                model.row([(column, 1), (program.way[share.host, index], -1)], most=0)
                mine.append(column)
        if mine and share.acts:
            model.row([*ones(mine), (program.own[share.host], -1)], most=0)
            _stands_there(program, share, guest, host, mine)
        if mine and share.manner == "carried":
            _reaches_there(program, share, mine)


def _suits(case: Case, share: Share, way: Way) -> bool:
    """Whether what a host takes does for its guest too."""
    guest, host = case.inputs[share.guest], case.inputs[share.host]
    if way.heap is None:
        splits = [(one.splitter, one.house_box) for one in guest.ways if one.splitter is not None or one.house_box]
        return (share.acts or share.mouth) and share.manner == "stays" and (way.splitter, way.house_box) in splits
    if way.heap not in {one.heap for one in guest.ways}:
        return False
    thing = case.stock.heaps[way.heap].thing
    if isinstance(thing, Mic):
        unheld = thing.mount == "stand" and bool(guest.wanted.stands) and not host.wanted.stands
        return (thing.mount != "clip" or share.manner == "carried") and not (share.acts and unheld)
    if not isinstance(thing, Di) or not share.acts:
        return True
    a, b = guest.wanted, host.wanted
    return share.manner == "stays" and (a.own_lead or (a.lead_end == b.lead_end and not b.own_lead))


def _stands_there(program: Program, share: Share, guest: Input, host: Input, mine: list[int]) -> None:
    """A stand that does not suit the guest's place may not be used with it."""
    do = {heap for heap, _ in guest.stands}
    for heap, _ in host.stands:
        if heap not in do and guest.wanted.stands:
            program.model.row([*ones(mine), (program.stand[share.host, heap], 1)], most=1)


def _reaches_there(program: Program, share: Share, mine: list[int]) -> None:
    """The cable of a mic that is carried must reach from the guest's place too."""
    case, model = program.case, program.model
    guest = case.inputs[share.guest]
    for (number, index), land in program.land.items():
        if number != share.host:
            continue
        need = guest.needs_dm.get(case.landings[index].tag)
        laid = [
            column
            for (owner, lay), column in program.cable.items()
            if owner == share.host and need is not None and lay.length_dm >= need
        ]
        model.row([*ones(mine), (land, 1), *((column, -1.0) for column in laid)], most=1)


def _beside(program: Program) -> None:
    """A guest with a mic of its own ends where its host ends, and takes no socket of its own there."""
    case, model = program.case, program.model
    hosts: dict[int, list[int]] = defaultdict(list)
    for guest, host in program.plugged:
        hosts[guest].append(host)
    for guest, its_hosts in hosts.items():
        ends = [index for index in range(len(case.landings)) if (guest, index) in program.land]
        for index in ends:
            beside = program.beside[guest, index] = model.column()
            model.row([(beside, 1), (program.land[guest, index], -1)], most=0)
            for host in its_hosts:
                there = program.land.get((host, index))
                held = [] if there is None else [(there, -1.0)]
                model.row([(program.plugged[guest, host], 1), (beside, 1), *held], most=1)
        lodging = [program.plugged[guest, host] for host in its_hosts]
        model.equal(ones(program.beside[guest, index] for index in ends), ones(lodging))


def _one_at_a_time(program: Program) -> None:
    """In no set do two guests use one row."""
    case, model = program.case, program.model
    for host in range(len(case.inputs)):
        lodging = list(_lodging(program, host))
        for number in case.sets:
            now = [column for guest, column in lodging if plays(case.inputs[guest], number)]
            if len(now) > 1:
                model.row(ones(now), most=1)


def _lodging(program: Program, host: int) -> Iterator[tuple[int, int]]:
    yield from ((guest, column) for (guest, one, _), column in program.guest.items() if one == host)
    yield from ((guest, column) for (guest, one), column in program.plugged.items() if one == host)


def _both_sides(program: Program) -> None:
    """Both sides of a stereo pair are guests of both sides of another, in one manner."""
    case, model = program.case, program.model
    by_id = {one.wanted.id: number for number, one in enumerate(case.inputs)}
    for share in case.shares:
        guest = by_id.get(case.inputs[share.guest].wanted.pair, -1)
        host = by_id.get(case.inputs[share.host].wanted.pair, -1)
        if guest > share.guest and host >= 0:
            sides = [list(_of(program, share, *pair)) for pair in (share.pair, (guest, host))]
            model.equal(ones(sides[0]), ones(sides[1]))


def _of(program: Program, share: Share, guest: int, host: int) -> Iterator[int]:
    if share.manner == "own":
        yield program.plugged[guest, host]
    else:
        yield from (column for (a, b, _), column in program.guest.items() if (a, b) == (guest, host))


def _asked_of_phantom(program: Program) -> None:
    """A row asks of the phantom switch what its host or any guest asks; nobody plugs a line output over a mic."""
    case, model = program.case, program.model
    if not program.plugged:
        return
    for number in range(len(case.inputs)):
        lines = program.ways_where(number, line=True)
        for phantom in PHANTOMS:
            program.asks[number, phantom] = model.column()
        model.equal(
            [*ones(program.asks[number, phantom] for phantom in PHANTOMS), *ones(lines)], [(program.own[number], 1)]
        )
        lodged = [(column, -1.0) for (guest, _), column in program.plugged.items() if guest == number]
        for phantom in PHANTOMS[:1] + PHANTOMS[2:]:
            ways = program.ways_where(number, phantom=phantom, line=False)
            model.row([*ones(ways), *lodged, (program.asks[number, phantom], -1)], most=0)
    for (guest, host), column in program.plugged.items():
        for phantom in PHANTOMS[:1] + PHANTOMS[2:]:
            ways = program.ways_where(guest, phantom=phantom, line=False)
            model.row([(column, 1), *ones(ways), (program.asks[host, phantom], -1)], most=1)
        for number in (guest, host):
            lines = program.ways_where(number, line=True)
            if lines:
                model.row([(column, 1), *ones(lines)], most=1)


def _changes(program: Program) -> None:
    """Count what is carried or plugged over: what is on a row in one set, and was something else in the set before.

    Between the sets in which a row is used, what is on it stays until it must go; the solver says when that is.
    """
    case = program.case
    if len(case.sets) < 2:
        return
    for host in range(len(case.inputs)):
        states = _states(program, host)
        if len(states) > 1:
            _count_changes(program, states)


def _states(program: Program, host: int) -> list[list[tuple[int, int]]]:
    """What can be on a row: the host's own mic in its place, with who uses it there; then each other mic or place."""
    still = [(host, program.own[host])]
    others: dict[tuple[int, str], list[tuple[int, int]]] = defaultdict(list)
    manners = {share.pair: share.manner for share in program.case.shares if share.manner != "own"}
    for (guest, one, _), column in program.guest.items():
        if one == host:
            kept = still if manners[guest, host] == "stays" else others[guest, "carried"]
            kept.append((guest, column))
    for (guest, one), column in program.plugged.items():
        if one == host:
            others[guest, "own"].append((guest, column))
    return [still, *others.values()]


def _count_changes(program: Program, states: list[list[tuple[int, int]]]) -> None:
    case, model = program.case, program.model
    before: list[int] = []
    for number in case.sets:
        now = [model.column() for _ in states]
        model.row(ones(now), most=1)
        for state, users in zip(now, states, strict=True):
            users_now: dict[int, list[int]] = defaultdict(list)
            for guest, column in users:
                if plays(case.inputs[guest], number):
                    users_now[guest].append(column)
            for columns in users_now.values():
                model.row([*ones(columns), (state, -1)], most=0)
        for state, earlier in zip(now, before, strict=False):
            change = model.column()
            model.row([(state, 1), (earlier, -1), (change, -1)], most=0)
            program.changed.append(change)
        before = now
