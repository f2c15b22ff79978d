"""From documents to a plan, room by room. Read this first: it is the order in which everything happens."""

from __future__ import annotations

from collections.abc import Mapping

from fieldfare.plan.boxes import place_boxes
from fieldfare.plan.choice.choose import choose
from fieldfare.plan.day import day
from fieldfare.plan.fitness import fitnesses, scores
from fieldfare.plan.ground import ground
from fieldfare.plan.hearing import exposure
from fieldfare.plan.inputs import soundings, wanted_inputs
from fieldfare.plan.media import media_plan
from fieldfare.plan.pack import bin_weights, pack_list
from fieldfare.plan.power import power_plan
from fieldfare.plan.questions import open_questions
from fieldfare.plan.recipes import Recipe
from fieldfare.plan.rows import Around, around, input_rows, left_out_rows, pattern_of, trunk_run
from fieldfare.plan.runs import joins_clear, lengths, needed_m
from fieldfare.plan.spill import air, spill_matrix
from fieldfare.plan.wanted import Choice, Wanted
from fieldfare.show.kit import Kit, Pattern, Recorder
from fieldfare.show.plan import PlacedBox, Plan
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue


def make_plan(show: Show, venue: Venue, kit: Kit, digest: str, recipes: Mapping[str, Recipe]) -> Plan:
    """Make the plan of a show. The same documents give the same plan, byte for byte.

    Parameters
    ----------
    show, venue, kit
        The documents.
    digest
        Which the sheets carry, so that it can be told what they were made from.
    recipes
        By name; those of the program and of the show.

    Raises
    ------
    Fault
        A source names a recipe that does not exist, or pins cannot hold together.
    """
    wanted = wanted_inputs(show, venue, recipes)
    sounding = soundings(show, venue, recipes)
    boxes = place_boxes(venue, show, kit, wanted)
    floor = ground(venue, [box.at for box in boxes] + [one.at[:2] for one in wanted])
    reach = lengths(floor, venue, wanted, {box.tag: box.at for box in boxes})
    here = air(venue)
    suits = scores(fitnesses(wanted, kit, sounding, here))
    choice = choose(
        wanted, kit, needed_m(reach), show=show, venue=venue, fitness=suits, joins_allowed=joins_clear(floor, reach)
    )
    boxes = tuple(box for box in boxes if box.trunk or any(row.box == box.tag for row in choice.chosen))
    with_ = around(show, kit, choice, reach, sounding, here)
    inputs = input_rows(choice, with_)
    recorder = next((one for one in kit.recorder if one.good_tags), None)
    machines = _machines(choice, boxes, recorder)
    pack = pack_list(kit, inputs, machines)
    plan = Plan(
        title=show.title,
        date=show.date,
        venue=venue.name,
        digest=digest,
        rate_hz=show.recording.rate_hz,
        bits=show.recording.bits,
        channels=recorder.preamps + recorder.line_inputs if recorder else 0,
        wanted=len(wanted),
        input=inputs,
        left_out=left_out_rows(choice),
        box=boxes,
        trunk_run=trunk_run(floor, venue, boxes, kit),
        spill=spill_matrix(_microphones(choice, with_), sounding, here),
        hit=(),
        power=power_plan(venue, kit, tuple(machines)),
        media=media_plan(show, kit, recorder, len(inputs)),
        pack=pack,
        bin=bin_weights(kit, pack),
        question=open_questions(show, venue),
        hearing=exposure(show),
        goal=choice.goals,
    )
    tasks, ready = day(plan, show)
    return plan.model_copy(update={"day": tasks, "ready": ready})


def _microphones(choice: Choice, with_: Around) -> list[tuple[Wanted, Pattern]]:
    rows = [(row.wanted, pattern_of(row, with_.things)) for row in choice.chosen]
    return [(wanted, pattern) for wanted, pattern in rows if pattern is not None]


def _machines(choice: Choice, boxes: tuple[PlacedBox, ...], recorder: Recorder | None) -> dict[str, str]:
    """Tags of boxes, trunk, recorder and preamps in use, and what each is for."""
    found = {box.tag: "trunk" if box.trunk else "lines on stage" for box in boxes}
    found |= {row.preamp: "amplifies" for row in choice.chosen if row.preamp}
    return found | ({recorder.good_tags[0]: "records"} if recorder else {})
