"""Phantom: it reaches everything that needs it, from exactly one owner, and nothing that it harms."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.physics.lines import phantom_y_voltage_v
from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.ports import Path, Port, Station, bank_of, feeders
from fieldfare.show.kit import Preamp, Splitter
from fieldfare.units.text import figure, listed

USUAL_MA = 4.0  # what a condenser microphone draws, 2 to 5 as a rule; PRACTICE


def nobody_feeds(context: Context) -> Iterator[Fired]:
    """Something needs phantom and none reaches it."""
    for path, station, port in _ports(context, "needs"):
        if not feeders(context.graph, port):
            yield Fired(station.name, _where_to_feed(path), path.input.id)


def two_feed(context: Context) -> Iterator[Fired]:
    """More than one supply reaches the same thing."""
    house = {path.house[-1].takes for path in context.paths if path.house}
    theirs = {port.id for port in house if port is not None}
    for path, station, port in (*_ports(context, "needs"), *_ports(context, "indifferent")):
        found = sorted(feeders(context.graph, port), key=lambda one: one not in theirs)  # the direct side keeps it
        if len(found) > 1 and station.hop.kind in ("mic", "di"):
            yield Fired(station.name, f"leave it on at {found[0]}, off at {listed(found[1:])}", path.input.id)


def harms(context: Context) -> Iterator[Fired]:
    """Phantom reaches what it harms."""
    for path, station, port in _ports(context, "harmed"):
        found = feeders(context.graph, port)
        if found:
            remedy = f"switch it off at {listed(found)} before plugging in, or move the line to where it can be off"
            yield Fired(station.name, remedy, path.input.id)


def on_an_unbalanced_line(context: Context) -> Iterator[Fired]:
    """Phantom stands on an unbalanced cable, where it drives current through whatever is plugged in."""
    for path in context.paths:
        for station in path.stations:
            port = station.takes
            if port is not None and not port.balanced and station.hop.kind in ("cable", "lead"):
                found = feeders(context.graph, port)
                if found:
                    yield Fired(
                        station.name, f"switch it off at {listed(found)}, or put a DI in between", path.input.id
                    )


def no_supply(context: Context) -> Iterator[Fired]:
    """The plan switches phantom on at a preamp that has none."""
    for row in context.inputs:
        preamp = context.things[row.preamp]
        if row.phantom and isinstance(preamp, Preamp) and preamp.phantom == "none":
            yield Fired(f"{row.preamp} {preamp.item}", f"move {row.label} to a preamp that has phantom", row.id)


def for_nobody(context: Context) -> Iterator[Fired]:
    """Phantom is on at a switch behind which nothing needs it."""
    for row in context.inputs:
        if not row.phantom or not row.preamp_channel:
            continue
        bank = bank_of(context.things[row.preamp], row.preamp_channel)
        users = (*context.inputs, *context.guests)
        mates = [one for one in users if one.preamp == row.preamp and one.preamp_channel in bank]
        if all(one.phantom_need != "needed" for one in mates) and row == mates[0]:
            yield Fired(f"{row.preamp} channel {row.preamp_channel}", "switch it off; nothing there needs it", row.id)


def one_switch_two_states(context: Context) -> Iterator[Fired]:
    """Two rows of one bank ask their one switch to be on and off."""
    for row in context.inputs:
        if not row.phantom or not row.preamp_channel:
            continue
        bank = bank_of(context.things[row.preamp], row.preamp_channel)
        for one in context.inputs:
            if one.preamp == row.preamp and one.preamp_channel in bank and not one.phantom:
                hop = f"{row.preamp} channels {bank[0]} to {bank[-1]}"
                yield Fired(hop, f"{row.label} needs it on; write it as on for {one.label} too, or move one", one.id)


def fed_by_the_house(context: Context) -> Iterator[Fired]:
    """A line dies when the house switches off."""
    for row in context.inputs:
        if row.phantom_owner == "house" and row.phantom_need == "needed":
            remedy = "ask that the desk stays on through the interval, until the recorder has stopped"
            yield Fired(f"house preamp of {row.label}", remedy, row.id)


def pulled_down_by_a_y(context: Context) -> Iterator[Fired]:
    """Behind a plain Y the input that gives no phantom loads the one that does."""
    for row in context.inputs:
        splitter = context.things.get(row.splitter.tag) if row.splitter else None
        if isinstance(splitter, Splitter) and splitter.isolation == "none" and row.phantom_need == "needed":
            left = figure(phantom_y_voltage_v(USUAL_MA, off_ohm=0))
            remedy = (
                "use a transformer or active split here; "
                f"through this one a mic that draws {figure(USUAL_MA)} mA may keep only {left} V"
            )
            yield Fired(f"{row.splitter.tag if row.splitter else ''} {splitter.item}", remedy, row.id)


def _ports(context: Context, phantom: str) -> Iterator[tuple[Path, Station, Port]]:
    for path in context.paths:
        for station in path.stations:
            if station.gives is not None and station.gives.phantom == phantom:
                yield path, station, station.gives


def _where_to_feed(path: Path) -> str:
    row = path.input
    split = next((station for station in path.stations if station.hop.kind == "splitter"), None)
    if split is not None and not split.passes_dc:
        return f"only the house can feed it, on the direct side of {split.name}; ask, and note who does"
    if split is not None:
        return (
            f"agree with the house who feeds it; if it is us, switch it on at {row.preamp} channel {row.preamp_channel}"
        )
    return f"switch it on at {row.preamp} channel {row.preamp_channel}" if row.preamp_channel else "it needs a preamp"
