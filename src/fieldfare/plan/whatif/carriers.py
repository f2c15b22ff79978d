"""Boxes, trunks and recorders with a spare at the venue: the spare goes where the dead one was, all plugs as before."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from fieldfare.plan.choice.stock import natural
from fieldfare.plan.whatif.dead import Dead
from fieldfare.plan.whatif.standing import Standing, standing_of
from fieldfare.show.kit import Box, Kit, Recorder, Trunk
from fieldfare.show.plan import Plan


@dataclass(frozen=True, slots=True)
class Instead:
    """A standing plan with spares in the place of what carries its signals, and what is dead of it then."""

    standing: Standing
    dead: Dead
    swaps: Mapping[str, str] = field(default_factory=dict[str, str])  # dead, spare


def ways_round(standing: Standing, dead: Dead) -> Iterator[Instead]:
    """List what can be done before anything is plugged over: nothing, or spares for all that carries signals."""
    yield Instead(standing, dead)
    spares = _spares(standing, dead)
    if spares:
        yield _swapped(standing, dead, spares)


def _spares(standing: Standing, dead: Dead) -> dict[str, str]:
    """Find a spare for each dead box, trunk or recorder in use: the smallest that is large enough, or the largest."""
    found: dict[str, str] = {}
    in_use = {box.tag for box in standing.plan.box} | {standing.case.recorder_tag}
    packed = {tag for line in standing.plan.pack for tag in line.tags}
    for tag in sorted(dead.tags & in_use, key=natural):
        mine = _thing(standing.of.kit, tag)
        free = [
            (one, spare)
            for one in _things(standing.of.kit)
            for spare in sorted(one.good_tags, key=natural)
            if type(one) is type(mine) and (spare in packed or one.owner == "house")
            if spare not in in_use | dead.tags | {*found.values()} and mine is not None and _reaches(one, mine)
        ]
        if mine is not None and free:
            need = mine.size
            found[tag] = min(free, key=lambda one: (one[0].size < need, abs(one[0].size - need)))[1]
    return found


def _things(kit: Kit) -> tuple[Box | Trunk | Recorder, ...]:
    return (*kit.box, *kit.trunk, *kit.recorder)


def _thing(kit: Kit, tag: str) -> Box | Trunk | Recorder | None:
    return next((one for one in _things(kit) if tag in one.tags), None)


def _reaches(spare: Box | Trunk | Recorder, mine: Box | Trunk | Recorder) -> bool:
    if isinstance(spare, Box) and isinstance(mine, Box):
        return spare.tail_m >= mine.tail_m
    return not (isinstance(spare, Trunk) and isinstance(mine, Trunk)) or spare.length_m >= mine.length_m


def _swapped(standing: Standing, dead: Dead, spares: Mapping[str, str]) -> Instead:
    """Rename what is dead to its spare; sockets, lines and channels that the spare does not have are dead as well."""
    sockets, lines = set(dead.sockets), set(dead.lines)
    for tag, spare in spares.items():
        mine, other = _thing(standing.of.kit, tag), _thing(standing.of.kit, spare)
        if isinstance(mine, Box) and isinstance(other, Box):
            sockets |= {(tag, socket) for socket in range(other.lines + 1, mine.lines + 1)}
        if isinstance(mine, Trunk) and isinstance(other, Trunk) and tag in standing.ranges:
            lines |= set(standing.ranges[tag][other.lines :])
    left = replace(dead, tags=dead.tags - {*spares}, sockets=frozenset(sockets), lines=frozenset(lines))
    recorder = spares.get(standing.case.recorder_tag)
    return Instead(_with_recorder(standing, recorder) if recorder else standing, left, spares)


def _with_recorder(standing: Standing, spare: str) -> Standing:
    """Put another recorder in the place of the one there is, its channels by the same numbers."""
    old, kit = standing.case.recorder_tag, standing.of.kit
    mine = _thing(kit, spare)
    assert isinstance(mine, Recorder)
    renamed = {old: spare}
    plan = _renamed(standing.plan, renamed)
    kit = kit.model_copy(update={"recorder": (mine.model_copy(update={"tags": (spare,)}),)})
    return standing_of(replace(standing.of, kit=kit), plan)


def _renamed(plan: Plan, names: Mapping[str, str]) -> Plan:
    rows = tuple(
        row.model_copy(
            update={"preamp": names.get(row.preamp, row.preamp), "box": names.get(row.box, row.box)},
        )
        for row in plan.input
    )
    boxes = tuple(box.model_copy(update={"tag": names.get(box.tag, box.tag)}) for box in plan.box)
    return plan.model_copy(update={"input": rows, "box": boxes})
