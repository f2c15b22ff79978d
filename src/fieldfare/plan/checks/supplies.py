"""Mains, as far as the recording hears it: hum between supplies, the limiter, the residual current device."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, dist

from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.ports import Path
from fieldfare.plan.power import (
    circuits_in_reach,
    cut_by_limiter,
    has_battery,
    lead_needed_m,
    mains_lead,
    rig_socket,
)
from fieldfare.show.kit import Di
from fieldfare.show.venue import Socket
from fieldfare.units.text import metres

ON_MAINS = {"amplifier", "line out"}  # what a source has that hangs on the mains


def hum_between_supplies(context: Context) -> Iterator[Fired]:
    """Something on another circuit is joined to the recorder without a transformer."""
    ours = context.circuit.name if context.circuit else ""
    for path in context.paths:
        socket = _nearest(context, path)
        if socket is None or not ours or socket.circuit == ours or not _on_mains(context, path):
            continue
        joined = _not_isolated(context, path)
        if joined:
            remedy = (
                f"take it through a passive DI with a transformer, or feed it from {ours} too; never lift a mains earth"
            )
            yield Fired(joined, remedy, path.input.id, socket.circuit)


def limiter_cuts_the_recorder(context: Context) -> Iterator[Fired]:
    """The recorder hangs on a circuit that the house's sound limiter cuts."""
    if context.circuit is not None and cut_by_limiter(context.venue, context.circuit):
        yield Fired(
            context.circuit.name, "feed the recorder from another circuit, or from the battery supply all night"
        )


def limiter_unknown(context: Context) -> Iterator[Fired]:
    """Nobody has said whether a limiter cuts the recorder's circuit."""
    if context.circuit is not None and cut_by_limiter(context.venue, context.circuit) is None:
        charged = has_battery(context.kit)
        remedy = "keep the battery supply charged" if charged else "bring a battery supply"
        yield Fired(context.circuit.name, f"ask before anything is plugged in, and {remedy}")


def shared_circuit(context: Context) -> Iterator[Fired]:
    """The recorder shares its circuit with things that other people switch."""
    if context.circuit is not None and context.circuit.shared_with:
        between = "the battery supply between" if has_battery(context.kit) else "bring a battery supply"
        remedy = f"use a circuit of the stage's own, or {between}"
        yield Fired(context.circuit.name, remedy, "", context.circuit.shared_with)


def no_residual_current_device(context: Context) -> Iterator[Fired]:
    """A circuit is known to have no residual current device."""
    for circuit in circuits_in_reach(context.venue):
        if circuit.residual_current_device.known is False:
            yield Fired(circuit.name, "plug one of 30 mA in at the socket, and press its test button before use")


def no_battery(context: Context) -> Iterator[Fired]:
    """Nothing carries the recorder through a pulled plug."""
    if context.inputs and not has_battery(context.kit):
        yield Fired("the recorder", "bring a battery supply; a take that was not closed may be lost whole")


def no_lead(context: Context) -> Iterator[Fired]:
    """No mains lead or reel of the kit is long enough from the recorder's socket to the table."""
    socket = rig_socket(context.venue)
    if socket is None or context.recorder is None or not context.recorder.power_w:
        return
    needed_m = lead_needed_m(context.venue, socket)
    if mains_lead(context.kit, needed_m) is None:
        yield Fired(socket.name, f"pack one of {metres(ceil(needed_m))}, or ask the house for one")


def _on_mains(context: Context, path: Path) -> bool:
    source = context.wanted[path.input.id].source
    return bool(ON_MAINS & {*source.has}) or path.input.taking == "line"


def _not_isolated(context: Context, path: Path) -> str:
    """The station that joins the two supplies; "" where a transformer or only air lies between."""
    if path.input.taking == "line":
        return f"the line output of {path.input.label}"
    unit = path.input.unit
    di = context.things.get(unit.tag) if unit else None
    return f"{unit.tag} {unit.item}" if unit and isinstance(di, Di) and not di.isolated else ""


def _nearest(context: Context, path: Path) -> Socket | None:
    at = context.wanted[path.input.id].source.at
    return min(context.venue.socket, key=lambda socket: dist(socket.at, at), default=None)
