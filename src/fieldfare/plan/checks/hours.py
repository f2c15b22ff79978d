"""The rows as they stand in each set of the evening, other acts' guests on them, for the same checks to look at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fieldfare.plan.acts import in_set, sets_of
from fieldfare.plan.checks.context import Context
from fieldfare.plan.patch import patch
from fieldfare.plan.ports import signal_graph
from fieldfare.show.plan import PlannedInput


def hours(context: Context) -> Iterator[tuple[Context, frozenset[str]]]:
    """Show the checks every set in which guests stand on rows that are others' in the plan.

    Parameters
    ----------
    context
        The evening as the rows of the plan have it.

    Yields
    ------
    What stands then, each guest in place of the row whose channel it has, and the ids of the guests.
    """
    sets = sets_of(context.show)
    for number in range(max(1, len(context.show.set))):
        guests = {row.channel: row for row in context.guests if in_set(sets.get(row.source, frozenset()), number)}
        if guests:
            yield _with(context, guests), frozenset(row.id for row in guests.values())


def _with(context: Context, guests: dict[int, PlannedInput]) -> Context:
    rows = tuple(guests.get(row.channel, row) for row in context.inputs)
    there = {row.id for row in rows}
    away = tuple(row for row in (*context.inputs, *context.guests) if row.id not in there)
    paths = patch(rows, context.wanted, context.kit, context.venue, context.boxes)
    return replace(context, inputs=rows, guests=away, paths=paths, graph=signal_graph(paths))
