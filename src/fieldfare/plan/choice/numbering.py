"""Which channel each chosen input gets: line, channel and track in the order of the list, stereo pairs side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fieldfare.plan.choice.case import Case
from fieldfare.plan.choice.solver import Aim, Model, Solution, ones, solve_in_order
from fieldfare.show.kit import Phantom
from fieldfare.show.plan import Goal


@dataclass(frozen=True, slots=True)
class Seat:
    """A chosen input that wants a channel."""

    number: int  # of the input in the case
    phantom: Phantom
    line: bool
    pinned: int | None
    pair: int | None  # number of the input that is the other side


@dataclass(frozen=True, slots=True)
class Numbered:
    """The channel of one input, and where it is amplified."""

    channel: int
    outboard: int | None  # number of the entry of outboard preamps


@dataclass(slots=True)
class _Board:
    model: Model
    place: dict[tuple[int, int], int]  # input, channel
    outside: dict[tuple[int, int], int]  # input, entry of outboard preamps


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
    Channel and outboard preamp by input, and two goals with their proof: stereo pairs that are not side by side, and
    places by which inputs stand off the order of the list.
    """
    if not seats:
        return {}, _no_goals()
    board = _board(case, seats)
    board.model.row(ones(board.outside.values()), most=outboard_inputs)
    found = solve_in_order(board.model, _aims(board, seats, case))
    if found is None:
        raise AssertionError("the choice left the channels no way to be numbered")
    values, goals, _ = found
    return _read(board, seats, values), goals[:2]


def _board(case: Case, seats: Sequence[Seat]) -> _Board:
    board = _Board(Model(), {}, {})
    inside = [channel for bank in case.banks for channel in bank.channels]
    for seat in seats:
        outside = [n for n, one in enumerate(case.outboards) if one.thing.phantom != "none" or seat.phantom != "needed"]
        for entry in () if seat.line else outside:
            board.outside[seat.number, entry] = board.model.column()
        open_to = case.line_channels if seat.line else (*inside, *case.line_channels)
        for channel in open_to:
            if seat.pinned in (None, channel):
                board.place[seat.number, channel] = board.model.column()
    _one_channel_each(board, case, seats)
    for bank in case.banks:
        if bank.switched:
            _switch(board, seats, bank.channels)
    _outboards(board, case, seats)
    return board


def _one_channel_each(board: _Board, case: Case, seats: Sequence[Seat]) -> None:
    for seat in seats:
        mine = {channel: column for (number, channel), column in board.place.items() if number == seat.number}
        board.model.row(ones(mine.values()), least=1, most=1)
        if not seat.line:
            outside = [column for (number, _), column in board.outside.items() if number == seat.number]
            at_line = [column for channel, column in mine.items() if channel in case.line_channels]
            board.model.equal(ones(outside), ones(at_line))
    for channel in {channel for _, channel in board.place}:
        board.model.row(ones(column for (_, there), column in board.place.items() if there == channel), most=1)


def _switch(board: _Board, seats: Sequence[Seat], channels: Sequence[int]) -> None:
    """One phantom switch for a bank: on for those that need it, and then nothing there that it harms."""
    switch = board.model.column()
    for seat in seats:
        here = [board.place[seat.number, channel] for channel in channels if (seat.number, channel) in board.place]
        if here and seat.phantom == "needed":
            board.model.row([*ones(here), (switch, -1)], most=0)
        elif here and seat.phantom == "harmful":
            board.model.row([*ones(here), (switch, 1)], most=1)


def _outboards(board: _Board, case: Case, seats: Sequence[Seat]) -> None:
    for entry, outboard in enumerate(case.outboards):
        units, channels = len(outboard.tags), outboard.thing.channels
        columns = {seat: board.outside[seat.number, entry] for seat in seats if (seat.number, entry) in board.outside}
        board.model.row(ones(columns.values()), most=units * channels)
        if outboard.thing.phantom == "all at once":
            on = board.model.column(0, units)
            need = [column for seat, column in columns.items() if seat.phantom == "needed"]
            harm = [column for seat, column in columns.items() if seat.phantom == "harmful"]
            board.model.row([*ones(need), (on, -channels)], most=0)
            board.model.row([*ones(harm), (on, channels)], most=units * channels)


def _aims(board: _Board, seats: Sequence[Seat], case: Case) -> tuple[Aim, ...]:
    beside: list[tuple[int, float]] = []
    for seat in seats:
        if seat.pair is None or seat.pair < seat.number:
            continue
        for channel in range(1, max(channel for _, channel in board.place) + 1):
            left, right = board.place.get((seat.number, channel)), board.place.get((seat.pair, channel + 1))
            if left is not None and right is not None:
                column = board.model.column()
                board.model.row([(column, 1), (left, -1)], most=0)
                board.model.row([(column, 1), (right, -1)], most=0)
                beside.append((column, -1.0))
    ranks = {seat.number: rank for rank, seat in enumerate(seats, start=1)}
    off = tuple((column, float(abs(channel - ranks[number]))) for (number, channel), column in board.place.items())
    falling = tuple(
        (column, float((len(seats) - ranks[number]) * channel)) for (number, channel), column in board.place.items()
    )
    widest = max((int(factor) for _, factor in off), default=0)
    return (
        Aim("stereo pairs side by side", tuple(beside), len(seats), sign=-1),
        Aim("places off the order of the list", tuple(term for term in off if term[1]), widest * len(seats)),
        Aim("earlier rows on lower channels", falling, 10**9),
    )


def _read(board: _Board, seats: Sequence[Seat], values: Solution) -> dict[int, Numbered]:
    channels = {number: channel for (number, channel), column in board.place.items() if values[column]}
    outside = {number: entry for (number, entry), column in board.outside.items() if values[column]}
    return {seat.number: Numbered(channels[seat.number], outside.get(seat.number)) for seat in seats}


def _no_goals() -> tuple[Goal, ...]:
    names = ("stereo pairs side by side", "places off the order of the list")
    return tuple(Goal(name=name, value=0, bound=0, proven=True) for name in names)
