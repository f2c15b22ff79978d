"""fieldfare whatif: what to do when something dies, with the fewest changes, and what alone loses a must."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.options import ShowPath, Speaks, Tongue
from fieldfare.cli.say import Status, heading, leave, say, show_json
from fieldfare.units.text import listed

if TYPE_CHECKING:
    from fieldfare.cli.plan import Tell
    from fieldfare.cli.planned import Planned
    from fieldfare.show.whatif import Failure, Outcome, Possible, WhatIf


def whatif(
    show: ShowPath,
    dead: Annotated[
        list[str] | None,
        typer.Option(metavar="WHAT", help='What has died: "M-07", "line 5", "channel 3", "B-01 socket 2". Repeat.'),
    ] = None,
    language: Speaks = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write it all as JSON, in English.")] = False,
) -> None:
    """Say what to do if something dies or a possible source comes, with the fewest changes."""
    from fieldfare.cli.planned import planned
    from fieldfare.sheets.language import said
    from fieldfare.sheets.write import names_of

    made = planned(show)
    read = made.read
    tell = partial(said, language=language.value, names=names_of(read.show, read.kit, read.venue))
    if dead:
        _now(made, dead, tell, as_json)
    else:
        _all(made, tell, as_json)


def what_if_of(made: Planned) -> WhatIf:
    """Try every single failure and every possible source of a planned show."""
    from fieldfare.plan.make import Documents
    from fieldfare.plan.whatif.whatif import what_if

    read = made.read
    return what_if(Documents(read.show, read.venue, read.kit, made.recipes), made.plan)


def _all(made: Planned, tell: Tell, as_json: bool) -> None:
    found = what_if_of(made)
    if as_json:
        show_json(found)
    else:
        _summary(found, made.revision, tell)
    leave(Status.LOOK if found.single_points else Status.DONE)


def _now(made: Planned, dead: list[str], tell: Tell, as_json: bool) -> None:
    from fieldfare.plan.make import Documents
    from fieldfare.plan.whatif.dead import dead_of
    from fieldfare.plan.whatif.outcome import outcome_of
    from fieldfare.plan.whatif.standing import standing_of

    read = made.read
    documents = Documents(read.show, read.venue, read.kit, made.recipes)
    gone = dead_of(dead, read.kit, made.plan)
    outcome = outcome_of(standing_of(documents, made.plan), gone)
    if as_json:
        show_json(outcome)
    else:
        say(f"{made.plan.title}, {tell(f'without {listed(outcome.dead)}')}")
        proof = ", and no plan that keeps as much has fewer" if all(goal.proven for goal in outcome.goal) else ""
        say(tell(f"{outcome.changes} change{'s' if outcome.changes != 1 else ''}{proof}."))
        _outcome(outcome, tell)
    leave(Status.LOOK if outcome.lost else Status.DONE)


def _outcome(outcome: Outcome, tell: Tell) -> None:
    if not outcome.move and not outcome.lost:
        say(tell("Nothing changes."))
    for move in outcome.move:
        say(f"{tell(move.label)}: {tell(move.says)}", indent=1, hang=2)
    if outcome.lost:
        say(_lost(outcome, tell), indent=1, hang=2)


def _lost(outcome: Outcome, tell: Tell) -> str:
    return f"{tell('Lost')}: {', '.join(f'{one.label} ({tell(one.importance)})' for one in outcome.lost)}."


def _summary(found: WhatIf, revision: str, tell: Tell) -> None:
    say(f"{found.title}, {tell(f'what if; plan of revision {revision}')}")
    alone = sum(one.musts > 0 for failure in found.failure for one in failure.outcome)
    say(tell(f"{found.tried} single failures tried; {alone} of them alone lose{'s' if alone == 1 else ''} a must."))
    parts = {
        "Alone loses a must": [one for one in found.failure if one.single_point],
        "Loses something else": [one for one in found.failure if not one.single_point and any(one.harm[1:3])],
        "Recording stops until that is done": [one for one in found.failure if not any(one.harm[:3]) and one.harm[3]],
        "Nothing is lost": [one for one in found.failure if not any(one.harm[:4])],
    }
    for title, failures in parts.items():
        if failures:
            heading(tell(title))
        for failure in failures:
            _failure(failure, tell)
    if found.possible:
        heading(tell("Possible sources"))
    for source in found.possible:
        _possible(source, tell)


def _failure(failure: Failure, tell: Tell) -> None:
    from fieldfare.plan.whatif.named import alike_words

    dead = alike_words(failure.outcome)
    says = failure.says if failure.says.endswith(".") else f"{failure.says}."
    say(f"{tell(dead)}: {tell(says)}", indent=1, hang=2)
    if failure.harm[0] or failure.harm[1] or failure.harm[2]:
        alike = len(failure.outcome) > 1 and all(len(one.lost) == 1 for one in failure.outcome)
        own = tell("Lost: the input it is on.") if alike and _own(failure) else ""
        say(own or _lost(failure.outcome[0], tell), indent=3, hang=2)


def _own(failure: Failure) -> bool:
    return all({lost.label for lost in one.lost} <= set(one.serves) for one in failure.outcome)


def _possible(source: Possible, tell: Tell) -> None:
    say(f"{source.source}: {tell('planned' if source.planned else 'not planned')}.", indent=1, hang=2)
    comes, stays = tell("If it comes"), tell("If it does not")
    for move in source.comes.move:
        say(f"{comes}: {move.label}: {tell(move.says)}.", indent=3, hang=2)
    if source.comes.lost:
        say(f"{comes}: {_lost(source.comes, tell)}", indent=3, hang=2)
    if source.comes.note:
        say(f"{comes}: {tell(source.comes.note)}.", indent=3, hang=2)
    say(f"{stays}: {tell(source.stays_away)}.", indent=3, hang=2)
