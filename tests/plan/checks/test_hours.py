"""The checks look at other acts' guests too, each on the row where it stands in its sets."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from fieldfare.plan.checks.context import Context, context
from fieldfare.plan.checks.hours import hours
from fieldfare.plan.checks.table import run_checks
from fieldfare.plan.inputs import wanted_inputs
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Hit, Plan
from fieldfare.show.toml import ShowFolder, read_show

THREE_ACTS = Path(__file__).parents[3] / "examples" / "three-acts"


@cache
def _made() -> tuple[ShowFolder, Plan]:
    read = read_show(THREE_ACTS)
    return read, make_plan(read.show, read.venue, read.kit, read.digest, own_recipes(), explain=False)


def _context(kit: Kit, plan: Plan) -> Context:
    read, _ = _made()
    return context(
        read.show,
        read.venue,
        kit,
        wanted_inputs(read.show, read.venue, own_recipes()),
        inputs=plan.input,
        guests=plan.guest,
        left_out=plan.left_out,
        boxes=plan.box,
        pack=plan.pack,
    )


def _of_guests(hits: tuple[Hit, ...], plan: Plan) -> set[tuple[str, str]]:
    guests = {row.id for row in plan.guest}
    return {(hit.check, hit.input) for hit in hits if hit.input in guests}


def test_a_guest_stands_in_place_of_the_row_whose_channel_it_has() -> None:
    read, plan = _made()
    seen = list(hours(_context(read.kit, plan)))
    assert {name for _, guests in seen for name in guests} == {row.id for row in plan.guest}
    for then, guests in seen:
        assert [row.channel for row in then.inputs] == [row.channel for row in plan.input]
        assert guests <= {row.id for row in then.inputs}
        assert {row.id for row in (*then.inputs, *then.guests)} == {row.id for row in plan.rigged}
        assert [path.input.id for path in then.paths] == [row.id for row in then.inputs]


def test_the_mic_of_a_guest_that_is_marked_faulty_stops_the_plan_at_its_own_row() -> None:
    read, plan = _made()
    guest = plan.guest[0]
    assert guest.unit is not None
    tag = guest.unit.tag
    thing = next(one for one in read.kit.things if tag in one.tags)
    broken = thing.model_copy(update={"faulty": {tag: "crackles"}})
    group = next(name for name in ("mic", "di") if thing in getattr(read.kit, name))
    kit = read.kit.model_copy(
        update={group: tuple(broken if one is thing else one for one in getattr(read.kit, group))}
    )
    assert ("TH1", guest.id) in _of_guests(run_checks(_context(kit, plan)), plan)
    assert ("TH1", guest.id) not in _of_guests(run_checks(_context(read.kit, plan)), plan)


def test_no_hit_is_told_twice_and_no_host_is_missed_for_its_guest() -> None:
    _, plan = _made()
    assert len(set(plan.hit)) == len(plan.hit)
    alone = run_checks(_context(_made()[0].kit, plan.model_copy(update={"guest": ()})))
    told = {(hit.check, hit.input) for hit in plan.hit}
    rows = {row.id for row in plan.input}
    assert {(hit.check, hit.input) for hit in alone if hit.input in rows and hit.check != "PH8"} <= told
