"""The rows of the plan: each chosen input with its pieces, its run and its figures; each one left out with its cure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fieldfare.plan.ground import Ground
from fieldfare.plan.levels import levels
from fieldfare.plan.runs import Length, trunk_length
from fieldfare.plan.spill import Air, balance, spill_working
from fieldfare.plan.wanted import Choice, Chosen, Sounding, Wanted
from fieldfare.show.kit import Cable, Kit, Mic, Pattern, Phantom, Thing
from fieldfare.show.plan import CableUse, LeftOut, PlacedBox, PlannedInput, Run, Taking, UnitUse
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.units.working import Working

Lengths = Mapping[tuple[str, Taking, str], Length]


@dataclass(frozen=True, slots=True)
class Around:
    """What every row is made with."""

    show: Show
    kit: Kit
    things: Mapping[str, Thing]  # by tag
    reach: Lengths
    sounding: tuple[Sounding, ...]
    air: Air
    shared: Mapping[str, tuple[Wanted, ...]]  # by id of the row: inputs that use it too, as it stands


def around(show: Show, kit: Kit, choice: Choice, reach: Lengths, sounding: tuple[Sounding, ...], air: Air) -> Around:
    """Put together what every row is made with."""
    things = kit.by_tag
    moved = {row.wanted.id for row in choice.guests}
    shared = {
        row.wanted.id: tuple(
            one.wanted for one in choice.not_kept if one.shares == row.wanted.id and one.wanted.id not in moved
        )
        for row in choice.chosen
    }
    return Around(show, kit, things, reach, sounding, air, shared)


def input_rows(choice: Choice, with_: Around) -> tuple[PlannedInput, ...]:
    """Make the rows of the input list, in the order of their channels; their threads are drawn afterwards."""
    return tuple(_row(one, with_) for one in choice.chosen)


def guest_rows(choice: Choice, with_: Around) -> tuple[PlannedInput, ...]:
    """Make the rows as they are while a guest of another act is on them with its own mic, or with one carried over."""
    return tuple(_row(one, with_) for one in choice.guests)


def _row(chosen: Chosen, with_: Around) -> PlannedInput:
    wanted = chosen.wanted
    figures = levels(chosen, with_.kit, with_.show.recording, with_.shared.get(wanted.id, ()))
    return PlannedInput(
        id=wanted.id,
        number=chosen.channel,
        label=wanted.label,
        source=wanted.source.name,
        recipe=wanted.source.recipe,
        part=wanted.part,
        importance=wanted.importance,
        status=wanted.source.status,
        taking=chosen.taking,
        unit=_unit(chosen.unit, with_.things),
        di_channel=chosen.di_channel,
        pattern=pattern_of(chosen, with_.things),
        phantom_need=_phantom_need(chosen, with_.things),
        at=wanted.at,
        aim=wanted.aim,
        stand=_unit(chosen.stand, with_.things),
        splitter=_unit(chosen.splitter, with_.things),
        house_split=chosen.house_split,
        lead=tuple(_cable(tag, with_.things) for tag in chosen.lead),
        cable=tuple(_cable(tag, with_.things) for tag in chosen.cable),
        run=_run(chosen, with_),
        box=chosen.box,
        socket=chosen.socket,
        trunk_line=chosen.trunk_line,
        preamp=chosen.preamp,
        preamp_channel=chosen.preamp_channel,
        channel=chosen.channel,
        phantom=chosen.phantom,
        phantom_owner=_phantom_owner(chosen, with_.things),
        pad_db=figures.pad_db,
        pair=wanted.pair,
        flip=wanted.flip,
        shared_by=chosen.shared_by,
        spl=figures.spl,
        level=figures.level,
        gain=figures.gain,
        reserve=figures.reserve,
        noise=figures.noise,
        clips_first=figures.clips_first,
        spill=_spill(chosen, with_),
        reason=chosen.reason,
        next_best=chosen.next_best,
        thread=(),
    )


def _unit(tag: str, things: Mapping[str, Thing]) -> UnitUse | None:
    return UnitUse(tag=tag, item=things[tag].item, owner=things[tag].owner) if tag else None


def _cable(tag: str, things: Mapping[str, Thing]) -> CableUse:
    cable = things[tag]
    assert isinstance(cable, Cable)
    return CableUse(tag=tag, item=cable.item, owner=cable.owner, length_m=cable.length_m, colour=cable.colour)


def pattern_of(chosen: Chosen, things: Mapping[str, Thing]) -> Pattern | None:
    """Return the pattern of a row's microphone, the house's where that is split; none where none is used."""
    thing = things.get(chosen.unit)
    if isinstance(thing, Mic):
        return thing.pattern
    split = chosen.taking == "split" and chosen.wanted.house_mic
    return split.pattern if split else None


def _phantom_need(chosen: Chosen, things: Mapping[str, Thing]) -> Phantom:
    thing = things.get(chosen.unit)
    if thing is not None:
        return getattr(thing, "phantom", "ignored")
    split = chosen.taking == "split" and chosen.wanted.house_mic
    return split.phantom if split else "ignored"


def _phantom_owner(chosen: Chosen, things: Mapping[str, Thing]) -> str:
    """Whose supply feeds it: a split line is fed by whoever holds the direct side, which is the house."""
    if _phantom_need(chosen, things) != "needed":
        return ""
    return "house" if chosen.taking == "split" else "ours"


def _run(chosen: Chosen, with_: Around) -> Run:
    length = with_.reach[chosen.wanted.id, chosen.taking, chosen.box]
    laid_m = sum(_cable(tag, with_.things).length_m for tag in chosen.cable)
    return Run(
        points=length.path.points,
        floor_m=round(length.path.floor_m, 3),
        needed=length.needed,
        laid_m=laid_m,
        crosses=length.path.crosses,
    )


def _spill(chosen: Chosen, with_: Around) -> Working:
    pattern = pattern_of(chosen, with_.things)
    if pattern is None:
        return Working(value=None, unit="dB", formula="a pickup or a line output hears no spill", source="definition")
    return spill_working(balance(chosen.wanted, pattern, with_.sounding, with_.air))


def left_out_rows(choice: Choice) -> tuple[LeftOut, ...]:
    """Make the rows of what was wanted and has no row of its own."""
    return tuple(
        LeftOut(
            id=one.wanted.id,
            label=one.wanted.label,
            source=one.wanted.source.name,
            importance=one.wanted.importance,
            status=one.wanted.source.status,
            blocks=one.blocks,
            cure=one.cure,
            shares=one.shares,
        )
        for one in choice.not_kept
    )


def trunk_run(floor: Ground, venue: Venue, boxes: tuple[PlacedBox, ...], kit: Kit) -> Run | None:
    """Lay the trunk from its stage end to the recordist; none where the recorder itself stands on the stage."""
    head = next((box for box in boxes if box.trunk), None)
    trunk = next((one for one in kit.trunk if head and head.tag in one.tags), None)
    if head is None or trunk is None:
        return None
    length = trunk_length(floor, venue, head.at)
    return Run(
        points=length.path.points,
        floor_m=round(length.path.floor_m, 3),
        needed=length.needed,
        laid_m=trunk.length_m,
        crosses=length.path.crosses,
    )
