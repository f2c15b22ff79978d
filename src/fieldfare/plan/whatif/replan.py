"""On the night: something has died, and the plan is made again with the fewest changes. What the desk calls."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from fieldfare.plan.choice.case import recorder_of, trunk_lines
from fieldfare.plan.hold import held
from fieldfare.plan.make import Documents, Laid, plan_of
from fieldfare.plan.rows import around
from fieldfare.plan.whatif.dead import Dead, dead_of
from fieldfare.plan.whatif.outcome import Again, again, choice_of, lost, moves
from fieldfare.plan.whatif.standing import standing_of
from fieldfare.show.kit import Kit, Numbered, Thing
from fieldfare.show.plan import PlacedBox, Plan
from fieldfare.show.show import Pin, Show
from fieldfare.show.whatif import Lost, Move

KINDS = tuple(name for name, field in Kit.model_fields.items() if name not in ("owner_name", "length_colours", "bin"))
SYMPTOM = "failed on the night"  # written beside a dead unit in the kit


@dataclass(frozen=True, slots=True)
class Replanned:
    """The plan as it stands afterwards, and what a person does to get there."""

    plan: Plan
    moves: tuple[Move, ...]  # what to do, in words, by input
    lost: tuple[Lost, ...]  # inputs that cannot be recorded any more
    changes: int  # assignments that change
    proven: bool  # that nothing keeps more, and nothing that keeps as much changes less
    show: Show  # with pins that hold the new plan
    kit: Kit  # with dead units marked faulty, and dead sockets, lines and channels marked dead


def replan(of: Documents, plan: Plan, dead: Iterable[str]) -> Replanned:
    """Make a standing plan again around what has died, with the fewest changes. For the desk; well under a second.

    It is the choice's own exact program, with the fewest changed assignments as the first goal after importance kept:
    a *must* that can be saved is saved, whatever moves. Only what is at the venue is used: what the pack list holds,
    and what the house has; what was kept back as a spare is used now. Inputs that were left out stay out.

    Parameters
    ----------
    of
        The documents that the plan was made from: `Documents(show, venue, kit, recipes)` of plan/make.py.
    plan
        As it stands.
    dead
        What has died, each a tag ("M-07", "C-12", "B-01", "REC-1") or a number: "line 5" of the trunk, "channel 3" of
        the recorder, "B-01 socket 2", "P-1 channel 1". Give all that is dead now, what died earlier too, unless the
        kit marks it faulty.

    Returns
    -------
    The new plan, the moves in words ("take M-09 instead of M-07; same stand, same line"), what is lost, and the show
    and kit to keep: a plan made of them holds all that stands now, and never uses what is dead.

    Raises
    ------
    Fault
        A word that names nothing that there is.
    """
    gone = dead_of(dead, of.kit, plan)
    standing = standing_of(of, plan)
    found = again(standing, gone)
    kit = _marked(of.kit, gone)
    after = _plan_again(replace(of, kit=kit), plan, found)
    return Replanned(
        plan=after,
        moves=moves(found),
        lost=lost(found),
        changes=found.changes,
        proven=all(goal.proven for goal in found.solved.goals),
        show=held(_free_pins(of.show, after), after),
        kit=kit,
    )


def _marked(kit: Kit, dead: Dead) -> Kit:
    """Mark dead units faulty, and dead sockets, lines and channels dead."""
    places = _dead_places(kit, dead)
    kinds: dict[str, tuple[Thing, ...]] = {}
    for kind in KINDS:
        things: tuple[Thing, ...] = getattr(kit, kind)
        kinds[kind] = tuple(
            one.model_copy(
                update={
                    "faulty": one.faulty | {tag: one.faulty.get(tag, SYMPTOM) for tag in one.tags if tag in dead.tags},
                    **_with_dead(one, places),
                }
            )
            for one in things
        )
    return kit.model_copy(update=kinds)


def _dead_places(kit: Kit, dead: Dead) -> dict[str, set[int]]:
    """Which sockets, lines and channels of each unit have died, by tag."""
    found = defaultdict[str, set[int]](set)
    for tag, number in (*dead.sockets, *dead.spots):
        found[tag].add(number)
    for tag, lines in trunk_lines(kit).items():
        found[tag] |= {line - lines.start + 1 for line in dead.lines if line in lines}
    found[recorder_of(kit)[1]] |= dead.channels
    return found


def _with_dead(thing: Thing, places: Mapping[str, set[int]]) -> dict[str, object]:
    if not isinstance(thing, Numbered):
        return {}
    fresh = {tag: tuple(sorted({*thing.dead.get(tag, ()), *places[tag]})) for tag in thing.tags if places.get(tag)}
    return {"dead": thing.dead | fresh}


def _plan_again(of: Documents, plan: Plan, found: Again) -> Plan:
    laid, choice, swaps = found.way.standing.laid, choice_of(found), found.way.swaps
    reach = {**laid.reach} | {
        (name, taking, swaps[tag]): length for (name, taking, tag), length in laid.reach.items() if tag in swaps
    }
    boxes = tuple(_box(of.kit, box, swaps.get(box.tag, box.tag)) for box in plan.box)
    with_ = around(of.show, of.kit, choice, reach, laid.sounding, laid.air)
    made = plan_of(of, Laid(laid.all_wanted, boxes, laid.floor, choice, with_), plan.digest)
    return made.model_copy(update={"day": plan.day, "ready": plan.ready})


def _box(kit: Kit, box: PlacedBox, tag: str) -> PlacedBox:
    item = next((thing.item for thing in kit.things if tag in thing.tags), box.item)
    return box.model_copy(update={"tag": tag, "item": item})


def _free_pins(show: Show, plan: Plan) -> Show:
    """Keep of the pins what is forbidden, and let go what no longer holds; who has no row now stays without one."""
    never = {pin.input: pin.never for pin in show.pin}
    rows = [Pin(input=row.id, never=never.get(row.id, ())) for row in plan.input]
    out = [Pin(input=one.id, keep=False) for one in plan.left_out if not one.shares]
    return show.model_copy(update={"pin": (*rows, *out)})
