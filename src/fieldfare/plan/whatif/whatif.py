"""All single failures and all possible sources of a plan, each planned again with the fewest changes."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from fieldfare.plan.make import Documents
from fieldfare.plan.whatif.dead import Dead
from fieldfare.plan.whatif.outcome import outcome_of
from fieldfare.plan.whatif.outside import outside_failures
from fieldfare.plan.whatif.single import grouped, left_home, singles
from fieldfare.plan.whatif.standing import Standing, standing_of
from fieldfare.show.kit import Recorder
from fieldfare.show.plan import Plan
from fieldfare.show.show import Source
from fieldfare.show.whatif import DeadKind, Outcome, Possible, WhatIf
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed, nearest

Tell = Callable[[str, float], None]


def what_if(of: Documents, plan: Plan, tell: Tell | None = None) -> WhatIf:
    """Plan again for every single failure and every possible source, with the fewest changes.

    Parameters
    ----------
    of
        The documents that the plan was made from.
    plan
        As it stands.
    tell
        Called with what is tried next and the share that is done, from 0 to 1; what it raises ends the trying.

    Returns
    -------
    Failures that are cured alike together, the most harm first; what loses a *must* alone is a single point of failure.

    Raises
    ------
    Fault
        The recorder needs a unit that is not in the kit.
    """
    standing = standing_of(of, plan)
    found = [*outside_failures(of, plan), *_inside(standing, tell)]
    return WhatIf(
        title=plan.title,
        date=plan.date,
        venue=plan.venue,
        digest=plan.digest,
        tried=len(found),
        failure=grouped(found),
        possible=tuple(_possible(of, plan, source) for source in of.show.sources if source.status == "possible"),
    )


def _inside(standing: Standing, tell: Tell | None) -> Iterator[tuple[DeadKind, str, Outcome]]:
    every = list(singles(standing))
    for number, (kind, what, dead) in enumerate(every):
        if tell is not None:
            tell(what, number / len(every))
        outcome = outcome_of(standing, dead)
        note = left_home(standing.of.kit, standing.plan, dead.tags) if outcome.lost else ""
        if kind == "recorder":
            yield from _leaned_on(standing, outcome)
            note = "; ".join(part for part in (_comes_with(standing), note) if part)
        yield kind, what, outcome.model_copy(update={"note": note})


def _comes_with(standing: Standing) -> str:
    machine = _machine(standing)
    return f"the same if its {' or '.join(machine.comes_with)} dies" if machine and machine.comes_with else ""


def _machine(standing: Standing) -> Recorder | None:
    return next((one for one in standing.of.kit.recorder if standing.case.recorder_tag in one.tags), None)


def _leaned_on(standing: Standing, dead: Outcome) -> Iterator[tuple[DeadKind, str, Outcome]]:
    """What the recorder cannot run without: another of the same entry takes its place, or it is as if it were dead."""
    machine, there = _machine(standing), {tag for line in standing.plan.pack for tag in line.tags}
    things = standing.of.kit.by_tag
    for tag in machine.needs if machine else ():
        if tag not in things:
            close = nearest(tag, things)
            remedy = f"did you mean {close!r}?" if close else "write the tag of a thing of the kit"
            raise Fault(f"there is no unit {tag!r}", f"kit, recorder {standing.case.recorder_tag}, needs", remedy)
        others = [other for other in things[tag].good_tags if other in there and other != tag]
        if others:
            says = f"put {others[0]} in its place, start a new take, note the time"
            yield "recorder", things[tag].item, Outcome(dead=(tag,), stops=True, note=says)
        else:
            update = {"dead": (tag,), "note": f"{standing.case.recorder_tag} does not run without it"}
            yield "recorder", things[tag].item, dead.model_copy(update=update)


def _possible(of: Documents, plan: Plan, source: Source) -> Possible:
    """Say what changes if a possible source comes, and what is free if it does not."""
    rows = [row for row in plan.input if row.source == source.name]
    whole = {row.source for row in plan.input} | {one.source for one in plan.left_out if one.shares}
    missing = [one for one in plan.left_out if one.source == source.name and not one.shares]
    comes = Outcome(dead=(), note="it has its place in the plan: nothing changes")
    if missing:
        comes = outcome_of(standing_of(of, plan, come=source.name), Dead())
        lost = {one.input for one in comes.lost}
        why = [
            f"{one.label}: {one.blocks}{f'; {one.cure}' if one.cure else ''}"
            for one in missing
            if one.id in lost and one.blocks
        ]
        comes = comes.model_copy(update={"note": ". ".join(why)})
    free = [f"channel {row.channel}" for row in rows]
    free += [unit.tag for row in rows for unit in (row.unit, row.stand) if unit]
    away = f"{listed(free)} {'is' if len(free) == 1 else 'are'} free" if free else "nothing is free: it holds nothing"
    return Possible(source=source.name, planned=source.name in whole, comes=comes, stays_away=away)
