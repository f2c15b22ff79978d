"""Each input's path, port by port, from what the plan says of its pieces; and its thread of hops."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Literal

from fieldfare.plan.heads import cable, head
from fieldfare.plan.ports import SOCKETS, Level, Path, Phantom, Port, Station, live_channels, mates, port, socket_for
from fieldfare.plan.wanted import Wanted
from fieldfare.show.kit import Adapter, Cable, Kit, Preamp, Recorder, Thing
from fieldfare.show.plan import Hop, PlacedBox, PlannedInput
from fieldfare.show.plan import Port as PortRecord
from fieldfare.show.venue import Venue
from fieldfare.units.text import figure


def patch(
    inputs: Iterable[PlannedInput], wanted: Mapping[str, Wanted], kit: Kit, venue: Venue, boxes: Iterable[PlacedBox]
) -> tuple[Path, ...]:
    """Lay out the path of every input, port by port.

    Parameters
    ----------
    inputs
        The rows of the plan.
    wanted
        What each row was wanted for, by id.
    kit, venue
        What the pieces are, and what is known of the house's splits.
    boxes
        The boxes and trunks that are placed.
    """
    rows, placed = tuple(inputs), tuple(boxes)
    things = kit.by_tag
    live = live_channels(rows, things)
    used = {unit.tag for row in rows for unit in (*row.lead, *row.cable)}
    paths = []
    for row in rows:
        first, house = head(row, wanted[row.id], things, venue)
        cables = [cable(one, things, "line" if row.taking == "line" else "mic") for one in row.cable]
        source = Station(Hop(kind="source", name=row.source, detail=row.part))
        tail = (*_lines(row, things, placed), *_preamp(row, things, live), *_track(row, things))
        paths.append(_bridged(Path(row, (source, *first, *cables, *tail), house), kit, used))
    return tuple(paths)


def thread(stations: Iterable[Station]) -> tuple[Hop, ...]:
    """The hops of a path with their ports, in the order the signal passes."""
    return tuple(
        one.hop.model_copy(
            update={"takes": _told(one.takes), "gives": _told(one.gives), "passes_dc": one.passes_dc},
        )
        for one in stations
    )


def _told(port: Port | None) -> PortRecord | None:
    return (
        None
        if port is None
        else PortRecord(
            id=port.id,
            end=port.end,
            fits=tuple(sorted(port.fits)),
            level=port.level,
            balanced=port.balanced,
            phantom=port.phantom,
            impedance_ohm=port.impedance_ohm,
        )
    )


def extras(paths: Iterable[Path]) -> dict[str, str]:
    """Adapters and leads that no row holds but the paths need: by tag, what each is for."""
    return {
        station.hop.tag: path.input.label for path in paths for station in path.stations if station.extra
    }  # fmt: skip


def _bridged(path: Path, kit: Kit, used: set[str]) -> Path:
    """Put an adapter, or a lead between two boxes of ours, wherever two ports do not go into each other."""
    stations = list(path.stations)
    for _, gives, taking, takes in path.joints:
        if taking in stations and not mates(gives, takes):
            found = _bridge(gives, takes, kit, used)
            if found is not None:
                stations.insert(stations.index(taking), found)
    return replace(path, stations=tuple(stations))


def _bridge(gives: Port, takes: Port, kit: Kit, used: set[str]) -> Station | None:
    leads = sorted((one for one in kit.cable if one.signal == "line"), key=lambda one: one.length_m)
    two_sockets = gives.end in SOCKETS and takes.end in SOCKETS  # an adapter has no length to reach with
    joins: tuple[Adapter | Cable, ...] = (*leads,) if two_sockets else (*kit.adapter, *leads)
    for thing in joins:
        tag = next((tag for tag in thing.good_tags if tag not in used), None)
        if tag and thing.from_end in gives.fits and thing.to_end in takes.fits:
            used.add(tag)
            return Station(
                Hop(kind="lead", name=thing.item, tag=tag),
                Port(f"{tag} in", thing.from_end, frozenset(), gives.level, gives.balanced),
                Port(f"{tag} out", thing.to_end, frozenset(), gives.level, takes.balanced),
                extra=True,
            )
    return None


def _lines(row: PlannedInput, things: Mapping[str, Thing], boxes: tuple[PlacedBox, ...]) -> Iterator[Station]:
    level: Level = "line" if row.taking == "line" else "mic"
    trunks = [box for box in boxes if box.trunk]
    if not isinstance(things[row.box], Recorder) and row.box not in {box.tag for box in trunks}:
        yield _passage("box", row.box, things[row.box].item, f"socket {row.socket}", row.socket, level)
    if row.trunk_line and trunks:
        tag, line = _trunk(row.trunk_line, trunks)
        yield _passage("trunk", tag, things[tag].item, f"line {row.trunk_line}", line, level)


def _trunk(line: int, trunks: list[PlacedBox]) -> tuple[str, int]:
    """The trunk that a line lies in, and its number there; lines are counted on from one trunk to the next."""
    for box in trunks[:-1]:
        if line <= box.sockets:
            return box.tag, line
        line -= box.sockets
    return trunks[-1].tag, line


def _passage(kind: Literal["box", "trunk"], tag: str, item: str, detail: str, number: int, level: Level) -> Station:
    return Station(
        Hop(kind=kind, name=item, detail=detail, tag=tag),
        port(f"{tag} in {number}", "xlr-f", level),
        port(f"{tag} out {number}", "xlr-m", level),
        where=detail,
    )


def _preamp(row: PlannedInput, things: Mapping[str, Thing], live: frozenset[tuple[str, int]]) -> Iterator[Station]:
    if not row.preamp_channel:
        return
    thing = things[row.preamp]
    assert isinstance(thing, Preamp | Recorder)
    fed: Phantom = "supplies" if (row.preamp, row.preamp_channel) in live else "indifferent"
    gain = "set by ear" if row.gain.value is None else f"{figure(row.gain.value)} dB"
    pad = f", pad {figure(row.pad_db)} dB" if row.pad_db else ""
    where = f"channel {row.preamp_channel}"
    detail = f"{where}, gain {gain}{pad}, phantom {'on' if fed == 'supplies' else 'off'}"
    takes = port(f"{row.preamp} preamp {row.preamp_channel}", "xlr-f", "mic", phantom=fed, ohm=thing.input_ohm)
    gives = None
    if isinstance(thing, Preamp):
        gives = socket_for(f"{row.preamp} out {row.preamp_channel}", thing.output_plug, "line")
    hop = Hop(kind="preamp", name=thing.item, detail=detail, tag=row.preamp)
    yield Station(hop, takes, gives, passes_dc=False, where=where)


def _track(row: PlannedInput, things: Mapping[str, Thing]) -> Iterator[Station]:
    recorders = {tag: thing for tag, thing in things.items() if isinstance(thing, Recorder)}
    tag = row.preamp if row.preamp in recorders else next(iter(recorders), "")
    if tag and (row.preamp != tag or not row.preamp_channel):
        where = f"line input {row.channel}"
        hop = Hop(kind="recorder", name=recorders[tag].item, detail=where, tag=tag)
        yield Station(hop, socket_for(f"{tag} line {row.channel}", recorders[tag].line_plug, "line"), where=where)
    yield Station(Hop(kind="track", name=row.label, detail=f"track {row.number}"))
