"""The bins in the vehicle: in load order from behind the seats to the doors, so that what goes in last comes out first.

Bin by bin: on top of one that nothing has been put in front of, if that is no smaller and the roof allows; else on the
floor, wherever it ends nearest to the seats, turned in three manners of which the best counts. That is a way of
loading, not proven to be the shortest: where it does not fit, a volume or a weight beyond the vehicle's is told apart
from a mere lack of room in this order. Lashing, axle loads and what may stand on what are for whoever drives.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from fieldfare.show.kit import Bin, Kit
from fieldfare.show.plan import BinWeight, Load, LoadPlace
from fieldfare.show.show import Vehicle
from fieldfare.units.sources import PRACTICE
from fieldfare.units.text import figure, listed, metres
from fieldfare.units.working import Given, Working

Turn = Literal[0, 1] | None
TURNS: tuple[Turn, ...] = (None, 0, 1)  # each bin as it ends nearest, all across, all along: the shortest of these
SLACK_M = 0.02  # beside each bin: nothing goes in to the millimetre


@dataclass(slots=True)
class _Stack:
    """Bins on one another."""

    right_m: float
    back_m: float
    wide_m: float
    deep_m: float
    high_m: float
    names: list[str] = field(default_factory=list)


def load(vehicle: Vehicle | None, kit: Kit, weights: Sequence[BinWeight]) -> Load | None:
    """Load the packed bins into a vehicle.

    Parameters
    ----------
    vehicle
        Its loading space and payload; none where the show names none.
    kit
        The bins' sizes and load order.
    weights
        Of all that is packed, by bin; what lies in no bin counts by its weight alone.
    """
    if vehicle is None:
        return None
    packed = {one.bin for one in weights}
    bins = sorted((one for one in kit.bin if one.name in packed), key=lambda one: one.load_order)
    sized = [one for one in bins if one.length_m and one.width_m and one.height_m]
    places = min((_places(vehicle, sized, turn) for turn in TURNS), key=_end, default=None)
    unknown = [one.name for one in bins if one not in sized]
    taken_m = round(max((one.back_m + one.deep_m for one in places or ()), default=0.0), 2)
    weight = _weight(vehicle, weights)
    notes = list(_notes(vehicle, sized, places, unknown, taken_m))
    if vehicle.payload_kg is not None and (weight.value or 0) > vehicle.payload_kg:
        notes.append(f"{figure(weight.value or 0)} kg is over the payload of {figure(vehicle.payload_kg)} kg")
    wrong = places is None or taken_m > vehicle.length_m or len(notes) > len(unknown[:1])
    return Load(
        vehicle=vehicle.name,
        fits=False if wrong else None if unknown else True,
        place=tuple(places or ()),
        length=_length(vehicle, taken_m, len(sized)),
        weight=weight,
        notes=tuple(notes),
    )


def _end(places: list[LoadPlace] | None) -> float:
    """How far back the last of the bins ends."""
    return max((one.back_m + one.deep_m for one in places), default=0.0) if places is not None else 0.0


def _places(vehicle: Vehicle, bins: Iterable[Bin], turn: Turn) -> list[LoadPlace] | None:
    """Put bins in one after the other; none where one of them goes in no way round."""
    stacks: list[_Stack] = []
    for one in bins:
        sides = ((one.length_m or 0) + SLACK_M, (one.width_m or 0) + SLACK_M)
        high_m = one.height_m or 0
        below = _below(stacks, sides, vehicle.height_m - high_m)
        if below is not None:
            below.names.append(one.name)
            below.high_m += high_m
            continue
        ways = [(wide, deep) for wide, deep in (sides, sides[::-1]) if wide <= vehicle.width_m]
        if not ways or high_m > vehicle.height_m or min(sides) > vehicle.width_m or max(sides) > _longest(vehicle):
            return None
        ways = [max(ways, key=lambda way: way[turn])] if turn is not None else ways
        spots = [(*_spot(stacks, wide, vehicle.width_m), wide, deep) for wide, deep in ways]
        back_m, right_m, wide, deep = min(spots, key=lambda spot: (round(spot[0] + spot[3], 6), spot[1]))
        stacks.append(_Stack(right_m, back_m, wide, deep, high_m, [one.name]))
    return [
        LoadPlace(
            stack=tuple(stack.names),
            right_m=round(stack.right_m, 3),
            back_m=round(stack.back_m, 3),
            wide_m=round(stack.wide_m, 3),
            deep_m=round(stack.deep_m, 3),
        )
        for stack in stacks
    ]


def _longest(vehicle: Vehicle) -> float:
    return max(vehicle.length_m, vehicle.width_m)


def _spot(stacks: Sequence[_Stack], wide_m: float, width_m: float) -> tuple[float, float]:
    """Where something so wide goes nearest to the seats: how far back, and how far from the left."""
    lefts = {0.0, *(one.right_m + one.wide_m for one in stacks), *(one.right_m - wide_m for one in stacks)}
    fit = [left for left in lefts if left >= -1e-9 and left + wide_m <= width_m + 1e-9]
    return min((max((_back(one) for one in stacks if _across(one, left, wide_m)), default=0.0), left) for left in fit)


def _back(stack: _Stack) -> float:
    return stack.back_m + stack.deep_m


def _across(stack: _Stack, left_m: float, wide_m: float) -> bool:
    return stack.right_m < left_m + wide_m - 1e-9 and left_m < stack.right_m + stack.wide_m - 1e-9


def _below(stacks: Sequence[_Stack], sides: tuple[float, float], room_m: float) -> _Stack | None:
    """The first stack that a bin may stand on: no smaller than it, and nothing put in between it and the doors."""
    for stack in stacks:
        free = not any(
            _across(one, stack.right_m, stack.wide_m) and one.back_m >= _back(stack) - 1e-9 for one in stacks
        )
        mine = sorted((stack.wide_m, stack.deep_m), reverse=True)
        needs = sorted(sides, reverse=True)
        if free and stack.high_m <= room_m and needs[0] <= mine[0] + 1e-9 and needs[1] <= mine[1] + 1e-9:
            return stack
    return None


def _notes(
    vehicle: Vehicle, bins: Sequence[Bin], places: list[LoadPlace] | None, unknown: Sequence[str], taken_m: float
) -> Iterable[str]:
    if unknown:
        yield f"the size of {listed(unknown)} is not known"
    if places is None:
        yield f"a bin is larger than the loading space of {vehicle.name}"
        return
    if taken_m > vehicle.length_m:
        volume_m3 = sum((one.length_m or 0) * (one.width_m or 0) * (one.height_m or 0) for one in bins)
        space_m3 = vehicle.length_m * vehicle.width_m * vehicle.height_m
        why = "in no order, for they have more volume" if volume_m3 > space_m3 else "in this order"
        yield f"the bins need {metres(taken_m)} of {metres(vehicle.length_m)}: they do not fit {why}"


def _length(vehicle: Vehicle, taken_m: float, bins: int) -> Working:
    return Working(
        value=taken_m,
        unit="m",
        formula="the farthest back that a bin ends, put in one by one in load order",
        given=(
            Given(name="bins", value=bins),
            Given(name="length", value=vehicle.length_m, unit="m"),
            Given(name="width", value=vehicle.width_m, unit="m"),
            Given(name="height", value=vehicle.height_m, unit="m"),
            Given(name="slack beside each", value=SLACK_M, unit="m"),
        ),
        source=PRACTICE,
        sure="estimate",
    )


def _weight(vehicle: Vehicle, weights: Sequence[BinWeight]) -> Working:
    total_kg = sum(one.weight.value or 0 for one in weights)
    least = any(one.weight.sure != "sure" for one in weights)
    payload = vehicle.payload_kg
    return Working(
        value=round(total_kg, 1),
        unit="kg",
        formula="at least Σ bins and loose things" if least else "Σ bins and loose things",
        given=(
            Given(name="bins and loose", value=len(weights)),
            Given(name="payload", value="unknown" if payload is None else payload, unit="kg"),
        ),
        source="definition",
        sure="estimate" if least else "sure",
    )
