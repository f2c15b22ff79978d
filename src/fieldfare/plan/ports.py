"""The signal path as a graph of ports: what meets what, and how far phantom reaches.

A station takes a signal at one port and gives it at another; cable ends and sockets are ports alike. An edge leads the
signal on: through a station, or from one port into the next where two meet. Phantom goes the other way along the same
edges, as far as they pass direct current; a transformer or an active splitter does not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldfare.show.kit import End, Preamp, Recorder, Thing
from fieldfare.show.plan import Hop, PlannedInput

if TYPE_CHECKING:
    import networkx as nx

Level = Literal["mic", "instrument", "line"]
Phantom = Literal["supplies", "needs", "harmed", "indifferent"]

MATES: Mapping[str, frozenset[End]] = {  # plug to plug, and plug to socket: what goes into what
    "xlr-f": frozenset({"xlr-m"}),
    "xlr-m": frozenset({"xlr-f"}),
    "jack-ts": frozenset({"jack-socket"}),
    "jack-trs": frozenset({"jack-socket"}),
    "jack-socket": frozenset({"jack-ts", "jack-trs"}),
    "mains-plug": frozenset({"mains-socket"}),
    "mains-socket": frozenset({"mains-plug"}),
}
SOCKETS = (None, "jack-socket")  # what is no plug: two of them need a lead between
XLR = ("xlr-f", "xlr-m")


@dataclass(frozen=True, slots=True)
class Port:
    """Where a signal enters or leaves a station."""

    id: str  # "M-07 out", "B-01 in 3": one in the whole show
    end: End | None  # what it is itself; none where only what goes into it is known
    fits: frozenset[End]  # the ends that go into it
    level: Level
    balanced: bool
    phantom: Phantom = "indifferent"
    impedance_ohm: float | None = None


@dataclass(frozen=True, slots=True)
class Station:
    """One hop of a path with its ports, and whether direct current passes from one to the other."""

    hop: Hop
    takes: Port | None = None
    gives: Port | None = None
    passes_dc: bool = True
    where: str = ""  # the socket, line or channel of it
    extra: bool = False  # an adapter or lead that no row holds

    @property
    def name(self) -> str:
        """How a person finds it: its tag and what it is."""
        told = " ".join(part for part in (self.hop.tag, self.hop.name) if part)
        return f"{told}, {self.where}" if self.where else told


@dataclass(frozen=True, slots=True)
class Path:
    """One input's path: the stations to its track, and those of the house behind a split."""

    input: PlannedInput
    stations: tuple[Station, ...]
    house: tuple[Station, ...] = ()  # of a split: from the mic to the house's preamp

    @property
    def joints(self) -> Iterator[tuple[Station, Port, Station, Port]]:
        """Wherever two ports meet: station and port that give, station and port that take."""
        for stations in (self.stations, self.house):
            giving = [station for station in stations if station.gives is not None]
            taking = [station for station in stations if station.takes is not None]
            for one, other in zip(giving, taking, strict=False):
                assert one.gives is not None
                assert other.takes is not None
                yield one, one.gives, other, other.takes


def port(
    name: str,
    end: End,
    level: Level,
    *,
    balanced: bool = True,
    phantom: Phantom = "indifferent",
    ohm: float | None = None,
) -> Port:
    """Make a port whose own end is known."""
    return Port(name, end, MATES.get(end, frozenset()), level, balanced, phantom, ohm)


def socket_for(
    name: str,
    plug: End,
    level: Level,
    *,
    balanced: bool = True,
    phantom: Phantom = "indifferent",
    ohm: float | None = None,
) -> Port:
    """Make a port of which only is known what goes into it."""
    return Port(name, None, frozenset({plug}), level, balanced, phantom, ohm)


def mates(gives: Port, takes: Port) -> bool:
    """Tell whether two ports go into each other."""
    return gives.end in takes.fits or takes.end in gives.fits


def signal_graph(paths: Iterable[Path]) -> nx.DiGraph[str]:
    """Join all paths into one graph.

    Parameters
    ----------
    paths
        Of all inputs.

    Returns
    -------
    A node for each port, with its `port` and the `hop` it belongs to; an edge wherever the signal goes on, with `dc`
    (direct current passes) and `plug` (two ports meet there).
    """
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()
    for path in paths:
        _add(graph, path.stations)
        _add(graph, path.house)
    return graph


def feeders(graph: nx.DiGraph[str], port: Port) -> tuple[str, ...]:
    """The ports that supply phantom and reach this one, by id."""
    import networkx as nx

    direct = nx.subgraph_view(graph, filter_edge=lambda a, b: bool(graph.edges[a, b]["dc"]))
    found = nx.descendants(direct, port.id) | {port.id}
    return tuple(sorted(one for one in found if graph.nodes[one]["port"].phantom == "supplies"))


def live_channels(inputs: Iterable[PlannedInput], things: Mapping[str, Thing]) -> frozenset[tuple[str, int]]:
    """Preamp channels that give phantom: whole banks where one switch feeds several."""
    live = set()
    for row in inputs:
        if row.phantom and row.preamp_channel:
            live |= {(row.preamp, channel) for channel in bank_of(things[row.preamp], row.preamp_channel)}
    return frozenset(live)


def bank_of(preamp: Thing, channel: int) -> range:
    """The channels that share a phantom switch with this one."""
    if isinstance(preamp, Recorder):
        first = (channel - 1) // preamp.phantom_bank * preamp.phantom_bank + 1
        return range(first, first + preamp.phantom_bank)
    if isinstance(preamp, Preamp) and preamp.phantom == "all at once":
        return range(1, preamp.channels + 1)
    return range(channel, channel + 1)


def _add(graph: nx.DiGraph[str], stations: tuple[Station, ...]) -> None:
    before: Port | None = None
    for station in stations:
        for port in (station.takes, station.gives):
            if port is not None:
                graph.add_node(port.id, port=port, hop=station.name)
        if before is not None and station.takes is not None:
            graph.add_edge(before.id, station.takes.id, dc=True, plug=True)
        if station.takes is not None and station.gives is not None:
            graph.add_edge(station.takes.id, station.gives.id, dc=station.passes_dc, plug=False)
        before = station.gives or before
