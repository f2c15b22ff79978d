"""Who plays when: which sources sound in which sets, and so which of them never sound together."""

from __future__ import annotations

from collections.abc import Collection

from fieldfare.show.show import Show

Sets = frozenset[int]  # numbers of sets from 0, in the order of the evening; empty: all of them


def sets_of(show: Show) -> dict[str, Sets]:
    """Tell in which sets each source sounds; empty where that is all of them.

    A set that names no act is played by all. An act that no set names is there all evening: a room pair, a presenter.

    Parameters
    ----------
    show
        Its sets in order, and its acts.

    Returns
    -------
    Numbers of sets, from 0, by the name of the source.
    """
    every = range(len(show.set))
    named = {name for one in show.set for name in one.act}
    found: dict[str, Sets] = {}
    for act in show.act:
        plays = {number for number in every if not show.set[number].act or act.name in show.set[number].act}
        sets = frozenset(plays) if act.name in named and len(plays) < len(show.set) else frozenset[int]()
        found |= {source.name: sets for source in act.source}
    return found


def apart(one: Collection[int], other: Collection[int]) -> bool:
    """Tell whether two things that sound in these sets never sound together.

    >>> apart({0}, {1, 2}), apart({0, 1}, {1}), apart({0}, ())
    (True, False, False)
    """
    return bool(one) and bool(other) and not set(one) & set(other)


def in_set(sets: Sets, number: int) -> bool:
    """Tell whether something sounds in a set."""
    return not sets or number in sets
