"""From documents to a plan, room by room. Read this first: it is the order in which everything happens."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fieldfare.plan.aim import aiming
from fieldfare.plan.boxes import place_boxes
from fieldfare.plan.changeovers import changeovers
from fieldfare.plan.checks.context import context
from fieldfare.plan.checks.table import run_checks
from fieldfare.plan.choice.case import recorder_of
from fieldfare.plan.choice.choose import choose
from fieldfare.plan.day import day, odds_ready
from fieldfare.plan.fitness import fitnesses, scores
from fieldfare.plan.ground import Ground, ground
from fieldfare.plan.hearing import exposure
from fieldfare.plan.inputs import soundings, wanted_inputs
from fieldfare.plan.load import load
from fieldfare.plan.media import media_plan
from fieldfare.plan.pack import bin_weights, pack_list
from fieldfare.plan.patch import extras, patch, thread
from fieldfare.plan.ports import Path
from fieldfare.plan.power import power_plan
from fieldfare.plan.questions import open_questions
from fieldfare.plan.recipes import Recipe
from fieldfare.plan.rows import Around, around, guest_rows, input_rows, left_out_rows, pattern_of, trunk_run
from fieldfare.plan.runs import joins_clear, lengths, needed_m
from fieldfare.plan.spill import air, spill_matrix
from fieldfare.plan.wanted import Choice, Wanted
from fieldfare.plan.width import widths
from fieldfare.show.kit import Kit, Pattern, Recorder
from fieldfare.show.plan import PackLine, PlacedBox, Plan, PlannedInput, Run
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue


@dataclass(frozen=True, slots=True)
class Documents:
    """What a plan is made from."""

    show: Show
    venue: Venue
    kit: Kit
    recipes: Mapping[str, Recipe]

    @property
    def recorder(self) -> Recorder | None:
        """The recorder that is used, the same that the choice fills."""
        return recorder_of(self.kit)[0]


@dataclass(frozen=True, slots=True)
class Laid:
    """What was chosen, and how it lies."""

    wanted: tuple[Wanted, ...]
    boxes: tuple[PlacedBox, ...]
    floor: Ground
    choice: Choice
    with_: Around


@dataclass(frozen=True, slots=True)
class Rigged:
    """The rows with their threads, the trunk, and what is packed for them."""

    inputs: tuple[PlannedInput, ...]
    guests: tuple[PlannedInput, ...]
    trunk_run: Run | None
    machines: Mapping[str, str]  # tags of boxes, trunk, recorder and preamps in use, and what each is for
    pack: tuple[PackLine, ...]


def make_plan(
    show: Show, venue: Venue, kit: Kit, digest: str, recipes: Mapping[str, Recipe], *, explain: bool = True
) -> Plan:
    """Make the plan of a show. The same documents give the same plan, byte for byte.

    Parameters
    ----------
    show, venue, kit
        The documents.
    digest
        Which the sheets carry, so that it can be told what they were made from.
    recipes
        By name; those of the program and of the show.
    explain
        Whether to find the next best of each row, the cure of each one left out, the best aim of each microphone and
        the odds of being ready; most of the time goes into that.

    Raises
    ------
    Fault
        A source names a recipe that does not exist, or pins cannot hold together.
    """
    made_from = Documents(show, venue, kit, recipes)
    laid = _lay(made_from, explain)
    plan = plan_of(made_from, laid, digest)
    plan = _aimed(plan, made_from, laid) if explain else plan
    ready = odds_ready(plan, show) if explain else None
    return plan.model_copy(update={"day": day(plan, show), "ready": ready})


def plan_of(of: Documents, laid: Laid, digest: str) -> Plan:
    """Make the plan of what was chosen and how it lies, without its day.

    Parameters
    ----------
    of
        The documents.
    laid
        The choice, where boxes stand, and the ground.
    digest
        Which the sheets carry.
    """
    return _plan(of, laid, _rig(of, laid), digest)


def _lay(of: Documents, explain: bool) -> Laid:
    """Say what is wanted, where boxes stand and how far everything is; then choose."""
    wanted = wanted_inputs(of.show, of.venue, of.recipes)
    sounding = soundings(of.show, of.venue, of.recipes)
    boxes = place_boxes(of.venue, of.show, of.kit, wanted)
    floor = ground(of.venue, [box.at for box in boxes] + [one.at[:2] for one in wanted])
    reach = lengths(floor, of.venue, wanted, {box.tag: box.at for box in boxes})
    here = air(of.venue)
    fit = fitnesses(wanted, of.kit, sounding, here)
    choice = choose(
        wanted,
        of.kit,
        needed_m(reach),
        show=of.show,
        venue=of.venue,
        fitness=scores(fit),
        joins_allowed=joins_clear(floor, reach),
        words={key: one.says for key, one in fit.items()},
        explain=explain,
    )
    in_use = {row.box for row in choice.chosen}
    boxes = tuple(box for box in boxes if box.trunk or box.tag in in_use)
    return Laid(wanted, boxes, floor, choice, around(of.show, of.kit, choice, reach, sounding, here))


def _rig(of: Documents, laid: Laid) -> Rigged:
    """Make the rows, draw their threads and pack for them."""
    inputs, paths = _threaded(input_rows(laid.choice, laid.with_), of, laid)
    guests, others = _threaded(guest_rows(laid.choice, laid.with_), of, laid)
    machines = _machines(laid.choice, laid.boxes, recorder_of(of.kit)[1])
    pack = pack_list(of.kit, (*inputs, *guests), machines | extras((*paths, *others)), of.show.spares)
    return Rigged(inputs, guests, trunk_run(laid.floor, of.venue, laid.boxes, of.kit), machines, pack)


def _threaded(
    rows: tuple[PlannedInput, ...], of: Documents, laid: Laid
) -> tuple[tuple[PlannedInput, ...], tuple[Path, ...]]:
    """Draw the threads of rows that stand at the same time."""
    paths = patch(rows, {one.id: one for one in laid.wanted}, of.kit, of.venue, laid.boxes)
    threaded = tuple(
        row.model_copy(update={"thread": thread(path.stations), "house_thread": thread(path.house)})
        for row, path in zip(rows, paths, strict=True)
    )
    return threaded, paths


def _plan(of: Documents, laid: Laid, rigged: Rigged, digest: str) -> Plan:
    left_out = left_out_rows(laid.choice)
    weights = bin_weights(of.kit, rigged.pack)
    between = changeovers(rigged.inputs, rigged.guests, left_out, of.show, of.kit)
    looked_at = context(
        of.show,
        of.venue,
        of.kit,
        laid.wanted,
        inputs=rigged.inputs,
        guests=rigged.guests,
        changeovers=between,
        left_out=left_out,
        boxes=laid.boxes,
        trunk_run=rigged.trunk_run,
        pack=rigged.pack,
    )
    return Plan(
        title=of.show.title,
        date=of.show.date,
        venue=of.venue.name,
        digest=digest,
        rate_hz=of.show.recording.rate_hz,
        bits=of.show.recording.bits,
        channels=of.recorder.size if of.recorder else 0,
        wanted=len(laid.wanted),
        input=rigged.inputs,
        guest=rigged.guests,
        left_out=left_out,
        box=laid.boxes,
        trunk_run=rigged.trunk_run,
        spill=spill_matrix(_microphones(laid), laid.with_.sounding, laid.with_.air),
        hit=run_checks(looked_at),
        power=power_plan(of.venue, of.kit, tuple(rigged.machines)),
        media=media_plan(of.show, of.kit, of.recorder, len(rigged.inputs)),
        pack=rigged.pack,
        bin=weights,
        load=load(of.show.vehicle, of.kit, weights),
        question=open_questions(of.show, of.venue),
        hearing=exposure(of.show),
        changeover=between,
        goal=laid.choice.goals,
    )


def _aimed(plan: Plan, of: Documents, laid: Laid) -> Plan:
    """Say of every microphone how it is best turned."""
    wanted = {one.id: one for one in laid.wanted}
    sounding, air = laid.with_.sounding, laid.with_.air
    found = aiming(plan.input, wanted, laid.with_.things, sounding, air, of.show.wedge)
    found |= widths(_microphones(laid), sounding, air)
    rows = tuple(row.model_copy(update={"aiming": found.get(row.id)}) for row in plan.input)
    return plan.model_copy(update={"input": rows})


def _microphones(laid: Laid) -> list[tuple[Wanted, Pattern]]:
    chosen = (*laid.choice.chosen, *laid.choice.guests)
    rows = [(row.wanted, pattern_of(row, laid.with_.things)) for row in chosen]
    return [(wanted, pattern) for wanted, pattern in rows if pattern is not None]


def _machines(choice: Choice, boxes: tuple[PlacedBox, ...], recorder: str) -> dict[str, str]:
    found = {box.tag: "trunk" if box.trunk else "lines on stage" for box in boxes}
    found |= {row.preamp: "amplifies" for row in choice.chosen if row.preamp}
    return found | ({recorder: "records"} if recorder else {})
