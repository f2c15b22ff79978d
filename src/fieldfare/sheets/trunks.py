"""What lies on the sockets of a box, and on those of a trunk: own leads, and the tails of drop boxes."""

from __future__ import annotations

from fieldfare.show.plan import PlacedBox, Plan, PlannedInput


def socket_rows(box: PlacedBox, plan: Plan) -> dict[int, PlannedInput]:
    """Return the inputs whose leads end on a box, by socket."""
    return {row.socket: row for row in plan.input if row.box == box.tag}


def tail_rows(trunk: PlacedBox, plan: Plan) -> dict[int, PlannedInput]:
    """Return the inputs that reach a trunk through the tail of a drop box, by the trunk's socket.

    Lines are counted on from one trunk to the next.
    """
    trunks = [box for box in plan.box if box.trunk]
    before = sum(box.sockets for box in trunks[: trunks.index(trunk)])
    tags = {box.tag for box in trunks}
    lines = {row.trunk_line - before: row for row in plan.input if row.box not in tags and row.trunk_line}
    return {line: row for line, row in sorted(lines.items()) if 1 <= line <= trunk.sockets}
