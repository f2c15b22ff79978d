"""Cable on the floor: long enough, joined where nobody treads, off every route that must stay clear."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.ground import rectangle
from fieldfare.plan.runs import JOIN_CLEAR_M
from fieldfare.show.plan import PlannedInput, Run
from fieldfare.show.venue import KeepClear
from fieldfare.units.text import listed, metres


def does_not_reach(context: Context) -> Iterator[Fired]:
    """The cable is shorter than the way itself."""
    for row in context.inputs:
        bare = _bare_m(row.run)
        if row.run.laid_m < bare:
            remedy = f"the way alone is {metres(bare)}; use a longer cable, another box, or move the box"
            yield Fired(_cables(row), remedy, row.id, metres(row.run.laid_m))


def no_slack(context: Context) -> Iterator[Fired]:
    """The cable reaches, but leaves nothing to coil where it starts."""
    for row in context.inputs:
        needed = row.run.needed.value or 0.0
        if _bare_m(row.run) <= row.run.laid_m < needed:
            remedy = f"{metres(needed)} are needed with slack; use a longer one, or tape the mic's place"
            yield Fired(_cables(row), remedy, row.id, metres(row.run.laid_m))


def many_joins(context: Context) -> Iterator[Fired]:
    """More than two cables make one run."""
    for row in context.inputs:
        if len(row.cable) > 2:
            yield Fired(
                _cables(row), "use longer cables; each join is one more to fail", row.id, str(len(row.cable) - 1)
            )


def join_in_the_way(context: Context) -> Iterator[Fired]:
    """Two cables are joined where people walk."""
    import shapely

    for row in context.inputs:
        if len(row.run.points) < 2:
            continue
        line = shapely.LineString(row.run.points[::-1])  # from the box, where laying starts
        for clear in context.venue.keep_clear:
            area = shapely.box(*rectangle(clear.at, clear.size_m))
            for place_m in _joins_m(row):
                if area.distance(line.interpolate(min(place_m, line.length))) < JOIN_CLEAR_M:
                    remedy = "use one longer cable, or change the order of the two so that the join lies elsewhere"
                    yield Fired(_cables(row), remedy, row.id, clear.name)


def crosses_a_fire_route(context: Context) -> Iterator[Fired]:
    """A cable crosses a fire route."""
    for hop, row_id, name in _crossings(context, fire=True):
        yield Fired(hop, "move the box, the source or the recordist; no way round was found", row_id, name)


def crosses_a_walkway(context: Context) -> Iterator[Fired]:
    """A cable crosses steps, a door or a walkway."""
    for hop, row_id, name in _crossings(context, fire=False):
        yield Fired(hop, "put it under a mat or a ramp with taped edges, or move what it leads to", row_id, name)


def trunk_too_short(context: Context) -> Iterator[Fired]:
    """The trunk does not reach the recordist."""
    run = context.trunk_run
    if run is not None and run.laid_m < (run.needed.value or 0.0):
        remedy = f"{metres(run.needed.value or 0.0)} are needed; move its stage end, or ask for a nearer place to sit"
        yield Fired("the trunk", remedy, "", metres(run.laid_m))


def tail_too_short(context: Context) -> Iterator[Fired]:
    """The tail of a box does not reach the trunk."""
    for box in context.boxes:
        if not box.trunk and box.tail_m:
            needed = context.tail_m(box)
            if needed > box.tail_m:
                remedy = f"{metres(needed)} are needed; move the box or the trunk's end"
                yield Fired(f"{box.tag} {box.item}", remedy, "", metres(box.tail_m))


def box_in_the_way(context: Context) -> Iterator[Fired]:
    """A box stands on ground that must stay clear."""
    for box in context.boxes:
        for clear in context.venue.keep_clear:
            x0, y0, x1, y1 = rectangle(clear.at, clear.size_m)
            if x0 < box.at[0] < x1 and y0 < box.at[1] < y1:
                yield Fired(f"{box.tag} {box.item}", "put it down beside it", "", clear.name)


def mic_in_the_way(context: Context) -> Iterator[Fired]:
    """A microphone, its stand or a DI is planned on ground that must stay clear."""
    for row in (*context.inputs, *context.guests):
        for clear in context.venue.keep_clear:
            x0, y0, x1, y1 = rectangle(clear.at, clear.size_m)
            if row.taking in ("mic", "di") and x0 < row.at[0] < x1 and y0 < row.at[1] < y1:
                what = f"{row.unit.tag} of {row.label}" if row.unit else row.label
                yield Fired(what, f"move {row.source}, or turn it, so that nothing stands there", row.id, _named(clear))


def _named(clear: KeepClear) -> str:
    return clear.name if clear.kind in clear.name.casefold() else f"{clear.name} ({clear.kind})"


def _bare_m(run: Run) -> float:
    """The way without spare and coil."""
    given = {one.name: one.value for one in run.needed.given}
    return sum(float(given.get(name, 0.0)) for name in ("floor", "steps", "height", "boom"))


def _joins_m(row: PlannedInput) -> Iterator[float]:
    """How far from the box each join lies."""
    place_m = 0.0
    for cable in row.cable[:0:-1]:
        place_m += cable.length_m
        yield place_m


def _crossings(context: Context, *, fire: bool) -> Iterator[tuple[str, str, str]]:
    kinds = {clear.name: clear.kind for clear in context.venue.keep_clear}
    runs = [(_cables(row), row.id, row.run) for row in context.inputs]
    runs += [("the trunk", "", context.trunk_run)] if context.trunk_run else []
    for hop, name, run in runs:
        for crossed in run.crosses:
            if (kinds.get(crossed) == "fire route") == fire:
                yield hop, name, crossed


def _cables(row: PlannedInput) -> str:
    return f"{listed(cable.tag for cable in row.cable)} of {row.label}"
