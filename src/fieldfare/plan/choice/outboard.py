"""Preamps outside the recorder: who may go through which, by what they ask of the phantom switch."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from typing import TypeAlias

from fieldfare.plan.choice.case import Outboard

Counts: TypeAlias = tuple[int, int, int]  # inputs that need phantom, that ignore it, and that it harms
Shares: TypeAlias = tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]  # the same, by entry


def shares_of(outboards: Sequence[Outboard], counts: Counts) -> Shares | None:
    """Share inputs out among outboard preamps.

    Parameters
    ----------
    outboards
        The entries.
    counts
        How many inputs there are of each kind.

    Returns
    -------
    How many of each kind go through each entry; none where they do not fit.
    """
    units = [len(one.tags) for one in outboards]
    for live in product(
        *(range(n + 1) if one.thing.phantom == "all at once" else (0,) for n, one in zip(units, outboards, strict=True))
    ):
        found = _shared(outboards, live, counts)
        if found is not None:
            return found
    return None


def _shared(outboards: Sequence[Outboard], live: Sequence[int], counts: Counts) -> Shares | None:
    """Share out with so many units of each entry switched on: those that fit fewest entries first."""
    rooms: tuple[list[int], list[int], list[int]] = ([], [], [])  # with phantom, without, either
    for one, on in zip(outboards, live, strict=True):
        total = len(one.tags) * one.channels
        on_all = on * one.channels
        by_switch = {"by channel": (0, 0, total), "none": (0, total, 0), "all at once": (on_all, total - on_all, 0)}
        for room, places in zip(rooms, by_switch[one.thing.phantom], strict=True):
            room.append(places)
    with_, without, either = rooms
    needed, harmful = _poured(counts[0], with_, either), _poured(counts[2], without, either)
    ignored = _poured(counts[1], with_, without, either)
    return (needed, ignored, harmful) if needed is not None and harmful is not None and ignored is not None else None


def _poured(count: int, *rooms: list[int]) -> tuple[int, ...] | None:
    """Take places from one room after another; what was taken is gone from them."""
    taken = [0] * len(rooms[0])
    for room in rooms:
        for entry, places in enumerate(room):
            here = min(places, count)
            room[entry] -= here
            taken[entry] += here
            count -= here
    return None if count else tuple(taken)
