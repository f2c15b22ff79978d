"""What lies between an instrument and its DI, and what long lines do to the treble."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.physics.lines import corner_hz, lowpass_loss_db
from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.ports import Path
from fieldfare.show.kit import Box, Cable, Di, Trunk
from fieldfare.units.text import figure, metres

PICKUP_LEAD_M = 6.0
UNBALANCED_M = 9.0
TREBLE_HZ = 10_000.0
LINE_TREBLE_HZ = 20_000.0
PICKUP_LOSS_DB = 3.0  # a pickup is no plain resistance: less than this says little
LOSS_DB = 1.0
TRUNK_PF_M = 100.0  # typical; what a box's tail and a trunk have is not stated


def long_pickup_lead(context: Context) -> Iterator[Fired]:
    """A pickup drives a long unbalanced lead."""
    for path in context.paths:
        length = _lead_m(path)
        if path.input.taking == "di" and length > PICKUP_LEAD_M:
            hop = " and ".join(lead.tag for lead in path.input.lead)
            yield Fired(
                hop,
                "move the DI to the instrument and run a microphone cable from there",
                path.input.id,
                metres(length),
            )


def loads_the_pickup(context: Context) -> Iterator[Fired]:
    """The DI's input is lower than the pickup needs to see."""
    for row in context.inputs:
        di = context.things.get(row.unit.tag) if row.unit else None
        wanted = context.wanted[row.id]
        if not isinstance(di, Di):
            continue
        least = max((way.least_input_ohm for way in wanted.accept if way.taking == "di"), default=0.0)
        if di.input_ohm < least:
            remedy = f"use a DI of {_ohms(least)} or more; the bottom or the top goes otherwise"
            yield Fired(f"{row.unit.tag if row.unit else ''} {di.item}", remedy, row.id, _ohms(di.input_ohm))


def lead_takes_the_treble(context: Context) -> Iterator[Fired]:
    """Capacitance of the leads takes the treble off a pickup."""
    for path in context.paths:
        capacitance_pf = sum(_pf(context, lead.tag) for lead in path.input.lead)
        if path.input.taking != "di" or not capacitance_pf:
            continue
        corner = corner_hz(context.wanted[path.input.id].source_ohm, capacitance_pf)
        loss = lowpass_loss_db(TREBLE_HZ, corner)
        if loss > PICKUP_LOSS_DB:
            hop = " and ".join(lead.tag for lead in path.input.lead)
            yield Fired(hop, "use a shorter lead, or one of less capacitance", path.input.id, figure(loss))


def long_unbalanced_line(context: Context) -> Iterator[Fired]:
    """A line signal runs unbalanced for long."""
    for path in context.paths:
        length = sum(
            thing.length_m
            for station in path.stations
            if station.takes is not None and station.takes.level == "line" and not station.takes.balanced
            for thing in (context.things.get(station.hop.tag),)
            if isinstance(thing, Cable)
        )
        if length > UNBALANCED_M:
            remedy = "put a DI at the instrument and run it balanced from there"
            yield Fired(f"the line of {path.input.label}", remedy, path.input.id, metres(length))


def line_takes_the_treble(context: Context) -> Iterator[Fired]:
    """The whole line from a mic of high impedance takes its treble."""
    for path in context.paths:
        source = next((one.gives for one in path.stations if one.gives is not None and one.gives.level == "mic"), None)
        if source is None or source.impedance_ohm is None:
            continue
        capacitance_pf = sum(_pf(context, station.hop.tag) for station in path.stations if station.hop.kind != "lead")
        if capacitance_pf:
            loss = lowpass_loss_db(LINE_TREBLE_HZ, corner_hz(source.impedance_ohm, capacitance_pf))
            if loss > LOSS_DB:
                hop = f"the line of {path.input.label}"
                yield Fired(
                    hop, "use a mic of lower impedance, or a preamp on the stage", path.input.id, figure(loss, 1)
                )


def _lead_m(path: Path) -> float:
    return sum(lead.length_m for lead in path.input.lead)


def _pf(context: Context, tag: str) -> float:
    thing = context.things.get(tag)
    if isinstance(thing, Cable):
        return thing.length_m * thing.capacitance_pf_m
    if isinstance(thing, Trunk):
        return thing.length_m * TRUNK_PF_M
    return thing.tail_m * TRUNK_PF_M if isinstance(thing, Box) else 0.0


def _ohms(value: float) -> str:
    return f"{value / 1e6:g} MΩ" if value >= 1e6 else f"{value / 1000:g} kΩ"
