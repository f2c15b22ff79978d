"""On the night: something has died, and the plan is made again with the fewest changes. What the desk calls."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from fieldfare.plan.hold import held
from fieldfare.plan.make import Documents, Laid, plan_of
from fieldfare.plan.rows import around
from fieldfare.plan.whatif.dead import Dead, dead_of
from fieldfare.plan.whatif.outcome import Again, again, choice_of, lost, moves
from fieldfare.plan.whatif.standing import standing_of
from fieldfare.show.kit import Kit, Thing
from fieldfare.show.plan import PlacedBox, Plan
from fieldfare.show.show import Pin, Show
from fieldfare.show.whatif import Lost, Move

KINDS = tuple(name for name, field in Kit.model_fields.items() if name not in ("owner_name", "length_colours", "bin"))


@dataclass(frozen=True, slots=True)
class Replanned:
    """The plan as it stands afterwards, and what a person does to get there."""

    plan: Plan
    moves: tuple[Move, ...]  # what to do, in words, by input
    lost: tuple[Lost, ...]  # inputs that cannot be recorded any more
    changes: int  # assignments that change
    proven: bool  # that nothing keeps more, and nothing that keeps as much changes less
    show: Show  # with pins that hold the new plan
    kit: Kit  # with the dead units marked faulty


def replan(of: Documents, plan: Plan, dead: Iterable[str], *, symptom: str = "failed on the night") -> Replanned:
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
    symptom
        What is written beside the dead units in the kit.

    Returns
    -------
    The new plan, the moves in words ("take M-09 instead of M-07; same stand, same line"), what is lost, and the show
    and kit to keep: a plan made of them holds all that stands now. Dead lines, sockets and channels have no place in
    these documents; as long as any are dead, the plan returned here is the one to go by.

    Raises
    ------
    Fault
        A word that names nothing that there is.
    """
    gone = dead_of(dead, of.kit, plan)
    standing = standing_of(of, plan)
    found = again(standing, gone)
    kit = _marked(of.kit, gone, symptom)
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


def _marked(kit: Kit, dead: Dead, symptom: str) -> Kit:
    """Mark dead units faulty; nothing is kept back any more."""
    kinds: dict[str, tuple[Thing, ...]] = {}
    for kind in KINDS:
        things: tuple[Thing, ...] = getattr(kit, kind)
        kinds[kind] = tuple(
            one.model_copy(
                update={
                    "faulty": one.faulty | {tag: one.faulty.get(tag, symptom) for tag in one.tags if tag in dead.tags}
                }
            )
            for one in things
        )
    return kit.model_copy(update=kinds)


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
