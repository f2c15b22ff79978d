"""The fewest changes found by trying everything: every plan of a little show, every naming of its units and channels.

It shares no code with the solver. Rows are made of entries of the kit first, as in `plan/exhaustive.py`; units and
channels are then named in every way.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import permutations, product

from plan import exhaustive
from plan.exhaustive import Guest, Option
from plan.little_shows import LittleShow

from fieldfare.plan.wanted import Chosen
from fieldfare.show.kit import Di, Kit, Mic, Thing

Rank = tuple[int, ...]  # must, want, nice inputs kept, negative; changes


def alive(kit: Kit, dead: set[str]) -> Kit:
    """The kit with dead units marked, and nothing kept back."""
    kinds = {}
    for kind in ("mic", "di", "splitter", "stand", "cable", "box", "trunk", "recorder", "preamp"):
        kinds[kind] = tuple(
            thing.model_copy(
                update={"faulty": thing.faulty | dict.fromkeys(set(thing.tags) & dead, "dead"), "keep_back": 0}
            )
            for thing in getattr(kit, kind)
        )
    return kit.model_copy(update=kinds)


def fewest(little: LittleShow, stands: Mapping[int, Chosen], hosts: Mapping[int, int], dead: set[str]) -> Rank:
    """Return the best that there is: inputs kept by importance, then changes.

    Parameters
    ----------
    little
        The show with the kept inputs only, its kit with the dead units marked.
    stands
        The rows as they stand, by number of the input.
    hosts
        Guests as they stand.
    dead
        Tags that cannot be used.
    """
    found = [
        (*kept[:3], changes)
        for taken, kept in _plans(little)
        for changes in [_changes(little, taken, stands, hosts, dead)]
        if changes is not None
    ]
    return min(found)


def _plans(little: LittleShow) -> Iterator[tuple[list[object], tuple[int, ...]]]:
    """Every plan that can be rigged, made of entries, with what it keeps."""
    options = [exhaustive._options(little, one) for one in little.wanted]
    choices: list[list[object]] = [
        [None, *(Guest(host) for host in range(len(options)) if _may_share(little, number, host)), *mine]
        for number, mine in enumerate(options)
    ]
    for taken in product(*choices):
        used = Counter(piece.item for one in taken if isinstance(one, Option) for piece in one.pieces)
        limits = {
            piece.item: exhaustive._limit(piece) for one in taken if isinstance(one, Option) for piece in one.pieces
        }
        if all(count <= limits[item] for item, count in used.items()):
            value = exhaustive._value(little, list(taken))
            if value is not None:
                yield list(taken), value


def _may_share(little: LittleShow, guest: int, host: int) -> bool:
    return exhaustive._may_share(little.wanted[guest], little.wanted[host], guest > host)


def _changes(
    little: LittleShow, taken: Sequence[object], stands: Mapping[int, Chosen], hosts: Mapping[int, int], dead: set[str]
) -> int | None:
    rows = {number: one for number, one in enumerate(taken) if isinstance(one, Option)}
    guests = sum(hosts.get(number) != one.host for number, one in enumerate(taken) if isinstance(one, Guest))
    units = _units_changed(little, rows, stands)
    channels = _channels_changed(little, rows, stands)
    if units is None or channels is None:
        return None
    things = {tag: thing for thing in little.kit.things for tag in thing.tags}
    return guests + units + channels + sum(
        _others_changed(little, one, stands.get(number), things, dead) for number, one in rows.items()
    )  # fmt: skip


def _others_changed(
    little: LittleShow, one: Option, stood: Chosen | None, things: Mapping[str, Thing], dead: set[str]
) -> int:
    """Stand, splitter, leads, cables, box and line: those who keep an entry keep their unit of it, if it is alive."""
    wanted = [((one.stand,), "stand"), ((one.splitter,), "splitter"), (one.leads, "lead"), (one.cables, "cable")]
    changed = 0
    for pieces, field in wanted:
        now = Counter(piece.item for piece in pieces if piece is not None)
        had = getattr(stood, field) if stood else ()
        tags = [tag for tag in ((had,) if isinstance(had, str) else had) if tag]
        was = Counter(things[tag].item for tag in tags)
        changed += bool(now) and (now != was or bool(set(tags) & dead))
    return changed + (stood is None or stood.box != one.box) + (bool(little.kit.trunk) and stood is None)


def _units_changed(little: LittleShow, rows: Mapping[int, Option], stands: Mapping[int, Chosen]) -> int | None:
    """Name mics and DIs in every way; a split or a line output is changed where it was not one of that kind before."""
    changed = 0
    for number, one in rows.items():
        if one.item is None:
            stood = stands.get(number)
            now = "line" if one.line else "house" if one.house else "split"
            was = (
                "" if stood is None else "line" if stood.taking == "line" else "house" if stood.house_split else "split"
            )
            split = stood is not None and stood.taking in ("split", "line")
            changed += not (split and was == now)
    by_item: dict[str, list[int]] = {}
    for number, one in rows.items():
        if one.item is not None:
            by_item.setdefault(one.item.item, []).append(number)
    for numbers in by_item.values():
        item = rows[numbers[0]].item
        assert item is not None
        best = min(_namings(little, item, numbers, stands), default=None)
        if best is None:
            return None
        changed += best[1]
    return changed


def _namings(
    little: LittleShow, item: Thing, numbers: list[int], stands: Mapping[int, Chosen]
) -> Iterator[tuple[int, int]]:
    two = isinstance(item, Di) and item.channels == 2
    tags = [tag for tag in item.good_tags for _ in range(2 if two else 1)]
    for named in set(permutations(tags, len(numbers))):
        by_number = dict(zip(numbers, named, strict=True))
        if isinstance(item, Mic) and exhaustive._unmatched(little, item, by_number, {}) is None:
            continue
        yield 0, sum(n not in stands or stands[n].unit != tag for n, tag in by_number.items())


def _channels_changed(little: LittleShow, rows: Mapping[int, Option], stands: Mapping[int, Chosen]) -> int | None:
    recorder = little.kit.recorder[0]
    numbers = list(rows)
    best: int | None = None
    for seats in permutations(range(1, recorder.preamps + recorder.line_inputs + 1), len(numbers)):
        placed = dict(zip(numbers, seats, strict=True))
        if exhaustive._outboard(little.kit, recorder, dict(rows), placed) is None:
            continue
        changed = sum(_moved(recorder.preamps, rows[n], stands.get(n), channel) for n, channel in placed.items())
        best = changed if best is None else min(best, changed)
    return best


def _moved(preamps: int, one: Option, stood: Chosen | None, channel: int) -> bool:
    if stood is None or stood.channel != channel:
        return True
    return channel > preamps and one.line != (stood.taking == "line")  # through an outboard preamp, or not any more


def without(little: LittleShow, kept: Sequence[str], dead: set[str]) -> LittleShow:
    """The show with those inputs only that are kept, no pins, and the dead units marked."""
    wanted = tuple(one for one in little.wanted if one.id in kept)
    show = little.show.model_copy(update={"pin": ()})
    return replace(little, wanted=wanted, kit=alive(little.kit, dead), show=show)
