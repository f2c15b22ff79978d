"""Which channel each chosen input gets: line, channel and track in the order of the list, stereo pairs side by side.

The channels are filled from the first to the last, the cheapest way first (A*), so that the way that reaches the end is
proven best. Inputs that ask the same of a channel keep their order among each other, and so do pairs: of two such that
stand crossed, changing places brings neither further from its place in the list. What is left to decide at a channel is
therefore only which row of alike inputs goes on there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from heapq import heappop, heappush
from itertools import combinations, count
from typing import Literal, NamedTuple, TypeAlias

from fieldfare.plan.choice.case import Case
from fieldfare.plan.choice.outboard import Counts, shares_of
from fieldfare.show.kit import Phantom
from fieldfare.show.plan import Goal

Kind: TypeAlias = Phantom | Literal["line"]
MICS: tuple[Kind, ...] = ("needed", "ignored", "harmful")
GOALS = ("stereo pairs side by side", "places off the order of the list")


@dataclass(frozen=True, slots=True)
class Seat:
    """A chosen input that wants a channel."""

    number: int  # of the input in the case
    phantom: Phantom
    line: bool
    pinned: int | None
    pair: int | None  # number of the input that is the other side

    @property
    def kind(self) -> Kind:
        """What it asks of a channel."""
        return "line" if self.line else self.phantom


@dataclass(frozen=True, slots=True)
class Numbered:
    """The channel of one input, and where it is amplified."""

    channel: int
    outboard: int | None  # number of the entry of outboard preamps


class _Place(NamedTuple):
    """How far the channels are filled."""

    channel: int  # the next one
    taken: tuple[int, ...]  # how many of each row are seated
    live: bool | None  # the phantom switch of the bank that the channel lies in; none: not decided
    outside: Counts  # inputs through preamps outside the recorder


@dataclass(frozen=True, slots=True)
class _Board:
    """The channels, and the rows of alike inputs or pairs that wait for them."""

    case: Case
    ranks: dict[int, int]  # place in the list, by number of the input
    kinds: dict[int, Kind]
    rows: tuple[tuple[tuple[int, ...], ...], ...]  # each a row of single inputs or of pairs
    pinned: dict[int, int]  # channel to number
    most_outside: int
    last: int
    bank: dict[int, int] = field(default_factory=dict)  # channel to its phantom switch, of dead channels too
    dead: frozenset[int] = frozenset()  # channels that nobody may sit on


def number_inputs(
    case: Case, seats: Sequence[Seat], outboard_inputs: int
) -> tuple[dict[int, Numbered], tuple[Goal, ...]]:
    """Give each chosen input its channel.

    Parameters
    ----------
    case
        The channels there are.
    seats
        The chosen inputs in the order of the list.
    outboard_inputs
        How many of them go through preamps outside the recorder, as already decided.

    Returns
    -------
    Channel and outboard preamp by input, and two goals with their proof: stereo pairs that are side by side, and places
    by which inputs stand off the order of the list.
    """
    by_number = {seat.number: seat for seat in seats}
    pairs = [(s.number, s.pair) for s in seats if s.pair in by_number and s.pair is not None and s.number < s.pair]
    ranks = {seat.number: rank for rank, seat in enumerate(seats, 1)}
    for broken in range(len(pairs) + 1):
        found = []
        for torn in combinations(pairs, broken):
            board = _board(case, seats, [pair for pair in pairs if pair not in torn], outboard_inputs)
            channels = _fill(board) if board else None
            if board and channels is not None:
                found.append((sum(abs(c - ranks[n]) for n, c in channels.items()), sorted(channels.items()), board))
        if found:
            off, channels_of, board = min(found, key=lambda one: one[:2])
            beside = sum(dict(channels_of)[left] + 1 == dict(channels_of)[right] for left, right in pairs)
            return _with_outboard(board, dict(channels_of)), _goals(beside, off)
    raise AssertionError("the choice left the channels no way to be numbered")


def _goals(beside: int, off: int) -> tuple[Goal, ...]:
    return tuple(
        Goal(name=name, value=value, bound=value, proven=True) for name, value in zip(GOALS, (beside, off), strict=True)
    )


def _board(case: Case, seats: Sequence[Seat], blocks: Sequence[tuple[int, int]], most_outside: int) -> _Board | None:
    """Sort inputs into rows; none where a pair that should sit side by side is pinned apart."""
    by_number = {seat.number: seat for seat in seats}
    pinned: dict[int, int] = {}
    for left, right in blocks:
        ends = {end for end in (by_number[left].pinned, _less(by_number[right].pinned)) if end is not None}
        if len(ends) > 1:
            return None
        for channel in ends:
            by_number[left] = replace(by_number[left], pinned=channel)
            by_number[right] = replace(by_number[right], pinned=channel + 1)
    for seat in by_number.values():
        if seat.pinned is not None and pinned.setdefault(seat.pinned, seat.number) != seat.number:
            return None
    ranks = {number: rank for rank, number in enumerate(by_number, 1)}
    free_blocks = [block for block in blocks if by_number[block[0]].pinned is None]
    in_block = {number for block in free_blocks for number in block}
    singles = [(seat.number,) for seat in by_number.values() if seat.pinned is None and seat.number not in in_block]
    kinds = {seat.number: seat.kind for seat in seats}
    there = sorted([*(c for bank in case.banks for c in bank.channels), *case.line_channels])
    step = case.recorder.phantom_bank if case.recorder else 1
    inside = range(1, 1 + (case.recorder.preamps if case.recorder else 0))
    return _Board(
        case=case,
        ranks=ranks,
        kinds=kinds,
        rows=tuple(tuple(row) for row in _rows([*singles, *free_blocks], kinds, ranks)),
        pinned=pinned,
        most_outside=most_outside,
        last=max(there, default=0),
        bank={channel: (channel - 1) // step for channel in inside} if step > 1 else {},
        dead=frozenset(range(1, max(there, default=0))) - {*there},
    )


def _less(channel: int | None) -> int | None:
    return None if channel is None else channel - 1


def _rows(
    blocks: Sequence[tuple[int, ...]], kinds: dict[int, Kind], ranks: dict[int, int]
) -> list[list[tuple[int, ...]]]:
    """Put blocks that ask the same into one row, in the order of the list; nested pairs stand in rows of their own."""
    rows: dict[object, list[list[tuple[int, ...]]]] = {}
    for block in sorted(blocks, key=lambda block: ranks[block[0]]):
        alike = rows.setdefault(tuple(kinds[number] for number in block), [])
        row = next((row for row in alike if ranks[row[-1][-1]] < ranks[block[-1]]), None)
        if row is None:
            alike.append([block])
        else:
            row.append(block)
    return [row for alike in rows.values() for row in alike]


def _fill(board: _Board) -> dict[int, int] | None:
    """Fill the channels in the cheapest way; none where not everybody finds one."""

    @cache
    def waiting(row: int, taken: int, channel: int) -> int:
        """By how much the rest of a row must stand off its places, now that the channels before are gone."""
        return sum(max(0, channel - board.ranks[number]) for block in board.rows[row][taken:] for number in block)

    start, turn = _Place(1, (0,) * len(board.rows), None, (0, 0, 0)), count()
    best: dict[_Place, tuple[int, int]] = {start: (0, 0)}
    came: dict[_Place, tuple[_Place, tuple[int, ...]]] = {}
    settled: set[_Place] = set()
    queue = [(0, 0, next(turn), start)]
    while queue:
        place = heappop(queue)[-1]
        if place in settled:
            continue
        settled.add(place)
        if place.channel > board.last:
            if all(taken == len(row) for taken, row in zip(place.taken, board.rows, strict=True)):
                return _traced(came, place)
            continue  # somebody found no channel, for pins hold those that were left
        for block, after in _moves(board, place):
            cost = _cost(board, place, block, best[place])
            if after not in best or cost < best[after]:
                best[after], came[after] = cost, (place, block)
                ahead = sum(waiting(row, taken, after.channel) for row, taken in enumerate(after.taken))
                heappush(queue, (cost[0] + ahead, cost[1], next(turn), after))
    return None


def _cost(board: _Board, place: _Place, block: tuple[int, ...], before: tuple[int, int]) -> tuple[int, int]:
    """Places off the list so far; and, among what costs the same, earlier rows on lower channels."""
    off, early = before
    for step, number in enumerate(block):
        channel, rank = place.channel + step, board.ranks[number]
        off += abs(channel - rank)
        early += (len(board.ranks) - rank) * channel
    return off, early


def _traced(came: dict[_Place, tuple[_Place, tuple[int, ...]]], place: _Place) -> dict[int, int]:
    channels: dict[int, int] = {}
    while place in came:
        place, block = came[place]
        channels |= {number: place.channel + n for n, number in enumerate(block)}
    return channels


def _moves(board: _Board, place: _Place) -> Iterator[tuple[tuple[int, ...], _Place]]:
    """What may come next: the input that is pinned there, the next of a row, or nobody."""
    here = board.pinned.get(place.channel)
    if here is not None:
        after = _seated(board, place, (here,), None)
        if after is not None:
            yield (here,), after
        return
    for row, taken in enumerate(place.taken):
        if taken < len(board.rows[row]):
            block = board.rows[row][taken]
            after = _seated(board, place, block, row)
            if after is not None:
                yield block, after
    left = sum(len(block) for row, taken in enumerate(place.taken) for block in board.rows[row][taken:])
    if left <= board.last - place.channel:
        yield (), _next(board, place, place.channel + 1)


def _seated(board: _Board, place: _Place, block: tuple[int, ...], row: int | None) -> _Place | None:
    """Seat a block from the next channel on; none where a channel does not suit."""
    for step, number in enumerate(block):
        if place.channel > board.last or (step and place.channel in board.pinned):
            return None
        suited = _suited(board, place, board.kinds[number])
        if suited is None:
            return None
        place = _next(board, suited, place.channel + 1)
    if row is None:
        return place
    return place._replace(taken=(*place.taken[:row], place.taken[row] + 1, *place.taken[row + 1 :]))


def _suited(board: _Board, place: _Place, kind: Kind) -> _Place | None:
    if place.channel in board.dead:
        return None
    at_line = place.channel in board.case.line_channels
    if kind == "line":
        return place if at_line else None
    if at_line:
        outside = tuple(count + (one == kind) for one, count in zip(MICS, place.outside, strict=True))
        counts: Counts = (outside[0], outside[1], outside[2])
        fits = sum(counts) <= board.most_outside and shares_of(board.case.outboards, counts) is not None
        return place._replace(outside=counts) if fits else None
    if place.channel in board.bank and kind != "ignored":
        live = kind == "needed"
        return place._replace(live=live) if place.live in (None, live) else None
    return place


def _next(board: _Board, place: _Place, channel: int) -> _Place:
    same = board.bank.get(channel) is not None and board.bank.get(channel) == board.bank.get(channel - 1)
    return place._replace(channel=channel, live=place.live if same else None)


def _with_outboard(board: _Board, channels: dict[int, int]) -> dict[int, Numbered]:
    """Tell which entry of outboard preamps each input on a line input comes through."""
    out: dict[Kind, list[int]] = {
        kind: sorted(
            (n for n, c in channels.items() if board.kinds[n] == kind and c in board.case.line_channels),
            key=channels.__getitem__,
        )
        for kind in MICS
    }
    shares = shares_of(board.case.outboards, (len(out["needed"]), len(out["ignored"]), len(out["harmful"])))
    entries: dict[int, int] = {}
    for kind, counts in zip(MICS, shares or (), strict=False):
        spots = [entry for entry, count in enumerate(counts) for _ in range(count)]
        entries |= dict(zip(out[kind], spots, strict=True))
    return {number: Numbered(channel, entries.get(number)) for number, channel in channels.items()}
