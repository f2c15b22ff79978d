"""A standing plan in the terms of the choice: the same exact program, and where every input stands in it.

Only what is at the venue counts: what the pack list holds and what the house has. What is kept back is there to be
used.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from fieldfare.plan.choice.case import Asked, Case, Outboard, prepare
from fieldfare.plan.choice.columns import Program
from fieldfare.plan.choice.goals import goals_of
from fieldfare.plan.choice.program import program_of
from fieldfare.plan.choice.solver import Aim
from fieldfare.plan.fitness import fitnesses, scores
from fieldfare.plan.ground import Ground, ground
from fieldfare.plan.inputs import soundings, wanted_inputs
from fieldfare.plan.make import Documents
from fieldfare.plan.rows import Lengths
from fieldfare.plan.runs import joins_clear, lengths, needed_m
from fieldfare.plan.spill import Air, air
from fieldfare.plan.wanted import Sounding, Wanted
from fieldfare.plan.whatif.stays import Stays, stays_of
from fieldfare.show.kit import Di, Kit, Mic, Thing
from fieldfare.show.plan import PlacedBox, Plan, PlannedInput
from fieldfare.show.show import Pin, Show

CHOSEN = ("mic", "di", "splitter", "stand", "cable", "box", "preamp")  # kinds of which only what is packed is there

NO_MATTER = ("hops", "metres on the floor")  # goals of the choice that nobody asks for in the dark


@dataclass(frozen=True, slots=True)
class Holds:
    """What one kept input holds, as the program sees it; none where the program has no word for it."""

    row: PlannedInput
    way: int | None
    stand: int | None  # heap
    cable: tuple[int, ...]  # heaps, sorted
    lead: tuple[int, ...]
    jumper: tuple[int, ...]
    landing: int | None


@dataclass(frozen=True, slots=True)
class Laid:
    """What the paths, levels and figures of the rows are made from."""

    all_wanted: tuple[Wanted, ...]  # those that are not kept among them
    floor: Ground
    reach: Lengths
    sounding: tuple[Sounding, ...]
    air: Air


@dataclass(frozen=True, slots=True)
class Standing:
    """A plan as it stands, with the program that it is planned again with."""

    of: Documents
    plan: Plan
    laid: Laid
    needed_m: Mapping[tuple[str, str], float]
    joins: Mapping[tuple[str, str], bool]
    program: Program
    stays: Stays
    holds: Mapping[int, Holds]  # by number of the input: those with a row, and guests with a mic of their own
    guests: Mapping[int, int]  # guest, host
    come: frozenset[int]  # inputs of a source that was not planned
    ranges: Mapping[str, range]  # the lines of each trunk
    lines: frozenset[int]  # of the trunks that lie there
    goals: tuple[Aim, ...]  # of the choice

    @property
    def case(self) -> Case:
        """What the program was made from."""
        return self.program.case

    def number_of(self, input_id: str) -> int:
        """Return the number of an input by its id."""
        return next(number for number, one in enumerate(self.case.inputs) if one.wanted.id == input_id)


def at_venue(kit: Kit, plan: Plan) -> Kit:
    """Return the kit with only what is at the venue: what is packed, and what is the house's; nothing is kept back."""
    there = {tag for line in plan.pack for tag in line.tags} | {box.tag for box in plan.box}
    kinds: dict[str, tuple[Thing, ...]] = {}
    for kind in CHOSEN:
        things: tuple[Thing, ...] = getattr(kit, kind)
        here = [(one, [tag for tag in one.tags if one.owner == "house" or tag in there]) for one in things]
        kinds[kind] = tuple(_only(one, tags) for one, tags in here if tags)
    return kit.model_copy(update=kinds)


def _only(thing: Thing, tags: list[str]) -> Thing:
    faulty = {tag: symptom for tag, symptom in thing.faulty.items() if tag in tags}
    return thing.model_copy(update={"tags": tuple(tags), "faulty": faulty, "keep_back": 0})


def standing_of(of: Documents, plan: Plan, *, come: str = "") -> Standing:
    """Put a standing plan into the terms of the choice.

    Parameters
    ----------
    of
        The documents that the plan was made from.
    plan
        As it stands: kept inputs may change, inputs left out stay out.
    come
        Name of a source that is now sure to come; its inputs are wanted as the recipe says, whether planned or not.
    """
    show = of.show if not come else _with_source(of.show, come)
    wanted = wanted_inputs(show, of.venue, of.recipes)
    kit = at_venue(of.kit, plan)
    laid = _laid(of, show, wanted, plan.box)
    kept = {row.id for row in plan.input} | {one.id for one in plan.left_out if one.shares}
    rows = tuple(one for one in wanted if one.id in kept or one.source.name == come)
    asked = _asked(of, _replace_show(show, rows, kit), rows, kit, laid, plan)
    return standing_from(asked, replace(of, show=show), plan, laid)


def standing_from(asked: Asked, of: Documents, plan: Plan, laid: Laid) -> Standing:
    """Put a standing plan into the terms of a choice that has been asked already.

    Parameters
    ----------
    asked
        The inputs that may be kept, and what they may be kept with.
    of, plan
        The documents and the plan.
    laid
        What its rows are made from.
    """
    case = _case(prepare(asked), of)
    stood = {row.id for row in plan.input} | {one.id for one in plan.left_out if one.shares}
    program = program_of(case)
    holds = dict(_holds(program, plan))
    ids = {one.wanted.id: number for number, one in enumerate(case.inputs)}
    guests = {ids[one.id]: ids[one.shares] for one in plan.left_out if one.shares and {one.id, one.shares} <= {*ids}}
    lines = {tag: one for tag, one in _ranges(case) if tag in {box.tag for box in plan.box}}
    used = {row.trunk_line for row in plan.input if row.trunk_line}
    return Standing(
        of=of,
        plan=plan,
        laid=laid,
        needed_m=asked.needed_m,
        joins=asked.joins,
        program=program,
        stays=stays_of(program, {number: one.row for number, one in holds.items() if number not in guests}, lines),
        holds=holds,
        guests=guests,
        come=frozenset(number for number, one in enumerate(case.inputs) if one.wanted.id not in stood),
        ranges=lines,
        lines=frozenset({line for one in lines.values() for line in one if line not in case.dead_lines} | used),
        goals=tuple(goal for goal in goals_of(program) if goal.name not in NO_MATTER),
    )


def _replace_show(show: Show, rows: tuple[Wanted, ...], kit: Kit) -> Show:
    """Return the show with pins of the kept inputs only, and of units that are there."""
    tags, ids = {tag for thing in kit.things for tag in thing.good_tags}, {one.id for one in rows}
    pins = tuple(
        Pin(
            input=pin.input,
            use=pin.use if pin.use in tags else "",
            stand=pin.stand if pin.stand in tags else "",
            never=tuple(tag for tag in pin.never if tag in tags),
        )
        for pin in show.pin
        if pin.input in ids
    )
    return show.model_copy(update={"pin": pins})


def _with_source(show: Show, name: str) -> Show:
    acts = tuple(
        act.model_copy(
            update={
                "source": tuple(
                    source.model_copy(update={"status": "confirmed"}) if source.name == name else source
                    for source in act.source
                )
            }
        )
        for act in show.act
    )
    return show.model_copy(update={"act": acts})


def _laid(of: Documents, show: Show, wanted: tuple[Wanted, ...], boxes: tuple[PlacedBox, ...]) -> Laid:
    """Measure the ways to where the boxes stand, and straight to the recorder: what is left when lines are gone."""
    floor = ground(of.venue, [box.at for box in boxes] + [one.at[:2] for one in wanted])
    machines = {tag: of.venue.recordist.at[:2] for one in of.kit.recorder for tag in one.good_tags}
    reach = lengths(floor, of.venue, wanted, machines | {box.tag: box.at for box in boxes})
    return Laid(wanted, floor, reach, soundings(show, of.venue, of.recipes), air(of.venue))


def _asked(of: Documents, show: Show, rows: tuple[Wanted, ...], kit: Kit, laid: Laid, plan: Plan) -> Asked:
    """Ask with the paths as they lie: what is laid there does reach, whatever a drawing says of it."""
    reach, joins = dict(needed_m(laid.reach)), dict(joins_clear(laid.floor, laid.reach))
    for row in plan.input:
        laid_m = sum(cable.length_m for cable in row.cable)
        reach[row.id, row.box] = min(laid_m, reach.get((row.id, row.box), laid_m))
        joins[row.id, row.box] = len(row.cable) > 1 or joins.get((row.id, row.box), True)
    fitness = scores(fitnesses(rows, kit, laid.sounding, laid.air))
    return Asked(rows, kit, reach, show, of.venue, fitness, joins, _told_apart(kit, plan))


def _told_apart(kit: Kit, plan: Plan) -> frozenset[str]:
    """Units in use that are more than one of a number: halves of a matched pair, and DIs that two may share."""
    used = {row.unit.tag for row in plan.input if row.unit}
    paired = {tag for mic in kit.mic for pair in mic.pairs for tag in pair}
    shared = {tag for di in kit.di if di.channels > 1 for tag in di.tags}
    return frozenset(used & (paired | shared))


def _case(case: Case, of: Documents) -> Case:
    """Hold nothing by pins but what is forbidden: what stands is changed as little as it can be anyway."""
    machines = {tag for one in of.kit.recorder for tag in one.tags}
    return replace(
        case,
        inputs=tuple(
            replace(one, pin=Pin(input=one.pin.input, never=one.pin.never) if one.pin and one.pin.never else None)
            for one in case.inputs
        ),
        outboards=tuple(Outboard(one.thing, (tag,), one.channels) for one in case.outboards for tag in one.tags),
        landings=tuple(one for one in case.landings if one.tag not in machines or one.tag == case.recorder_tag),
    )


def _ranges(case: Case) -> Iterator[tuple[str, range]]:
    first = 1
    for tag, lines in case.trunks:
        yield tag, range(first, first + lines)
        first += lines


def _holds(program: Program, plan: Plan) -> Iterator[tuple[int, Holds]]:
    stock, landings = program.case.stock, {one.tag: number for number, one in enumerate(program.case.landings)}
    rows = {row.id: row for row in (*_own_guests(plan), *plan.input)}
    for number, one in enumerate(program.case.inputs):
        row = rows.get(one.wanted.id)
        if row is None:
            continue
        unit = stock.heap_of(row.unit.tag) if row.unit else None
        splitter = stock.heap_of(row.splitter.tag) if row.splitter else None
        wanted = (unit, splitter, row.house_split, row.taking == "line")
        ways = [(way.heap, way.splitter, way.house_box, way.line) for way in one.ways]
        leads = tuple(sorted(_heaps(program, [lead.tag for lead in row.lead])))
        yield (
            number,
            Holds(
                row=row,
                way=ways.index(wanted) if wanted in ways else None,
                stand=stock.heap_of(row.stand.tag) if row.stand else None,
                cable=tuple(sorted(_heaps(program, [cable.tag for cable in row.cable]))),
                lead=() if row.splitter else leads,
                jumper=leads if row.splitter else (),
                landing=landings.get(row.box),
            ),
        )


def _own_guests(plan: Plan) -> Iterator[PlannedInput]:
    """The rows of guests that plug a mic or DI of their own into another's line."""
    hosts = {one.id: one.shares for one in plan.left_out}
    units = {row.id: row.unit for row in plan.input}
    return (row for row in plan.guest if row.unit != units.get(hosts.get(row.id, "")))


def _heaps(program: Program, tags: list[str]) -> Iterator[int]:
    for tag in tags:
        heap = program.case.stock.heap_of(tag)
        yield -1 if heap is None else heap


def two_sided(thing: Thing) -> bool:
    """Whether two inputs may share it."""
    return isinstance(thing, Di) and thing.channels == 2


def paired(thing: Thing) -> set[str]:
    """Tags of its units that have a matched other half."""
    return {tag for pair in thing.pairs for tag in pair} if isinstance(thing, Mic) else set()
