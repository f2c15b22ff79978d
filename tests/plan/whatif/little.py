"""A little show as a standing plan, without the rooms that a whole plan goes through."""

from __future__ import annotations

from typing import Any, TypeVar, cast

from plan.little_shows import LittleShow
from plan.whatif.every import alive
from pydantic import BaseModel

from fieldfare.plan.choice import choose
from fieldfare.plan.choice.case import Asked
from fieldfare.plan.make import Documents
from fieldfare.plan.wanted import Choice, Chosen
from fieldfare.plan.whatif.standing import Laid, Standing, standing_from
from fieldfare.show.kit import Kit
from fieldfare.show.plan import CableUse, LeftOut, PlacedBox, Plan, PlannedInput, UnitUse

Model = TypeVar("Model", bound=BaseModel)


def chosen(little: LittleShow) -> Choice:
    """Choose for a little show."""
    return choose(
        little.wanted, little.kit, little.needed_m, show=little.show, venue=little.venue,
        fitness=little.fitness, joins_allowed=little.joins, explain=False,
    )  # fmt: skip


def standing(little: LittleShow, choice: Choice) -> Standing:
    """Put what was chosen into the terms of the fewest changes; the whole kit is at the venue."""
    kept = {row.wanted.id for row in choice.chosen} | {one.wanted.id for one in choice.not_kept if one.shares}
    wanted = tuple(one for one in little.wanted if one.id in kept)
    show = little.show.model_copy(update={"pin": ()})
    kit = alive(little.kit, set())
    asked = Asked(wanted, kit, little.needed_m, show, little.venue, little.fitness, little.joins, _alone(kit, choice))
    of = Documents(show, little.venue, kit, {})
    laid = Laid(wanted, cast(Any, None), {}, (), cast(Any, None))
    return standing_from(asked, of, _plan(kit, choice), laid)


def _made(model: type[Model], **fields: object) -> Model:
    """Make a document with some of its fields only."""
    return model.model_construct(**cast(Any, fields))


def _alone(kit: Kit, choice: Choice) -> frozenset[str]:
    used = {row.unit for row in choice.chosen}
    return frozenset(
        used & ({t for mic in kit.mic for p in mic.pairs for t in p} | {t for di in kit.di for t in di.tags})
    )


def _plan(kit: Kit, choice: Choice) -> Plan:
    boxes = [(one.item, tag, kind) for kind in ("box", "trunk") for one in getattr(kit, kind) for tag in one.tags]
    used = {row.box for row in choice.chosen}
    return _made(
        Plan,
        input=tuple(_row(kit, row) for row in choice.chosen),
        guest=(),
        left_out=tuple(
            _made(LeftOut, id=one.wanted.id, shares=one.shares, blocks="", cure="") for one in choice.not_kept
        ),
        box=tuple(
            _made(PlacedBox, tag=tag, item=item, trunk=kind == "trunk")
            for item, tag, kind in boxes
            if kind == "trunk" or tag in used
        ),
        pack=(),
    )


def _row(kit: Kit, row: Chosen) -> PlannedInput:
    items = {tag: thing for thing in kit.things for tag in thing.tags}

    def unit(tag: str) -> UnitUse | None:
        return UnitUse(tag=tag, item=items[tag].item) if tag else None

    def cables(tags: tuple[str, ...]) -> tuple[CableUse, ...]:
        return tuple(CableUse(tag=tag, item=items[tag].item, length_m=1) for tag in tags)

    return _made(
        PlannedInput,
        id=row.wanted.id, label=row.wanted.label, source=row.wanted.source.name, importance=row.wanted.importance,
        taking=row.taking, unit=unit(row.unit), di_channel=row.di_channel, stand=unit(row.stand),
        splitter=unit(row.splitter), house_split=row.house_split, lead=cables(row.lead), cable=cables(row.cable),
        box=row.box, socket=row.socket, trunk_line=row.trunk_line, preamp=row.preamp,
        preamp_channel=row.preamp_channel, channel=row.channel, phantom=row.phantom, shared_by=row.shared_by,
        reason="",
    )  # fmt: skip
