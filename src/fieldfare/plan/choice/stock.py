"""The kit as the choice sees it: units that it cannot tell apart lie in one heap, and a heap is counted, not named."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass
from typing import TypeVar

from fieldfare.show.kit import Kit, Mic, Thing
from fieldfare.show.show import Show

AnyThing = TypeVar("AnyThing", bound=Thing)

OWNERS = ("ours", "band", "house", "hired")  # in the order in which they are used


@dataclass(frozen=True, slots=True)
class Heap:
    """Good units of one entry of the kit that are alike for this show."""

    thing: Thing
    tags: tuple[str, ...]  # in natural order
    entry: int  # number of the entry that the units come from

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """The matched pairs that lie whole in this heap."""
        matched = self.thing.pairs if isinstance(self.thing, Mic) else ()
        return tuple(pair for pair in matched if set(pair) <= set(self.tags))


@dataclass(frozen=True, slots=True)
class Stock:
    """All heaps, and how many units of each entry may be planned."""

    heaps: tuple[Heap, ...]
    limits: tuple[int, ...]  # by entry: good units less those kept back

    def of(self, *kinds: type[Thing]) -> Iterator[tuple[int, Heap]]:
        """List the heaps of some kinds with their numbers."""
        return ((number, heap) for number, heap in enumerate(self.heaps) if isinstance(heap.thing, kinds))

    def heap_of(self, tag: str) -> int | None:
        """Return the number of the heap in which a tag lies."""
        return next((number for number, heap in enumerate(self.heaps) if tag in heap.tags), None)


def natural(tag: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key that sorts tags as a person does.

    >>> sorted(["M-10", "M-9", "A-1"], key=natural)
    ['A-1', 'M-9', 'M-10']
    """
    return tuple(
        (0, int(part), "") if part.isdecimal() else (1, 0, part) for part in re.split(r"(\d+)", tag.casefold()) if part
    )


def preferred(things: Iterable[AnyThing]) -> list[AnyThing]:
    """Sort entries in the order in which they are used: by owner, item and tag, whatever the order of the document."""
    return sorted(
        things,
        key=lambda thing: (OWNERS.index(thing.owner), thing.item.casefold(), natural(min(thing.tags, key=natural))),
    )


def stock_of(kit: Kit, show: Show, alone: Set[str] = frozenset()) -> Stock:
    """Sort the good units of a kit into heaps; a unit that is named lies alone, as does its matched other half.

    Parameters
    ----------
    kit
        What there is.
    show
        Its pins name units.
    alone
        Further units that are to be told apart from all others.
    """
    named = {tag for pin in show.pin for tag in (pin.use, pin.stand, *pin.never) if tag} | alone
    heaps: list[Heap] = []
    limits: list[int] = []
    for kind in (kit.mic, kit.di, kit.splitter, kit.stand, kit.cable):
        for thing in preferred(kind):
            heaps += _heaps(thing, named, len(limits))
            limits.append(max(0, len(thing.good_tags) - thing.keep_back))
    return Stock(tuple(heaps), tuple(limits))


def _heaps(thing: Thing, named: Set[str], entry: int) -> Iterator[Heap]:
    alone = set(named)
    if isinstance(thing, Mic):
        alone |= {tag for pair in thing.pairs if named & set(pair) for tag in pair}
    tags = sorted(thing.good_tags, key=natural)
    together = tuple(tag for tag in tags if tag not in alone)
    if together:
        yield Heap(thing, together, entry)
    for tag in tags:
        if tag in alone:
            yield Heap(thing, (tag,), entry)


def matched_heaps(stock: Stock) -> list[tuple[int, int, int]]:
    """List the heaps between which matched pairs exist: first heap, second heap, how many pairs."""
    found: list[tuple[int, int, int]] = []
    for number, heap in stock.of(Mic):
        if heap.pairs:
            found.append((number, number, len(heap.pairs)))
    for left, right in _split_pairs(stock):
        found += [(left, right, 1), (right, left, 1)]
    return found


def _split_pairs(stock: Stock) -> Iterator[tuple[int, int]]:
    seen: set[tuple[str, str]] = set()
    for _, heap in stock.of(Mic):
        for first, second in heap.thing.pairs if isinstance(heap.thing, Mic) else ():
            left, right = stock.heap_of(first), stock.heap_of(second)
            if left is not None and right is not None and left != right and (first, second) not in seen:
                seen.add((first, second))
                yield left, right


def take(tags: Sequence[str], used: set[str]) -> str:
    """Take the first tag that is not used yet, and mark it used."""
    tag = next(tag for tag in tags if tag not in used)
    used.add(tag)
    return tag
