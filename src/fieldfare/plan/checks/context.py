"""What the checks look at: the rows of a plan with their paths, and the documents it was made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldfare.plan.choice.case import recorder_of, trunk_lines
from fieldfare.plan.ground import Ground, ground
from fieldfare.plan.patch import patch
from fieldfare.plan.ports import Path, signal_graph
from fieldfare.plan.power import rig_socket
from fieldfare.plan.runs import SPARE_SHARE, path
from fieldfare.plan.wanted import Wanted
from fieldfare.show.kit import Kit, Recorder, Thing
from fieldfare.show.plan import Changeover, LeftOut, PackLine, PlacedBox, PlannedInput, Run
from fieldfare.show.show import Show
from fieldfare.show.venue import Circuit, Venue

if TYPE_CHECKING:
    import networkx as nx


@dataclass(frozen=True, slots=True)
class Context:
    """Everything a check may look at."""

    show: Show
    venue: Venue
    kit: Kit
    wanted: Mapping[str, Wanted]  # by id
    inputs: tuple[PlannedInput, ...]
    guests: tuple[PlannedInput, ...]  # rows as they are while another act's input is on them
    changeovers: tuple[Changeover, ...]
    left_out: tuple[LeftOut, ...]
    boxes: tuple[PlacedBox, ...]
    trunk_run: Run | None
    pack: tuple[PackLine, ...]
    things: Mapping[str, Thing]  # by tag
    paths: tuple[Path, ...]
    graph: nx.DiGraph[str]
    ground: Ground
    recorder: Recorder | None
    recorder_tag: str
    lines: Mapping[str, range]  # numbers of the lines of each trunk
    circuit: Circuit | None  # that the recording rig hangs on

    @property
    def by_id(self) -> Mapping[str, PlannedInput]:
        """The rows by id."""
        return {row.id: row for row in self.inputs}

    def tail_m(self, box: PlacedBox) -> float:
        """How long the tail of a box must be to reach the trunk, or the recorder where there is none. [m]"""
        head = next((one.at for one in self.boxes if one.trunk), self.venue.recordist.at[:2])
        way = path(self.ground, box.at, head)
        return (1 + SPARE_SHARE) * (way.floor_m + way.rise_m)


def context(
    show: Show,
    venue: Venue,
    kit: Kit,
    wanted: tuple[Wanted, ...],
    *,
    inputs: tuple[PlannedInput, ...],
    guests: tuple[PlannedInput, ...] = (),
    changeovers: tuple[Changeover, ...] = (),
    left_out: tuple[LeftOut, ...] = (),
    boxes: tuple[PlacedBox, ...] = (),
    trunk_run: Run | None = None,
    pack: tuple[PackLine, ...] = (),
) -> Context:
    """Put together what the checks look at.

    Parameters
    ----------
    show, venue, kit
        The documents.
    wanted
        All inputs that were wanted.
    inputs, guests, changeovers, left_out, boxes, trunk_run, pack
        What the plan has made of them.
    """
    by_id = {one.id: one for one in wanted}
    paths = patch(inputs, by_id, kit, venue, boxes)
    socket = rig_socket(venue)
    return Context(
        show=show,
        venue=venue,
        kit=kit,
        wanted=by_id,
        inputs=inputs,
        guests=guests,
        changeovers=changeovers,
        left_out=left_out,
        boxes=boxes,
        trunk_run=trunk_run,
        pack=pack,
        things=kit.by_tag,
        paths=paths,
        graph=signal_graph(paths),
        ground=ground(venue, [box.at for box in boxes]),
        recorder=recorder_of(kit)[0],
        recorder_tag=recorder_of(kit)[1],
        lines=trunk_lines(kit),
        circuit=next((one for one in venue.circuit if socket and one.name == socket.circuit), None),
    )
