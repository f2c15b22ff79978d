"""Bins in the vehicle: no two in one place, nothing through a wall, and what goes in last comes out first."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldfare.plan.load import load
from fieldfare.show.kit import Bin, Kit
from fieldfare.show.plan import BinWeight, Load
from fieldfare.show.show import Vehicle
from fieldfare.units.working import Working

VAN = Vehicle(name="van", length_m=2.0, width_m=1.2, height_m=1.0, payload_kg=300)
SIDES = st.floats(0.2, 1.1).map(lambda side: round(side, 2))
BINS = st.lists(st.tuples(SIDES, SIDES, st.floats(0.2, 0.6).map(lambda high: round(high, 2))), max_size=9)


def _load(sizes: list[tuple[float, float, float] | None], vehicle: Vehicle | None = VAN, each_kg: float = 10) -> Load:
    bins = tuple(
        Bin(name=f"bin {number}", load_order=number)
        if size is None
        else Bin(name=f"bin {number}", load_order=number, length_m=size[0], width_m=size[1], height_m=size[2])
        for number, size in enumerate(sizes)
    )
    weights = [
        BinWeight(bin=one.name, weight=Working(value=each_kg, unit="kg", formula="given", source="definition"))
        for one in bins
    ]
    found = load(vehicle, Kit(bin=tuple(reversed(bins))), weights)
    assert found is not None
    return found


@given(BINS)
def test_no_two_bins_are_in_one_place_and_the_last_comes_out_first(sizes: list[tuple[float, float, float]]) -> None:
    found = _load(list(sizes))
    names = [name for place in found.place for name in place.stack]
    assert sorted(names) == sorted(f"bin {number}" for number in range(len(sizes)))
    order = {name: int(name.split()[1]) for name in names}
    for place in found.place:
        assert place.right_m >= 0
        assert place.right_m + place.wide_m <= VAN.width_m + 1e-6
        assert [order[name] for name in place.stack] == sorted(order[name] for name in place.stack)
        assert sum(sizes[order[name]][2] for name in place.stack) <= VAN.height_m + 1e-9
    for one, other in combinations(found.place, 2):
        across = one.right_m < other.right_m + other.wide_m - 2e-3 and other.right_m < one.right_m + one.wide_m - 2e-3
        if across:
            front, behind = sorted((one, other), key=lambda place: place.back_m)
            assert front.back_m + front.deep_m <= behind.back_m + 2e-3
            assert max(order[name] for name in front.stack) < max(order[name] for name in behind.stack)
            assert all(order[name] < min(order[n] for n in behind.stack) for name in front.stack)
    fits = all(place.back_m + place.deep_m <= VAN.length_m + 2e-3 for place in found.place)
    assert found.fits is fits or found.length.value == pytest.approx(VAN.length_m, abs=0.01)


def test_what_fits_by_hand_fits() -> None:
    """Four of 0.58 by 0.98 m with 2 cm of slack lie two by two on 1.2 by 2 m of floor, and four more on them."""
    found = _load([(0.98, 0.58, 0.5)] * 8)
    assert found.fits is True
    assert found.length.value == pytest.approx(2.0)
    assert [len(place.stack) for place in found.place] == [2, 2, 2, 2]
    assert _load([(0.98, 0.58, 0.5)] * 9).fits is False


@pytest.mark.parametrize(
    ("sizes", "each_kg", "fits", "note"),
    [
        ([(2.5, 0.5, 0.5)], 10, False, "a bin is larger than the loading space of van"),
        ([(0.5, 0.5, 1.1)], 10, False, "a bin is larger than the loading space of van"),
        ([(1.15, 0.98, 0.9)] * 3, 10, False, "in no order, for they have more volume"),
        ([(0.5, 0.5, 0.5)] * 2, 200, False, "400 kg is over the payload of 300 kg"),
        ([(0.5, 0.5, 0.5), None], 10, None, "the size of bin 1 is not known"),
        ([], 10, True, ""),
    ],
)
def test_why_it_does_not_fit(
    sizes: list[tuple[float, float, float] | None], each_kg: float, fits: bool | None, note: str
) -> None:
    found = _load(sizes, each_kg=each_kg)
    assert found.fits is fits
    assert note in "; ".join(found.notes)


def test_without_a_vehicle_there_is_no_load() -> None:
    assert load(None, Kit(), ()) is None
