"""The same question answered by trying everything: every plan of a little show, the best of them by the goals in order.

It shares no code with the solver, and works on single units where the solver counts.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, permutations

from plan.little_shows import LittleShow

from fieldfare.plan.wanted import Accept, Wanted
from fieldfare.show.kit import Box, Di, Kit, Mic, Recorder, Thing, Trunk
from fieldfare.show.show import Pin

STEP = {"must": "want", "want": "nice", "nice": "nice"}
SPLIT_COST = {"transformer": 0, "active": 5, "none": 40}
HOUSE_COST = {True: 0, None: 15, False: 25}


@dataclass(frozen=True)
class Option:
    """One way to rig one input completely."""

    item: Thing | None
    splitter: Thing | None
    house: bool
    line: bool
    score: int
    stand: Thing | None
    cables: tuple[Thing, ...]
    leads: tuple[Thing, ...]
    box: str
    floor_m: float
    phantom: str

    @property
    def pieces(self) -> list[Thing]:
        """Everything it takes from the kit."""
        return [one for one in (self.item, self.splitter, self.stand, *self.cables, *self.leads) if one is not None]


@dataclass(frozen=True)
class Guest:
    """An input that uses the row of another."""

    host: int


def best(little: LittleShow) -> tuple[int, ...] | None:
    """Return the best value of every goal in order, smaller is better; none where the pins cannot be held.

    must, want, nice, fitness, hired, house, band, joins, metres, hops, floor metres; lengths in decimetres.
    """
    found: list[tuple[int, ...]] = []
    options = [_options(little, one) for one in little.wanted]
    _search(little, options, [], Counter(), found)
    return min(found) if found else None


def _search(
    little: LittleShow,
    options: list[list[Option]],
    taken: list[object],
    used: Counter[str],
    found: list[tuple[int, ...]],
) -> None:
    number = len(taken)
    if number == len(options):
        value = _value(little, taken)
        if value is not None:
            found.append(value)
        return
    _search(little, options, [*taken, None], used, found)
    for host in range(len(options)):
        if _may_share(little.wanted[number], little.wanted[host], number > host):
            _search(little, options, [*taken, Guest(host)], used, found)
    for option in options[number]:
        after = used + Counter(piece.item for piece in option.pieces)
        if all(after[piece.item] <= _limit(piece) for piece in option.pieces):
            _search(little, options, [*taken, option], after, found)


def _limit(thing: Thing) -> int:
    good = max(0, len(thing.good_tags) - thing.keep_back)
    return good * (thing.channels if isinstance(thing, Di) else 1)


def _options(little: LittleShow, one: Wanted) -> list[Option]:
    kit = little.kit
    found = []
    for item, splitter, house, line, score, phantom in _ways(little, one):
        stands: list[Thing | None] = [None]
        if isinstance(item, Mic) and item.mount == "stand" and one.stands:
            stands = [s for s in kit.stand if s.kind in one.stands and s.lowest_m <= one.height_m <= s.highest_m]
        leads: list[tuple[Thing, ...]] = [()]
        if isinstance(item, Di) and not one.own_lead:
            leads = [
                (c,)
                for c in kit.cable
                if c.signal == "instrument" and one.lead_end == c.from_end and 1.5 <= c.length_m <= 6
            ]
        if splitter is not None:
            leads = [(c,) for c in kit.cable if c.signal == "mic"]
        for box, cables, need in _lays(little, one):
            for stand in stands:
                for lead in leads:
                    worth = score - (3 * one.stands.index(stand.kind) if stand is not None else 0)  # type: ignore[attr-defined]
                    found.append(Option(item, splitter, house, line, worth, stand, cables, lead, box, need, phantom))
    return found


def _ways(little: LittleShow, one: Wanted) -> Iterator[tuple[Thing | None, Thing | None, bool, bool, int, str]]:
    kit = little.kit
    for accept in one.accept:
        if accept.taking == "split":
            for splitter in kit.splitter:
                yield None, splitter, False, False, max(1, accept.score - SPLIT_COST[splitter.isolation]), "harmful"
            house = little.venue.house_box[0]
            if house.split_outputs:
                yield None, None, True, False, max(1, accept.score - HOUSE_COST[house.splits_isolated.known]), "harmful"
        elif accept.taking == "line":
            yield None, None, False, True, accept.score, "line"
        else:
            for item in kit.mic if accept.taking == "mic" else kit.di:
                score = little.fitness.get((one.id, item.item), accept.score)
                if _fits(accept, item) and score > 0:
                    yield item, None, False, False, score, item.phantom


def _fits(accept: Accept, item: Thing) -> bool:
    if isinstance(item, Mic):
        return item.kind in accept.kinds
    return isinstance(item, Di) and item.input_ohm >= accept.least_input_ohm


def _lays(little: LittleShow, one: Wanted) -> Iterator[tuple[str, tuple[Thing, ...], float]]:
    cables = [cable for cable in little.kit.cable if cable.signal == "mic"]
    for (name, box), need in little.needed_m.items():
        if name != one.id:
            continue
        for cable in cables:
            if cable.length_m >= need:
                yield box, (cable,), need
        if little.joins[name, box]:
            for a in cables:
                for b in cables:
                    if a.length_m <= b.length_m and a.length_m + b.length_m >= need:
                        yield box, (a, b), need


def _may_share(guest: Wanted, host: Wanted, later: bool) -> bool:
    order = ("must", "want", "nice")
    rank = [order.index(_importance(one)) for one in (guest, host)]
    alternate = guest.source.doubles_with == host.source.name or host.source.doubles_with == guest.source.name
    return alternate and (rank[0], later) > (rank[1], not later)


def _importance(one: Wanted) -> str:
    return STEP[one.importance] if one.source.status == "possible" else one.importance


def _value(little: LittleShow, taken: list[object]) -> tuple[int, ...] | None:
    rows = {number: one for number, one in enumerate(taken) if isinstance(one, Option)}
    guests = {number: one.host for number, one in enumerate(taken) if isinstance(one, Guest)}
    fitness = sum(option.score for option in rows.values())
    for guest, host in guests.items():
        if host not in rows or list(guests.values()).count(host) > 1:
            return None
        item = rows[host].item
        if item is None or (isinstance(item, Mic) and item.mount == "clip"):
            return None
        scores = [score for thing, *_, score, _ in _ways(little, little.wanted[guest]) if thing is item]
        if not scores:
            return None
        fitness += max(scores) // 2
    if not _pins_kept(little, taken) or not _pairs_whole(little, taken):
        return None
    if not _sockets(little, rows):
        return None
    named = _name_units(little, rows)
    if named is None:
        return None
    unmatched, shared = named
    outboard = _fewest_outboard(little, rows)
    if outboard is None:
        return None
    kept = Counter(_importance(little.wanted[number]) for number in (*rows, *guests))
    owners = Counter(piece.owner for option in rows.values() for piece in option.pieces)
    owners.subtract({di.owner: shared.get(di.item, 0) for di in little.kit.di})
    boxes = {option.box for option in rows.values()} & {tag for box in little.kit.box for tag in box.tags}
    metres = sum(piece.length_m for option in rows.values() for piece in (*option.cables, *option.leads))  # type: ignore[attr-defined]
    hops = sum(option.box in boxes for option in rows.values()) + sum(
        option.splitter is not None for option in rows.values()
    )
    return (
        -kept["must"], -kept["want"], -kept["nice"], -(fitness - 10 * unmatched),
        owners["hired"], owners["house"], owners["band"],
        sum(len(option.cables) - 1 for option in rows.values()),
        round(10 * (metres + sum(box.tail_m for box in little.kit.box if boxes & set(box.tags)))),
        hops + len(boxes) + outboard - sum(shared.values()),
        round(10 * sum(option.floor_m for option in rows.values())),
    )  # fmt: skip


def _pins_kept(little: LittleShow, taken: list[object]) -> bool:
    for pin in little.show.pin:
        number = next(n for n, one in enumerate(little.wanted) if one.id == pin.input)
        kept = taken[number]
        if pin.keep is False:
            if kept is not None:
                return False
        elif (pin.keep and kept is None) or ((pin.use or pin.channel) and not isinstance(kept, Option)):
            return False
    return True


def _pairs_whole(little: LittleShow, taken: list[object]) -> bool:
    by_id = {one.id: number for number, one in enumerate(little.wanted)}
    for number, one in enumerate(little.wanted):
        if one.pair:
            mine, other = taken[number], taken[by_id[one.pair]]
            if (mine is None) != (other is None):
                return False
            if (
                isinstance(mine, Option)
                and isinstance(other, Option)
                and one.matched != "no"
                and mine.item is not other.item
            ):
                return False
    return True


def _sockets(little: LittleShow, rows: dict[int, Option]) -> bool:
    on = Counter(option.box for option in rows.values())
    boxes: tuple[Box | Trunk, ...] = (*little.kit.box, *little.kit.trunk)
    for box in boxes:
        if sum(on[tag] for tag in box.tags) > box.lines:
            return False
    if little.kit.trunk and sum(on.values()) > little.kit.trunk[0].lines:
        return False
    return sum(option.house for option in rows.values()) <= little.venue.house_box[0].split_outputs


def _name_units(little: LittleShow, rows: dict[int, Option]) -> tuple[int, dict[str, int]] | None:
    """Give every mic and DI a tag: the fewest unmatched pairs and the most shared DIs, or none if it cannot be."""
    users: dict[str, list[int]] = defaultdict(list)
    for number, option in rows.items():
        if option.item is not None:
            users[option.item.item].append(number)
    unmatched = 0
    shared: dict[str, int] = {}
    for numbers in users.values():
        item = rows[numbers[0]].item
        assert item is not None
        if isinstance(item, Di):
            most = len(numbers) // 2 if item.channels == 2 else 0
            if len(numbers) - most > max(0, len(item.good_tags) - item.keep_back):
                return None
            shared[item.item] = most
        else:
            worst = _name_mics(little, item, numbers)
            if worst is None:
                return None
            unmatched += worst
    return unmatched, shared


def _name_mics(little: LittleShow, item: Thing, numbers: list[int]) -> int | None:
    assert isinstance(item, Mic)
    if len(numbers) > max(0, len(item.good_tags) - item.keep_back):
        return None
    pins: dict[str, Pin] = {pin.input: pin for pin in little.show.pin}
    results = []
    for tags in permutations(item.good_tags, len(numbers)):
        named = dict(zip(numbers, tags, strict=True))
        results.append(_unmatched(little, item, named, pins))
    fit = [result for result in results if result is not None]
    return min(fit) if fit else None


def _unmatched(little: LittleShow, item: Mic, named: dict[int, str], pins: dict[str, Pin]) -> int | None:
    by_id = {one.id: number for number, one in enumerate(little.wanted)}
    apart = 0
    for number, tag in named.items():
        one = little.wanted[number]
        pin = pins.get(one.id)
        if pin and (tag in pin.never or (pin.use and pin.use != tag)):
            return None
        if one.pair and number < by_id[one.pair] and one.matched != "no":
            other = named[by_id[one.pair]]
            if (tag, other) not in item.pairs and (other, tag) not in item.pairs:
                if one.matched == "must":
                    return None
                apart += 1
    return apart


def _fewest_outboard(little: LittleShow, rows: dict[int, Option]) -> int | None:
    """Try every way to put the rows on channels; return the fewest inputs that need preamps outside the recorder."""
    pins = {pin.input: pin for pin in little.show.pin}
    for pin in little.show.pin:
        number = next(n for n, one in enumerate(little.wanted) if one.id == pin.input)
        if pin.use and (number not in rows or rows[number].item is None or pin.use not in rows[number].item.tags):  # type: ignore[union-attr]
            return None
    recorder = little.kit.recorder[0]
    channels = range(1, recorder.preamps + recorder.line_inputs + 1)
    numbers = list(rows)
    fewest: int | None = None
    for seats in permutations(channels, len(numbers)):
        placed = dict(zip(numbers, seats, strict=True))
        asked = {n: pins[one].channel for n in placed if (one := little.wanted[n].id) in pins}
        if any(channel is not None and placed[n] != channel for n, channel in asked.items()):
            continue
        count = _outboard(little.kit, recorder, rows, placed)
        if count is not None and (fewest is None or count < fewest):
            fewest = count
    return fewest


def _outboard(kit: Kit, recorder: Recorder, rows: dict[int, Option], placed: dict[int, int]) -> int | None:
    outside = []
    for number, channel in placed.items():
        at_line = channel > recorder.preamps
        if rows[number].line and not at_line:
            return None
        if not rows[number].line and at_line:
            outside.append(number)
    for a, b in combinations(placed, 2):
        if max(placed[a], placed[b]) > recorder.preamps:
            continue
        same = (placed[a] - 1) // recorder.phantom_bank == (placed[b] - 1) // recorder.phantom_bank
        if same and recorder.phantom_bank > 1 and {rows[a].phantom, rows[b].phantom} == {"needed", "harmful"}:
            return None
    spots = sum(preamp.channels for preamp in kit.preamp)
    needs = {rows[number].phantom for number in outside}
    if len(outside) > spots:
        return None
    if kit.preamp and kit.preamp[0].phantom == "none" and "needed" in needs:
        return None
    if kit.preamp and kit.preamp[0].phantom == "all at once" and {"needed", "harmful"} <= needs:
        return None
    return len(outside)
