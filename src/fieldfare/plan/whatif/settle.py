"""From counts to things: who stays keeps what it has, by tag and number; who must move takes the first that is left."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace

from fieldfare.plan.choice.stock import natural
from fieldfare.plan.choice.tags import Picked, asked_of_phantom, guest_rows, picked, with_phantom
from fieldfare.plan.choice.ways import Lay
from fieldfare.plan.wanted import Chosen
from fieldfare.plan.whatif.dead import Dead
from fieldfare.plan.whatif.fewest import Solved
from fieldfare.plan.whatif.standing import Holds, Standing, paired, two_sided
from fieldfare.plan.whatif.stays import Claim
from fieldfare.show.kit import Phantom


@dataclass(slots=True)
class _Hand:
    """Gives out what is left."""

    standing: Standing
    dead: Dead
    found: Picked
    taken: set[str] = field(default_factory=set)

    def held(self, number: int) -> Holds | None:
        """What an input held."""
        return self.standing.holds.get(number)

    def keep(self, heaps: Sequence[int], tags: Iterable[str]) -> list[str]:
        """Keep those units that are wanted again and alive."""
        stock, left, kept = self.standing.case.stock, list(heaps), list[str]()
        for tag in tags:
            heap = stock.heap_of(tag)
            if heap in left and tag not in self.dead.tags and tag not in self.taken:
                left.remove(heap)
                kept.append(tag)
        self.taken |= set(kept)
        return kept

    def fill(self, heaps: Sequence[int], kept: Sequence[str]) -> tuple[str, ...]:
        """Name a unit of every heap, in order: those that were kept, then the first of those that are left."""
        stock, mine, named = self.standing.case.stock, list(kept), list[str]()
        for heap in heaps:
            tag = next((one for one in mine if one in stock.heaps[heap].tags), None)
            if tag is None:
                tag = self.free(heap)
            else:
                mine.remove(tag)
            named.append(tag)
        return tuple(named)

    def free(self, heap: int) -> str:
        """Take the first unit of a heap that is alive and not in use; matched pairs are broken last."""
        one = self.standing.case.stock.heaps[heap]
        matched = paired(one.thing)
        tags = sorted(one.tags, key=lambda tag: (tag in matched, natural(tag)))
        tag = next(tag for tag in tags if tag not in self.taken and tag not in self.dead.tags)
        self.taken.add(tag)
        return tag


@dataclass(frozen=True, slots=True)
class Settled:
    """Every kept input with its pieces, by number."""

    rows: Mapping[int, Chosen]
    guests: Mapping[int, Chosen]  # while a guest is on a row with a mic carried over or of its own
    hosts: Mapping[int, int]  # guest, host


def settle(standing: Standing, dead: Dead, solved: Solved) -> Settled:
    """Give every kept input its pieces by tag and number.

    Parameters
    ----------
    standing, dead
        What stands, and what of it has died.
    solved
        The values of the program's columns.

    Returns
    -------
    The rows, and who is a guest on which of them.
    """
    program, case = standing.program, standing.case
    found = picked(program, solved.values)
    hand = _Hand(standing, dead, found)
    units = _units(hand)
    stands = _each(hand, {("stand", n): (heap,) for n, heap in found.stand.items() if n not in found.on_bar})
    stands |= {("stand", right): stands["stand", left] for right, left in found.on_bar.items()}
    splits = {("split", n): (way.splitter,) for n, way in found.way.items() if way.splitter is not None}
    splitters = _each(hand, splits)
    wires = {("lead", n): heaps for n, heaps in (_heaps_of(found.lead) | _heaps_of(found.jumper)).items()}
    wires |= {("cable", n): heaps for n, heaps in _heaps_of(found.cable).items()}
    laid = _each(hand, wires)
    channels = _channels(standing, dead, found, solved)
    lines = _lines(standing, dead, found, solved, {number: spot[0] for number, spot in channels.items()})
    sockets = _sockets(standing, dead, found, {number: spot[0] for number, spot in channels.items()})
    pieces: dict[int, Chosen] = {}
    for number, way in sorted(found.way.items()):
        unit, di_channel = units.get(number, ("", None))
        pieces[number] = Chosen(
            wanted=case.inputs[number].wanted,
            taking=way.accept.taking,
            accept=way.accept,
            unit=unit,
            item=case.stock.heaps[way.heap].thing.item if way.heap is not None else "",
            di_channel=di_channel,
            stand="".join(stands.get(("stand", number), ())),
            splitter="".join(splitters.get(("split", number), ())),
            house_split=way.house_box,
            lead=laid.get(("lead", number), ()),
            cable=laid["cable", number],
        )
    rows = {
        number: _numbered(standing, found, number, pieces[number], channels[number], lines, sockets)
        for number in found.rows
    }
    rows = with_phantom(program, found, rows)
    return Settled(rows, guest_rows(program, found, rows, pieces), dict(found.host))


def _numbered(
    standing: Standing,
    found: Picked,
    number: int,
    pieces: Chosen,
    spot: tuple[int, str, int],
    lines: Mapping[int, int],
    sockets: Mapping[int, int],
) -> Chosen:
    landing, line = standing.case.landings[found.landing[number]], lines.get(number, 0)
    return replace(
        pieces,
        box=landing.tag,
        socket=line if landing.own and landing.trunk else sockets[number],
        trunk_line=line,
        channel=spot[0],
        preamp=spot[1],
        preamp_channel=spot[2],
        shared_by=tuple(standing.case.inputs[guest].wanted.id for guest in found.guests_of(number)),
    )


def _heaps_of(lays: Mapping[int, Lay]) -> dict[int, tuple[int, ...]]:
    return {number: lay.heaps for number, lay in lays.items()}


def _tags(one: Holds, what: str) -> tuple[str, ...]:
    row = one.row
    if what == "stand":
        return (row.stand.tag,) if row.stand else ()
    if what == "split":
        return (row.splitter.tag,) if row.splitter else ()
    return tuple(lead.tag for lead in (row.lead if what == "lead" else row.cable))


def _each(hand: _Hand, wants: Mapping[tuple[str, int], tuple[int, ...]]) -> dict[tuple[str, int], tuple[str, ...]]:
    """Name units for all inputs: first everybody keeps what they have, then the others take."""
    kept = {
        (what, number): hand.keep(heaps, _tags(one, what)) if (one := hand.held(number)) else []
        for (what, number), heaps in wants.items()
    }
    return {key: hand.fill(heaps, kept[key]) for key, heaps in sorted(wants.items())}


def _units(hand: _Hand) -> dict[int, tuple[str, int | None]]:
    """Name mics and DIs; both channels of a shared DI go to those that share it."""
    found, heaps = hand.found, hand.standing.case.stock.heaps
    named: dict[int, str] = {}
    partner = {one: other for _, *pair in found.shared_di for one, other in (pair, reversed(pair))}
    for number, way in sorted(found.way.items()):
        one = hand.held(number)
        if way.heap is not None and one is not None and one.row.unit:
            if partner.get(number) in named and named[partner[number]] == one.row.unit.tag:
                named[number] = one.row.unit.tag
            elif kept := hand.keep((way.heap,), (one.row.unit.tag,)):
                named[number] = kept[0]
    for left, right, first, second in found.matched:
        if left not in named or right not in named:
            named[left], named[right] = _free_pair(hand, first, second, named.get(left), named.get(right))
    for number, way in sorted(found.way.items()):
        if way.heap is not None and number not in named:
            shared = named.get(partner[number]) if number in partner else None
            named[number] = shared or hand.free(way.heap)
    two = {number for number, tag in named.items() if two_sided(heaps[hand.found.way[number].heap or 0].thing)}
    return {number: (tag, _side(hand, number, partner) if number in two else None) for number, tag in named.items()}


def _free_pair(hand: _Hand, first: int, second: int, left: str | None, right: str | None) -> tuple[str, str]:
    heaps = hand.standing.case.stock.heaps
    if first != second:
        return left or hand.free(first), right or hand.free(second)
    pairs = (pair for pair in heaps[first].pairs if not set(pair) & (hand.taken | hand.dead.tags))
    pair = next(pairs)
    hand.taken |= set(pair)
    return pair


def _side(hand: _Hand, number: int, partner: Mapping[int, int]) -> int:
    """Which of the two channels of a DI: the one that it had, or the one that its partner leaves."""
    mine, other = hand.held(number), hand.held(partner.get(number, -1))
    if mine is not None and mine.row.di_channel:
        return mine.row.di_channel
    if other is not None and other.row.di_channel:
        return 3 - other.row.di_channel
    return 2 if partner.get(number, number) < number else 1


def _channels(standing: Standing, dead: Dead, found: Picked, solved: Solved) -> dict[int, tuple[int, str, int]]:
    """Give each input its channel of the recorder, and the preamp and its channel; 0 for a line input."""
    told: dict[int, tuple[int, str, int]] = {}
    for number in found.rows:
        if any(solved.values[column] for column in standing.stays.channel.get(number, ())):
            row = standing.holds[number].row
            told[number] = (row.channel, row.preamp, row.preamp_channel)
    _into_preamps(standing, dead, found, solved, told)
    for number in found.rows:
        if number not in told:
            told[number] = (_line_channel(standing, dead, told, number), standing.case.recorder_tag, 0)
    return told


def _rooms(standing: Standing, solved: Solved) -> dict[Claim, int]:
    """How many of those who must move go to each bank and outboard preamp, by what they are counted as."""
    program, rooms = standing.program, dict[Claim, int]()
    for where, counts in (("bank", program.bank), ("outboard", program.outside_of)):
        for number, columns in enumerate(counts):
            for phantom, column in columns.items():
                claims = standing.stays.claims.get((where, number, phantom), ())
                rooms[where, number, phantom] = int(solved.values[column] - sum(solved.values[one] for one in claims))
    return rooms


def _into_preamps(
    standing: Standing, dead: Dead, found: Picked, solved: Solved, told: dict[int, tuple[int, str, int]]
) -> None:
    """Place movers where they were counted: first those that ask for it, then those that ignore phantom."""
    rooms = _rooms(standing, solved)
    for ignored in (False, True):
        for place, phantom in [(claim[:2], claim[2]) for claim in rooms]:
            asked: Phantom = "ignored" if ignored else phantom
            waiting = [n for n in found.rows if n not in told and not found.way[n].line]
            movers = [n for n in waiting if asked_of_phantom(found, n) == asked]
            movers.sort(key=lambda n: not _was_at(standing, n, place))
            for number in movers[: rooms[*place, phantom]]:
                rooms[*place, phantom] -= 1
                told[number] = _spot(standing, dead, told, number, place)


def _was_at(standing: Standing, number: int, place: tuple[str, int]) -> bool:
    held = standing.holds.get(number)
    return held is not None and place[0] == "outboard" and held.row.preamp in standing.case.outboards[place[1]].tags


def _spot(
    standing: Standing, dead: Dead, told: Mapping[int, tuple[int, str, int]], number: int, place: tuple[str, int]
) -> tuple[int, str, int]:
    """The first channel of a bank that is left, or of an outboard preamp: there the one that it had, if it can be."""
    case = standing.case
    if place[0] == "bank":
        used = {channel for channel, *_ in told.values()} | dead.channels
        channel = next(one for one in case.banks[place[1]].channels if one not in used)
        return channel, case.recorder_tag, channel
    outboard = case.outboards[place[1]]
    tag, held = outboard.tags[0], standing.holds.get(number)
    taken = {spot for _, preamp, spot in told.values() if preamp == tag} | {s for one, s in dead.spots if one == tag}
    spots = [spot for one, spot in outboard.spots if one == tag and spot not in taken]
    own = held.row.preamp_channel if held and held.row.preamp == tag else 0
    return _line_channel(standing, dead, told, number), tag, own if own in spots else spots[0]


def _line_channel(standing: Standing, dead: Dead, told: Mapping[int, tuple[int, str, int]], number: int) -> int:
    """The line input that an input had, or the first that is left."""
    used = {channel for channel, *_ in told.values()} | dead.channels
    free = [channel for channel in standing.case.line_channels if channel not in used]
    held = standing.holds.get(number)
    own = held.row.channel if held else 0
    waiting = {one.row.channel for n, one in standing.holds.items() if n not in told and n != number}
    return own if own in free else next((one for one in free if one not in waiting), free[0])


def _lines(
    standing: Standing, dead: Dead, found: Picked, solved: Solved, channels: Mapping[int, int]
) -> dict[int, int]:
    """Give each input through the trunk its line: the one it had, or that of its channel, or the first that is left."""
    gone = dead.lines | {line for tag, lines in standing.ranges.items() if tag in dead.tags for line in lines}
    alive = sorted(standing.lines - gone)
    landings = {number: standing.case.landings[land] for number, land in found.landing.items()}
    through = [number for number in found.rows if landings[number].trunk]
    told: dict[int, int] = {}
    for number in through:
        held, own = standing.holds.get(number), landings[number].own
        line = held.row.trunk_line if held else 0
        stays = line in standing.ranges.get(landings[number].tag, ()) if own else _is_one(standing, solved, number)
        if stays and line in alive:
            told[number] = line
    for number in sorted(through, key=lambda n: (not landings[n].own, n)):
        if number not in told:
            told[number] = _first_line(standing.ranges.get(landings[number].tag), alive, told, channels[number])
    return told


def _is_one(standing: Standing, solved: Solved, number: int) -> bool:
    column = standing.stays.line.get(number)
    return column is not None and bool(solved.values[column])


def _first_line(lines: range | None, alive: Iterable[int], told: Mapping[int, int], channel: int) -> int:
    used = set(told.values())
    free = [line for line in alive if line not in used and (lines is None or line in lines)]
    return channel if channel in free else free[0]


def _sockets(standing: Standing, dead: Dead, found: Picked, channels: Mapping[int, int]) -> dict[int, int]:
    """Give each input its socket: the one it had, or the first that is left; on the recorder that of its channel."""
    told: dict[int, int] = {}
    for number in found.rows:
        held, land = standing.holds.get(number), found.landing[number]
        if standing.case.landings[land].own:
            told[number] = channels[number]
        elif held and held.landing == land and (held.row.box, held.row.socket) not in dead.sockets:
            told[number] = held.row.socket
    for number in found.rows:
        if number not in told:
            told[number] = next(_free_sockets(standing, dead, found, told, found.landing[number]))
    return told


def _free_sockets(
    standing: Standing, dead: Dead, found: Picked, told: Mapping[int, int], landing: int
) -> Iterator[int]:
    one = standing.case.landings[landing]
    every = [socket for socket in range(1, 1 + one.sockets + len(one.dead)) if socket not in one.dead]
    used: Set[int] = {socket for number, socket in told.items() if found.landing[number] == landing}
    return (socket for socket in every if socket not in used and (one.tag, socket) not in dead.sockets)
