"""Nothing is used twice, and nothing is used that is not there: units, sockets, lines, channels, names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from math import dist

from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.pack import units_of
from fieldfare.show.kit import Di, Preamp, Recorder, Stand
from fieldfare.show.plan import PlannedInput
from fieldfare.units.text import listed


def unit(context: Context) -> Iterator[Fired]:
    """One physical unit has two jobs."""
    on_bar = {row.id for row in context.inputs if _on_the_bar(context, row)}
    told = [
        (f"{one.tag} {one.item}{f' input {row.di_channel}' if shared else ''}", row)
        for row in context.inputs
        for one in units_of(row)
        if not (one == row.stand and row.id in on_bar)
        for shared in (one == row.unit and isinstance(context.things.get(one.tag), Di) and row.di_channel,)
    ]
    yield from _twice(told, "give one of them another unit")


def _on_the_bar(context: Context, row: PlannedInput) -> bool:
    """Whether a mic is the second of its pair on the bar of one stand."""
    other = context.by_id.get(row.pair)
    thing = context.things.get(row.stand.tag) if row.stand else None
    if other is None or other.stand != row.stand or other.number > row.number or not isinstance(thing, Stand):
        return False
    return dist(row.at, other.at) <= thing.bar_m > 0


def socket(context: Context) -> Iterator[Fired]:
    """One socket of a box takes two plugs."""
    told = [(f"{row.box} socket {row.socket}", row) for row in context.inputs]
    yield from _twice(told, "give one of them a free socket")


def trunk_line(context: Context) -> Iterator[Fired]:
    """One line of the trunk carries two signals."""
    told = [(f"line {row.trunk_line} of the trunk", row) for row in context.inputs if row.trunk_line]
    yield from _twice(told, "give one of them a free line")


def preamp_channel(context: Context) -> Iterator[Fired]:
    """One preamp amplifies two signals."""
    rows = [row for row in context.inputs if row.preamp_channel]
    told = [(f"{row.preamp} preamp {row.preamp_channel}", row) for row in rows]
    yield from _twice(told, "give one of them a free preamp")


def channel(context: Context) -> Iterator[Fired]:
    """One channel of the recorder records two inputs."""
    yield from _twice([(f"channel {row.channel}", row) for row in context.inputs], "give one of them a free channel")


def label(context: Context) -> Iterator[Fired]:
    """Two inputs wear the same name on tape and track."""
    told = [(f"the name {row.label}", row) for row in context.inputs]
    yield from _twice(told, "rename one source in the show, so that tape, list and file tell them apart")


def number(context: Context) -> Iterator[Fired]:
    """Two inputs wear the same number."""
    yield from _twice([(f"number {row.number}", row) for row in context.inputs], "number one of them anew")


def socket_not_there(context: Context) -> Iterator[Fired]:
    """A box has no socket of that number."""
    sockets = {box.tag: box.sockets for box in context.boxes}
    for row in context.inputs:
        most = sockets.get(row.box)
        if most is None or not 1 <= row.socket <= most:
            remedy = f"it has {most}; use one of them" if most else "place that box, or use another"
            yield Fired(f"{row.box} socket {row.socket}", remedy, row.id)


def line_not_there(context: Context) -> Iterator[Fired]:
    """The trunk has no line of that number."""
    lines = sum(box.sockets for box in context.boxes if box.trunk)
    for row in context.inputs:
        if row.trunk_line > lines:
            yield Fired(f"line {row.trunk_line} of the trunk", f"it has {lines}; use one of them", row.id)


def channel_not_there(context: Context) -> Iterator[Fired]:
    """The recorder has no channel of that number."""
    most = context.recorder.size if context.recorder else 0
    for row in context.inputs:
        if not 1 <= row.channel <= most:
            yield Fired(f"channel {row.channel}", f"the recorder has {most}; leave something out", row.id)


def preamp_not_there(context: Context) -> Iterator[Fired]:
    """A preamp has no channel of that number."""
    for row in context.inputs:
        thing = context.things.get(row.preamp)
        most = thing.preamps if isinstance(thing, Recorder) else thing.channels if isinstance(thing, Preamp) else 0
        if row.preamp_channel > most:
            yield Fired(f"{row.preamp} preamp {row.preamp_channel}", f"it has {most}; use another", row.id)


def _twice(told: Iterable[tuple[str, PlannedInput]], remedy: str) -> Iterator[Fired]:
    rows: dict[str, list[PlannedInput]] = defaultdict(list)
    for hop, row in told:
        rows[hop].append(row)
    for hop, users in rows.items():
        if len(users) > 1:
            yield Fired(hop, remedy, users[1].id, listed(row.label for row in users))
