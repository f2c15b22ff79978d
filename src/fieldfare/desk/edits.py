"""What a person changes on a page, as pure functions from one show to the next."""

from __future__ import annotations

from typing import Literal

from fieldfare.show.plan import Plan
from fieldfare.show.record import Place
from fieldfare.show.show import Act, BoxPlace, Pin, Show, Source
from fieldfare.units.faults import Fault

Movable = Literal["source", "wedge", "box"]


def pin_input(
    show: Show, id: str, *, use: str = "", stand: str = "", box: str = "", channel: str = "", keep: str = ""
) -> Show:
    """Return the show with a pin that says this of an input; a pin that says nothing is taken out.

    Raises
    ------
    Fault
        The channel is not a number.
    """
    if channel and not channel.isdigit():
        raise Fault(f"{channel!r} is not the number of a channel", id, "write a whole number, or leave it blank")
    before = next((one for one in show.pin if one.input == id), Pin(input=id))
    number = int(channel) if channel else None
    return _with_pin(
        show,
        before.model_copy(
            update={
                "use": use,
                "stand": stand,
                "box": box,
                "channel": number,
                "line": before.line if number == before.channel else None,
                "keep": _yes_or_no(keep),
            }
        ),
    )


def set_kept(show: Show, id: str, keep: str) -> Show:
    """Return the show with an input kept ("yes"), left out ("no") or left to the program ("")."""
    before = next((one for one in show.pin if one.input == id), Pin(input=id))
    return _with_pin(show, before.model_copy(update={"keep": _yes_or_no(keep)}))


def move_input(show: Show, plan: Plan, id: str, number: int) -> Show:
    """Return the show with an input on another number, and the one that had it on the number that is free now.

    Raises
    ------
    Fault
        There is no such input, or no such channel.
    """
    rows = {row.id: row for row in plan.input}
    if id not in rows:
        raise Fault("there is no such input in the plan", id, "only what is recorded has a number")
    if number > plan.channels:
        raise Fault(f"there is no channel {number}", rows[id].label, f"the recorder has {plan.channels}")
    other = next((row for row in plan.input if row.channel == number), None)
    for row, channel in ((rows[id], number), *([(other, rows[id].channel)] if other and other.id != id else [])):
        before = next((one for one in show.pin if one.input == row.id), Pin(input=row.id))
        show = _with_pin(show, before.model_copy(update={"channel": channel, "line": None}))
    return show


def _with_pin(show: Show, pin: Pin) -> Show:
    says = pin != Pin(input=pin.input)
    if any(one.input == pin.input for one in show.pin):
        pins = [pin if one.input == pin.input else one for one in show.pin]
    else:
        pins = [*show.pin, pin]
    return show.model_copy(update={"pin": tuple(one for one in pins if one.input != pin.input or says)})


def _yes_or_no(said: str) -> bool | None:
    return {"yes": True, "no": False}.get(said)


def place(show: Show, what: Movable, name: str, at: Place) -> Show:
    """Return the show with a source, a wedge or one of our boxes at another place.

    Raises
    ------
    Fault
        There is no such thing.
    """
    at = (round(at[0], 2) + 0.0, round(at[1], 2) + 0.0)  # no minus zero
    if what == "box":
        others = tuple(one for one in show.box_place if one.box != name)
        return show.model_copy(update={"box_place": (*others, BoxPlace(box=name, at=at))})
    if what == "wedge":
        if name not in [one.name for one in show.wedge]:
            raise Fault("there is no such wedge", name, "the drawing has them all")
        moved = tuple(one.model_copy(update={"at": at}) if one.name == name else one for one in show.wedge)
        return show.model_copy(update={"wedge": moved})
    return change_source(show, name, at=at)


def change_source(show: Show, source: str, **changed: object) -> Show:
    """Return the show with some fields of a source changed.

    Raises
    ------
    Fault
        There is no such source.
    """
    if source not in [one.name for one in show.sources]:
        raise Fault("there is no such source", source, "the line-up has them all")
    name = changed.get("name", source)

    def changed_source(one: Source) -> Source:
        if one.name == source:
            return one.model_copy(update=changed)
        return one.model_copy(update={"doubles_with": name}) if one.doubles_with == source else one

    acts = [act.model_copy(update={"source": tuple(map(changed_source, act.source))}) for act in show.act]
    return show.model_copy(update={"act": tuple(acts)})


def add_sources(show: Show, act: str, sources: tuple[Source, ...]) -> Show:
    """Return the show with sources added to an act; the act is made where it is not there."""
    acts = list(show.act)
    name = act or (acts[0].name if acts else show.title)
    found = next((n for n, one in enumerate(acts) if one.name == name), None)
    if found is None:
        acts.append(Act(name=name, source=sources))
    else:
        acts[found] = acts[found].model_copy(update={"source": (*acts[found].source, *sources)})
    return show.model_copy(update={"act": tuple(acts)})


def remove_source(show: Show, source: str) -> Show:
    """Return the show without a source."""
    acts = [
        act.model_copy(update={"source": tuple(one for one in act.source if one.name != source)}) for act in show.act
    ]
    return show.model_copy(update={"act": tuple(acts)})
