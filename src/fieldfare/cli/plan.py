"""fieldfare plan: from a line-up to an input list with every piece of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING, Annotated

import typer

from fieldfare.cli.options import ShowPath, Speaks, Tongue
from fieldfare.cli.say import Status, heading, leave, say, show_json, table
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure, listed, metres, nearest

if TYPE_CHECKING:
    from fieldfare.show.plan import LeftOut, Plan, PlannedInput
    from fieldfare.units.working import Working

_RANKS = ("must", "want", "nice")
Tell = Callable[[str], str]  # what makes an English sentence one of the language asked for


def plan(
    show: ShowPath,
    why: Annotated[str, typer.Option(metavar="INPUT", help="Open one input: its path, its figures, why.")] = "",
    language: Speaks = Tongue.en,
    as_json: Annotated[bool, typer.Option("--json", help="Write the whole plan as JSON, in English.")] = False,
) -> None:
    """Make the plan of a show and say what stands open."""
    from fieldfare.cli.planned import planned
    from fieldfare.sheets.language import said
    from fieldfare.sheets.write import names_of

    made = planned(show)
    read = made.read
    tell = partial(said, language=language.value, names=names_of(read.show, read.kit, read.venue))
    if as_json:
        show_json(made.plan)
    elif why:
        say_input(made.plan, why, tell)
    else:
        say_plan(made.plan, made.revision, tell)
    leave(status_of(made.plan))


def status_of(plan: Plan) -> Status:
    """Tell whether a plan needs a person's eye: something is wrong, a must is left out, or a question is open."""
    trouble = [hit for hit in plan.hit if hit.severity != "note"]
    musts = [one for one in plan.left_out if one.importance == "must" and not one.shares]
    return Status.LOOK if trouble or musts or plan.question else Status.DONE


def say_plan(plan: Plan, revision: str, tell: Tell = str) -> None:
    """Say the whole plan: its rows, what is not recorded, what stands open, the day."""
    from fieldfare.sheets.wording import day

    say(f"{plan.title}, {tell(f'plan of revision {revision}')}")
    say(f"{plan.venue}, {tell(day(plan.date))}")
    proof = f"; {tell('proven the best there is')}" if all(goal.proven for goal in plan.goal) else ""
    say(f"{tell(f'{plan.kept} of {plan.wanted} inputs kept')}: {tell(plan.kept_words)}{proof}.")
    if plan.input:
        _say_rows(plan, tell)
    sure = (f"{one.label} ({tell(one.importance)}): {tell(one.blocks)}." for one in _lodged(plan))
    _list(tell("On the line of another"), sure)
    _list(tell("Left out"), _left_out(plan, tell))
    trouble = (f"{tell(hit.severity)}: {tell(hit.says)}" for hit in plan.hit if hit.severity != "note")
    _list(tell("Trouble"), trouble)
    _list(tell("Open questions"), (f"{tell(one.ask)}: {tell(one.text)}" for one in plan.question))
    _list(tell("Day"), _day(plan, tell))
    _list(tell("Changeovers"), map(tell, _changeovers(plan)))
    _list(tell("Power"), map(tell, plan.power.cautions[:3]))
    _list(tell("Media"), map(tell, _media(plan)))


def _say_rows(plan: Plan, tell: Tell) -> None:
    """Say the rows, a line each."""
    shared = plan.kept - len(plan.input)
    others = f"{shared} more input{'s' if shared > 1 else ''} on them while they are silent"
    rows = [f"{len(plan.input)} rows", *([others] if shared else [])]
    say(f"{'; '.join(map(tell, (*rows, f'the recorder has {plan.channels} channels')))}.")
    heading("")
    heads = tuple(map(tell, ("No", "Input", "Mic or DI", "Run", "Box", "Gain", "Left")))
    number, level = len(heads[0]), max(4, len(tell("ask")))
    widths = (-number, 20 - number, 28 - 2 * level, 11, 9, -level, -level)
    table(heads, [_row(one, plan, tell) for one in plan.input], widths)
    say(tell("Gain and what is left above the soundcheck in dB; --why INPUT opens a row."))


def _row(one: PlannedInput, plan: Plan, tell: Tell) -> tuple[str, ...]:
    boxes = {box.tag: box for box in plan.box}
    box = f"{one.box} {one.socket}" if one.box in boxes else one.box
    unit = (
        f"{one.unit.item} {one.unit.tag}"
        if one.unit
        else tell({"split": "house mic, split", "line": "line out"}.get(one.taking, ""))
    )
    return (
        str(one.number),
        one.label,
        unit,
        tell(_run(one)),
        box,
        "–" if one.preamp_channel == 0 else tell(_db(one.gain)),
        tell(_db(one.reserve)),
    )


def _run(one: PlannedInput) -> str:
    """Say which cables are laid: 10 m yellow, or 10 + 5 m where two are joined."""
    lengths = " + ".join(metres(cable.length_m).removesuffix(" m") for cable in one.cable)
    colours = {cable.colour for cable in one.cable}
    return f"{lengths} m {colours.pop() if len(colours) == 1 else ''}".strip() if one.cable else "–"


def _db(working: Working) -> str:
    return (
        "ask"
        if working.value is None
        else figure(working.value, sign=working.unit == "dB" and "gain" in working.formula)
    )


def _lodged(plan: Plan) -> list[LeftOut]:
    """What is recorded on the row of another, while that one is silent."""
    return [one for one in plan.left_out if one.shares]


def _row_of(plan: Plan, lodged: LeftOut) -> PlannedInput:
    """The row that an input uses while another is silent; as it then stands, where it brings its own mic."""
    then = {one.id: one for one in (*plan.input, *plan.guest)}
    return then.get(lodged.id) or then[lodged.shares]


def _left_out(plan: Plan, tell: Tell) -> Iterator[str]:
    """Say what is not recorded; all that one cure brings back, in one sentence."""
    together: dict[tuple[str, ...], list[LeftOut]] = {}
    for one in plan.left_out:
        if not one.shares:
            together.setdefault((one.id,) if "it back" in one.cure else (one.blocks, one.cure), []).append(one)
    for alike in together.values():
        ranked = groupby(sorted(alike, key=lambda one: _RANKS.index(one.importance)), lambda one: one.importance)
        labels = (f"{tell(listed(one.label for one in some))} ({tell(rank)})" for rank, some in ranked)
        yield f"{'; '.join(labels)}: {_why_left_out(alike[0], tell)}"


def _why_left_out(one: LeftOut, tell: Tell) -> str:
    return f"{tell(one.blocks)}{f'; {tell(one.cure)}' if one.cure else ''}."


def _list(title: str, lines: Iterable[str]) -> None:
    texts = tuple(lines)
    if texts:
        heading(title)
        for text in texts:
            say(text, indent=1, hang=2)


def _changeovers(plan: Plan) -> Iterator[str]:
    for one in plan.changeover:
        lines = [
            f"line {line.number} {f'from {line.before} to' if line.before else 'is'} {line.after} ({line.how})"
            for line in one.line
        ]
        enough = {"yes": "", "tight": ", which is tight", "no": ", which is not enough"}[one.enough]
        yield (
            f"{one.begins:%H:%M}  {one.before} → {one.after}: about {figure(one.takes.value or 0)} min of "
            f"{figure(one.there_is_min)}{enough}; {listed(lines) or 'no line changes'}"
        )


def _day(plan: Plan, tell: Tell) -> Iterator[str]:
    from fieldfare.sheets.wording import ready_words

    for task in plan.day:
        if task.begins and task.ends:
            until = f"–{task.ends:%H:%M}" if task.ends > task.begins else ""
            yield f"{task.begins:%H:%M}{until}  {tell(task.name)}"
    if plan.ready and plan.ready.value is not None:
        yield tell(ready_words(plan.ready))


def _media(plan: Plan) -> Iterator[str]:
    per_hour, whole = plan.media.per_hour.value or 0.0, plan.media.whole.value
    night = "" if whole is None else f", {figure(whole, 1)} GB for the night"
    yield f"{figure(per_hour, 2)} GB an hour{night}"
    yield from plan.media.notes


def say_input(plan: Plan, name: str, tell: Tell = str) -> None:
    """Say one input: its path, why it is taken so, and its figures; or why it is not recorded."""
    missing = next((one for one in plan.left_out if name.casefold() in (one.id.casefold(), one.label.casefold())), None)
    if missing and not missing.shares:
        say(f"{missing.label} ({tell(missing.importance)}): {missing.source}, {tell('not recorded')}")
        _list(tell("Why"), (_why_left_out(missing, tell),))
        return
    one = _row_of(plan, missing) if missing else find_input(plan, name)
    label, source = (missing.label, missing.source) if missing else (one.label, one.source)
    say(f"{one.number}  {label}: {source}")
    if missing:
        say(f"{tell(missing.blocks)}. {tell('What follows is its row.')}", indent=1)
    for hop in one.thread:
        words = [tell(hop.name), *([tell(hop.detail)] if hop.detail and hop.detail not in hop.name else [])]
        say(f"{tell(hop.kind)}: {f'{hop.tag} ' if hop.tag else ''}{', '.join(words)}", indent=1, hang=2)
    heading(tell("Why"))
    say(tell(one.reason), indent=1)
    if one.next_best:
        say(f"{tell('Next best')}: {tell(one.next_best)}", indent=1)
    for advice in one.aiming.says if one.aiming else ():
        say(tell(advice), indent=1)
    figures = {
        "level at the mic": one.spl,
        "at the preamp": one.level,
        "gain": one.gain,
        "left": one.reserve,
        "own sound over spill": one.spill,
        "turned": one.aiming.turn if one.aiming else None,
        "the pair takes in": one.aiming.covers if one.aiming else None,
        "run": one.run.needed,
    }
    for title, working in figures.items():
        if working is not None:
            heading(tell(title))
            show_working(working, tell)


def show_working(working: Working, tell: Tell = str) -> None:
    """Write a figure with how it came about."""
    from fieldfare.sheets.figures import given_words

    value = tell("not known") if working.value is None else f"{tell(figure(working.value, 1))} {working.unit}"
    spread = f" ± {tell(figure(working.plus_minus, 1))}" if working.plus_minus else ""
    say(f"{value}{spread} = {tell(working.formula)}", indent=1, hang=2)
    for given in working.given:
        say(tell(given_words(given)), indent=3, hang=2)
    say(f"{tell(working.sure)}; {tell(working.source)}", indent=3)


def find_input(plan: Plan, name: str) -> PlannedInput:
    """Find an input by its id, label or number; a name that is nearly right is told."""
    for one in plan.input:
        if name.casefold() in (one.id.casefold(), one.label.casefold(), str(one.number)):
            return one
    near = nearest(name, [*(one.id for one in plan.input), *(one.id for one in plan.left_out)])
    hint = f"did you mean {near}?" if near else "fieldfare plan lists them"
    raise Fault(f"no input is called {name!r}", plan.title, hint)
