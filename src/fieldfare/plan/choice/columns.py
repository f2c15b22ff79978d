"""The columns of the integer program, with what they mean.

A column is 1 where something is done. Heaps, boxes and preamps are counted, not named: which tag and which channel each
input gets is settled afterwards, among units that are alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from fieldfare.plan.choice.case import Case, Input
from fieldfare.plan.choice.solver import Model
from fieldfare.plan.choice.ways import Lay
from fieldfare.show.kit import Phantom

PHANTOMS: tuple[Phantom, ...] = ("needed", "ignored", "harmful")


@dataclass(slots=True)
class Program:
    """The model with the meaning of its columns; inputs, ways, heaps and landings go by their numbers in the case."""

    case: Case
    model: Model = field(default_factory=Model)
    own: list[int] = field(default_factory=list)  # by input: it has a row of its own
    guest: dict[tuple[int, int, int], int] = field(default_factory=dict)  # guest, host, way of the host
    plugged: dict[tuple[int, int], int] = field(default_factory=dict)  # guest with a mic of its own, host
    asks: dict[tuple[int, Phantom], int] = field(
        default_factory=dict
    )  # input: what its row asks of phantom, guests too
    beside: dict[tuple[int, int], int] = field(default_factory=dict)  # input, landing: it plugs into another's socket
    changed: list[int] = field(default_factory=list)  # something is carried or plugged over between two sets
    way: dict[tuple[int, int], int] = field(default_factory=dict)  # input, way
    stand: dict[tuple[int, int], int] = field(default_factory=dict)  # input, heap
    land: dict[tuple[int, int], int] = field(default_factory=dict)  # input, landing
    cable: dict[tuple[int, Lay], int] = field(default_factory=dict)
    line_cable: dict[tuple[int, Lay], int] = field(default_factory=dict)
    lead: dict[tuple[int, Lay], int] = field(default_factory=dict)
    jumper: dict[tuple[int, Lay], int] = field(default_factory=dict)
    shared_di: dict[tuple[int, int, int], int] = field(default_factory=dict)  # heap, two inputs
    on_bar: dict[tuple[int, int, int], int] = field(default_factory=dict)  # heap of stands, both sides of a pair
    matched: dict[tuple[int, int, int, int], int] = field(default_factory=dict)  # left, right, heap of each
    unmatched: list[int] = field(default_factory=list)  # a pair that would rather be matched and is not
    box_used: dict[int, int] = field(default_factory=dict)  # landing
    outboard: dict[Phantom, list[int]] = field(default_factory=lambda: {phantom: [] for phantom in PHANTOMS})
    bank: list[dict[Phantom, int]] = field(default_factory=list)  # by bank: how many of its inputs ask so
    outside_of: list[dict[Phantom, int]] = field(default_factory=list)  # the same, by entry of outboard preamps
    spare: dict[int, int] = field(default_factory=dict)  # entry: one unit more than there is; 0 unless asked "what if"
    extra: dict[str, int] = field(default_factory=dict)  # what is bought beyond the kit, in a cure

    @property
    def outside(self) -> list[int]:
        """The columns that count inputs through preamps outside the recorder, whatever they ask of phantom."""
        return [column for columns in self.outboard.values() for column in columns]

    def ways_where(self, number: int, **wanted: object) -> list[int]:
        """Return the columns of an input's ways whose fields are as given."""
        return [
            self.way[number, index]
            for index, way in enumerate(self.case.inputs[number].ways)
            if all(getattr(way, name) == value for name, value in wanted.items())
        ]

    def kept(self, number: int) -> list[int]:
        """Return the columns of which one is 1 where an input is recorded: on its own row or on another's."""
        lodged = (column for (guest, *_), column in self.guest.items() if guest == number)
        return [*self.holds(number), *lodged]

    def holds(self, number: int) -> list[int]:
        """Return the columns of which one is 1 where an input has pieces of its own, on its own row or on another's."""
        return [self.own[number], *(column for (guest, _), column in self.plugged.items() if guest == number)]

    def asking(self, number: int, phantom: Phantom) -> list[int]:
        """Return the columns of which one is 1 where the row of an input asks this of the phantom switch."""
        asked = self.asks.get((number, phantom))
        return self.ways_where(number, phantom=phantom, line=False) if asked is None else [asked]


def pinned_channel(one: Input) -> int | None:
    """Return the channel that a pin asks for; a pinned line is a pinned channel too, for both wear one number."""
    return (one.pin.channel or one.pin.line) if one.pin and one.pin.keep is not False else None


def uses(program: Program) -> Iterator[tuple[int, int, int]]:
    """List every use of units: column, heap, how many."""
    for (number, index), column in program.way.items():
        way = program.case.inputs[number].ways[index]
        for heap in (way.heap, way.splitter):
            if heap is not None:
                yield column, heap, 1
    for (_, heap), column in program.stand.items():
        yield column, heap, 1
    for lays in (program.cable, program.line_cable, program.lead, program.jumper):
        for (_, lay), column in lays.items():
            for heap in dict.fromkeys(lay.heaps):
                yield column, heap, lay.heaps.count(heap)
    for (heap, *_), column in (*program.shared_di.items(), *program.on_bar.items()):
        yield column, heap, -1
