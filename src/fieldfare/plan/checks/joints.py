"""Connectors: every end goes into the next, or an adapter for it is in the van."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.ports import SOCKETS, Port, mates
from fieldfare.show.kit import Cable, End

ENDS: Mapping[End, str] = {
    "xlr-f": "XLR female",
    "xlr-m": "XLR male",
    "jack-ts": "jack",
    "jack-trs": "balanced jack",
    "jack-socket": "jack socket",
    "mini-jack": "mini jack",
    "rca": "RCA",
    "usb": "USB",
    "mains-plug": "mains plug",
    "mains-socket": "mains socket",
    "locking-4": "four-pole locking plug",
}


def do_not_mate(context: Context) -> Iterator[Fired]:
    """Two ends do not go into each other and nothing in the kit goes between."""
    for path in context.paths:
        for giving, gives, taking, takes in path.joints:
            if not mates(gives, takes):
                yield Fired(taking.name, f"bring {_what(gives, takes)}", path.input.id, giving.name)


def not_packed(context: Context) -> Iterator[Fired]:
    """An adapter or lead that the path needs is not on the pack list."""
    packed = {tag for line in context.pack for tag in line.tags}
    for path in context.paths:
        for station in path.stations:
            if station.extra and station.hop.tag not in packed:
                yield Fired(station.name, "put it on the pack list", path.input.id)


def instrument_lead_on_a_line(context: Context) -> Iterator[Fired]:
    """A lead for instruments lies where a balanced cable belongs."""
    for row in context.inputs:
        for cable in row.cable:
            thing = context.things.get(cable.tag)
            if isinstance(thing, Cable) and thing.signal == "instrument":
                yield Fired(f"{cable.tag} {cable.item}", "use a microphone cable there", row.id)


def _what(gives: Port, takes: Port) -> str:
    kind = "a lead" if gives.end in SOCKETS and takes.end in SOCKETS else "an adapter"
    return f"{kind} from {_fitting(gives)} to {_fitting(takes)}"


def _fitting(port: Port) -> str:
    """What goes into a port."""
    return " or ".join(ENDS[end] for end in sorted(port.fits)) or "whatever goes into it"
