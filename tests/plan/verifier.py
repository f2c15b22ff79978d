"""An independent judge of a choice: it walks every row from the source to the track and knows nothing of the solver.

It reads the documents and the choice, and returns one sentence for everything that could not be rigged as written.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from itertools import combinations
from math import dist

from fieldfare.plan.wanted import Accept, Choice, Chosen, Wanted
from fieldfare.show.kit import Box, Cable, Di, Kit, Mic, Preamp, Recorder, Splitter, Stand, Thing, Trunk
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue

Lengths = Mapping[tuple[str, str], float]
MOST_LEAD_M = 6.0
TIE_M = 1e-6


class Judge:
    """The documents, looked up by tag and by id."""

    def __init__(
        self,
        choice: Choice,
        wanted: tuple[Wanted, ...],
        kit: Kit,
        needed_m: Lengths,
        show: Show,
        venue: Venue | None = None,
        joins_allowed: Mapping[tuple[str, str], bool] | None = None,
    ) -> None:
        self.choice, self.kit, self.needed_m, self.show, self.venue = choice, kit, needed_m, show, venue
        self.joins_allowed = joins_allowed or {}
        self.wanted = {one.id: one for one in wanted}
        self.thing: dict[str, Thing] = {tag: thing for thing in kit.things for tag in thing.tags}
        self.rows = {row.wanted.id: row for row in choice.chosen}
        self.pins = {pin.input: pin for pin in show.pin}

    def faults(self) -> list[str]:
        """List everything that cannot be rigged."""
        return [
            *self.everyone_once(),
            *self.units(),
            *(said for row in (*self.choice.chosen, *self.choice.guests) for said in self.row(row)),
            *self.guests(),
            *self.sockets_and_lines(),
            *self.channels(),
            *self.dead_places(),
            *self.phantom(),
            *self.pairs(),
            *self.pinned(),
            *self.goals(),
        ]

    def dead_places(self) -> Iterator[str]:
        """Nobody is plugged into what the kit marks dead."""
        lines: list[tuple[str, int]] = []  # of all trunks, as they are counted on: ours, the band's, the house's, hired
        owners = ("ours", "band", "house", "hired")
        trunks = [one for one in self.kit.trunk if set(one.tags) - set(one.faulty)]
        for trunk in sorted(trunks, key=lambda one: (owners.index(one.owner), one.item.casefold(), min(one.tags))):
            for tag in sorted(set(trunk.tags) - set(trunk.faulty)):
                lines += [(tag, number) for number in range(1, trunk.lines + 1)]
        for row in self.choice.chosen:
            ends = [(row.box, row.socket)] if isinstance(self.thing.get(row.box), Box) else []
            ends += lines[row.trunk_line - 1 :][:1] if row.trunk_line else []
            ends += [(row.preamp, row.preamp_channel), (self.recorder_tag(), row.channel)]
            for tag, number in ends:
                if number in getattr(self.thing.get(tag), "dead", {}).get(tag, ()):
                    yield f"{row.wanted.id} is plugged into {tag} {number}, which is dead"

    def recorder_tag(self) -> str:
        """The recorder that records: the one with the most channels that work."""
        return max(
            ((one, tag) for one in self.kit.recorder for tag in one.tags if tag not in one.faulty),
            key=lambda unit: unit[0].preamps + unit[0].line_inputs - len(unit[0].dead.get(unit[1], ())),
        )[1]

    def everyone_once(self) -> Iterator[str]:
        told = [row.wanted.id for row in self.choice.chosen] + [one.wanted.id for one in self.choice.not_kept]
        if sorted(told) != sorted(self.wanted):
            yield f"told {sorted(told)}, wanted {sorted(self.wanted)}"
        shares = {one.wanted.id: one.shares for one in self.choice.not_kept if one.shares}
        hosts = {guest: row.wanted.id for row in self.choice.chosen for guest in row.shared_by}
        if shares != hosts:
            yield f"guests {shares} and hosts {hosts} disagree"
        for guest, host in shares.items():
            a, b = self.wanted[guest], self.wanted[host]
            doubled = b.source.name == a.source.doubles_with or a.source.name == b.source.doubles_with
            if not doubled and not _apart(a, b):
                yield f"{guest} shares the row of {host}, which is no doubling"
            if guest not in {row.wanted.id for row in self.choice.guests}:
                yield from self.as_it_stands(a, self.rows[host])
        for one, other in combinations(shares, 2):
            if shares[one] == shares[other] and not _apart(self.wanted[one], self.wanted[other]):
                yield f"{one} and {other} are on one row at once"

    def as_it_stands(self, guest: Wanted, row: Chosen) -> Iterator[str]:
        thing = self.thing.get(row.unit)
        if row.taking == "split" and any(accept.taking == "split" for accept in guest.accept):
            return
        if thing is None or not any(_suits(accept, thing) for accept in guest.accept):
            yield f"{guest.id} shares the {thing} of {row.wanted.id}, which does not suit it"
        if isinstance(thing, Mic) and thing.mount == "clip":
            yield f"{guest.id} shares a clip mic with {row.wanted.id}"
        if dist(guest.at, row.wanted.at) > 1.0 + TIE_M and _apart(guest, row.wanted):
            yield f"{guest.id} is too far from {row.wanted.id}"

    def guests(self) -> Iterator[str]:
        hosts = {guest: row for row in self.choice.chosen for guest in row.shared_by}
        for row in self.choice.guests:
            host = hosts[row.wanted.id]
            ends = [(one.box, one.socket, one.trunk_line, one.preamp, one.channel, one.phantom) for one in (row, host)]
            if ends[0] != ends[1]:
                yield f"{row.wanted.id} ends at {ends[0]}, its row at {ends[1]}"
            mine = {row.unit, row.stand, *row.cable, *row.lead} - {""}
            theirs = {host.unit, host.stand, *host.cable, *host.lead} - {""}
            if mine & theirs and mine != theirs:
                yield f"{row.wanted.id} takes part of what its row has: {mine}, {theirs}"

    def rigged(self) -> list[Chosen]:
        """Every row, and every guest with pieces of its own; one that is carried over takes nothing more."""
        hosts = {guest: row for row in self.choice.chosen for guest in row.shared_by}
        own = [row for row in self.choice.guests if row.cable != hosts[row.wanted.id].cable]
        return [*self.choice.chosen, *own]

    def units(self) -> Iterator[str]:
        used = Counter(tag for row in self.rigged() for tag in (row.stand, row.splitter, *row.lead, *row.cable))
        used.subtract(row.stand for row in self.rigged() if row.stand and self.second_on_bar(row))
        two: dict[str, list[Chosen]] = defaultdict(list)
        for row in self.rigged():
            if row.di_channel is None:
                used[row.unit] += 1
            else:
                two[row.unit].append(row)
        del used[""]
        used.update(two.keys())
        for tag, number in used.items():
            thing = self.thing.get(tag)
            if thing is None or tag in thing.faulty or number > 1:
                yield f"{tag} is not in the kit, faulty, or used more than once: {number}"
        for thing in self.kit.things:
            planned = sum(1 for tag in thing.tags if tag in used)
            if planned > max(0, len(thing.tags) - len(thing.faulty) - thing.keep_back):
                yield f"{planned} of {thing.item} are planned, {thing.keep_back} kept back"
        for tag, rows in two.items():
            yield from self.two_channels(tag, rows)

    def second_on_bar(self, row: Chosen) -> bool:
        other, stand = self.rows.get(row.wanted.pair), self.thing.get(row.stand)
        if other is None or other.stand != row.stand or not isinstance(stand, Stand):
            return False
        return row.wanted.order > other.wanted.order and dist(row.wanted.at, other.wanted.at) <= stand.bar_m

    def two_channels(self, tag: str, rows: list[Chosen]) -> Iterator[str]:
        thing = self.thing.get(tag)
        if not isinstance(thing, Di) or thing.channels != 2:
            yield f"{tag} has no two channels"
        if sorted(row.di_channel or 0 for row in rows) not in ([1], [2], [1, 2]):
            yield f"{tag}: channels {[row.di_channel for row in rows]}"
        if len(rows) == 2 and dist(rows[0].wanted.at, rows[1].wanted.at) > 3.0 + TIE_M:
            yield f"{tag} serves two inputs that are too far apart"

    def row(self, row: Chosen) -> Iterator[str]:
        name = row.wanted.id
        thing = self.thing.get(row.unit)
        by_hand = name in self.pins and row.unit in (self.pins[name].use,) and row.unit
        if row.taking in ("mic", "di"):
            if thing is None:
                yield f"{name} has no unit"
            elif not by_hand and not any(_suits(accept, thing) for accept in row.wanted.accept):
                yield f"{name} does not accept {thing.item}"
            limit = thing.max_spl_db if isinstance(thing, Mic) else None
            if limit is not None and limit < row.wanted.spl_db[0] and not by_hand:
                yield f"{name} overloads {row.item}"
        elif row.unit:
            yield f"{name} is a {row.taking} with a unit"
        yield from self.stand(row, thing)
        yield from self.cable(row)
        yield from self.lead(row, thing)
        yield from self.split(row)

    def stand(self, row: Chosen, thing: Thing | None) -> Iterator[str]:
        needs = isinstance(thing, Mic) and thing.mount == "stand" and bool(row.wanted.stands)
        stand = self.thing.get(row.stand)
        if needs != bool(row.stand):
            yield f"{row.wanted.id}: stand {row.stand!r}, needed: {needs}"
        if isinstance(stand, Stand):
            by_hand = row.wanted.id in self.pins and self.pins[row.wanted.id].stand == row.stand
            fits = stand.lowest_m <= row.wanted.height_m <= stand.highest_m and stand.kind in row.wanted.stands
            if not fits and not by_hand:
                yield f"{row.wanted.id}: {stand.item} does not hold a mic at {row.wanted.height_m} m"
        elif row.stand:
            yield f"{row.stand} is no stand"

    def cable(self, row: Chosen) -> Iterator[str]:
        name, cables = row.wanted.id, [self.thing.get(tag) for tag in row.cable]
        needed = self.needed_m.get((name, row.box))
        if needed is None:
            yield f"{name} cannot reach {row.box}"
            return
        if not 1 <= len(cables) <= 2:
            yield f"{name} has {len(cables)} cables"
        if len(cables) == 2 and not self.joins_allowed.get((name, row.box), True):
            yield f"{name}: a join where none is allowed"
        end = row.wanted.lead_end if row.taking == "line" else "xlr-f"
        laid = 0.0
        for cable in cables:
            if not isinstance(cable, Cable):
                yield f"{name}: {cable} is no cable"
                return
            if cable.from_end != end or cable.to_end != "xlr-m" or cable.signal == "instrument":
                yield f"{name}: {cable.item} does not mate"
            end, laid = "xlr-f", laid + cable.length_m
        if laid < needed - 1e-6:
            yield f"{name}: {laid} m for {needed} m"

    def lead(self, row: Chosen, thing: Thing | None) -> Iterator[str]:
        name, leads = row.wanted.id, [self.thing.get(tag) for tag in row.lead]
        wants = int((row.taking == "di" and not row.wanted.own_lead) or bool(row.splitter))
        if len(leads) != wants:
            yield f"{name} has {len(leads)} leads, needs {wants}"
        for lead in leads:
            if not isinstance(lead, Cable):
                yield f"{name}: {lead} is no lead"
            elif row.splitter and (lead.from_end, lead.to_end, lead.signal) != ("xlr-f", "xlr-m", "mic"):
                yield f"{name}: {lead.item} does not lead back into the house box"
            elif isinstance(thing, Di):
                w = row.wanted
                way = dist(w.at[:2], w.sound_at[:2]) + abs(w.at[2] - w.sound_at[2]) + 0.5
                if not way - 0.01 <= lead.length_m <= MOST_LEAD_M or lead.from_end != w.lead_end:
                    yield f"{name}: {lead.item} does not reach from the instrument ({way:.2f} m)"

    def split(self, row: Chosen) -> Iterator[str]:
        if (row.taking == "split") != bool(row.splitter or row.house_split):
            yield f"{row.wanted.id}: {row.taking} with splitter {row.splitter!r}{row.house_split!r}"
        if row.splitter and not isinstance(self.thing.get(row.splitter), Splitter):
            yield f"{row.splitter} is no splitter"
        if row.taking == "split" and row.wanted.house_mic is None:
            yield f"{row.wanted.id} splits a microphone that is not there"

    def sockets_and_lines(self) -> Iterator[str]:
        by_box: dict[str, list[Chosen]] = defaultdict(list)
        for row in self.choice.chosen:
            by_box[row.box].append(row)
        for tag, rows in by_box.items():
            yield from self.sockets(tag, [row.socket for row in rows])
        lines = [row.trunk_line for row in self.choice.chosen if row.trunk_line]
        total = sum(trunk.lines * len(set(trunk.tags) - set(trunk.faulty)) for trunk in self.kit.trunk)
        if len(set(lines)) < len(lines) or any(not 1 <= line <= total for line in lines):
            yield f"trunk lines {lines} of {total}"
        for row in self.choice.chosen:
            through = bool(self.kit.trunk) and not isinstance(self.thing.get(row.box), Recorder)
            if through != bool(row.trunk_line):
                yield f"{row.wanted.id}: trunk line {row.trunk_line}"
        outputs = {box.name: box.split_outputs for box in (self.venue.house_box if self.venue else ())}
        for name, number in Counter(row.house_split for row in self.rigged() if row.house_split).items():
            if number > outputs.get(name, 0):
                yield f"{name} gives {outputs.get(name, 0)} splits, {number} are used"

    def sockets(self, tag: str, sockets: list[int]) -> Iterator[str]:
        box = self.thing.get(tag)
        if isinstance(box, Box | Trunk):
            if not all(1 <= socket <= box.lines for socket in sockets):
                yield f"{tag} has {box.lines} sockets, used: {sockets}"
        elif not isinstance(box, Recorder):
            yield f"{tag} is no box"
        if len(set(sockets)) < len(sockets):
            yield f"{tag}: a socket is used twice: {sockets}"
        if isinstance(box, Box):
            good = [socket for socket in range(1, box.lines + 1) if socket not in box.dead.get(tag, ())]
            if sockets != good[: len(sockets)]:
                yield f"{tag}: sockets do not ascend: {sockets}"

    def channels(self) -> Iterator[str]:
        used = [row.channel for row in self.choice.chosen]
        if len(set(used)) < len(used) or used != sorted(used):
            yield f"channels {used}"
        recorders = [thing for thing in self.kit.recorder if set(thing.tags) - set(thing.faulty)]
        largest = max((one.preamps + one.line_inputs for one in recorders), default=0)
        if any(not 1 <= channel <= largest for channel in used):
            yield f"channels {used} of {largest}"
        spots: Counter[tuple[str, int]] = Counter()
        for row in self.choice.chosen:
            thing = self.thing.get(row.preamp)
            yield from self.amplified(row, thing, recorders)
            if not (isinstance(thing, Recorder) and row.preamp_channel == 0):
                spots[row.preamp, row.preamp_channel] += 1
            if thing is not None and row.preamp in thing.faulty:
                yield f"{row.preamp} is faulty"
        if any(number > 1 for number in spots.values()):
            yield f"a preamp is used twice: {spots}"

    def amplified(self, row: Chosen, thing: Thing | None, recorders: list[Recorder]) -> Iterator[str]:
        name = row.wanted.id
        if isinstance(thing, Recorder):
            line = thing.preamps < row.channel <= thing.preamps + thing.line_inputs
            if row.taking == "line":
                if not line or row.preamp_channel:
                    yield f"{name}: line level on channel {row.channel}"
            elif row.preamp_channel != row.channel or not 1 <= row.channel <= thing.preamps:
                yield f"{name}: preamp {row.preamp_channel} on channel {row.channel}"
        elif isinstance(thing, Preamp):
            best = max(recorders, key=lambda one: one.preamps + one.line_inputs)
            if row.taking == "line" or not best.preamps < row.channel <= best.preamps + best.line_inputs:
                yield f"{name}: preamp {row.preamp} on channel {row.channel}"
            if not 1 <= row.preamp_channel <= thing.channels:
                yield f"{name}: {row.preamp} has no channel {row.preamp_channel}"
        else:
            yield f"{name}: {row.preamp} amplifies nothing"

    def phantom(self) -> Iterator[str]:
        switches: dict[tuple[str, int], set[bool]] = defaultdict(set)
        for row in self.rigged():
            thing, amp = self.thing.get(row.unit), self.thing.get(row.preamp)
            need = thing.phantom if isinstance(thing, Mic | Di) else "harmful" if row.taking == "split" else "ignored"
            if need == "needed" and not row.phantom:
                yield f"{row.wanted.id} needs phantom and gets none"
            if need == "harmful" and row.phantom:
                yield f"{row.wanted.id} gets phantom that harms"
            if row.phantom and isinstance(amp, Preamp) and amp.phantom == "none":
                yield f"{row.preamp} has no phantom"
            if isinstance(amp, Recorder) and row.channel <= amp.preamps:
                switches[row.preamp, (row.channel - 1) // amp.phantom_bank].add(row.phantom)
            elif isinstance(amp, Preamp) and amp.phantom == "all at once":
                switches[row.preamp, 0].add(row.phantom)
        for switch, states in switches.items():
            if len(states) > 1:
                yield f"one switch, two states: {switch}"

    def pairs(self) -> Iterator[str]:
        for one in self.wanted.values():
            if not one.pair or one.pair not in self.wanted:
                continue
            row, other = self.rows.get(one.id), self.rows.get(one.pair)
            if (row is None) != (other is None):
                yield f"{one.id}: one side of a pair"
            if row is None or other is None or one.matched == "no":
                continue
            a, b = self.thing.get(row.unit), self.thing.get(other.unit)
            if a is not b:
                yield f"{one.id}: a pair of unlike units"
            if (
                one.matched == "must"
                and isinstance(a, Mic)
                and not {(row.unit, other.unit), (other.unit, row.unit)} & set(a.pairs)
            ):
                yield f"{one.id}: {row.unit} and {other.unit} are not matched"

    def pinned(self) -> Iterator[str]:
        for pin in self.show.pin:
            row = self.rows.get(pin.input)
            shared = {one.wanted.id for one in self.choice.not_kept if one.shares}
            if pin.keep is False:
                if row is not None or pin.input in shared:
                    yield f"{pin.input} is pinned out and kept"
                continue
            needs_row = pin.use or pin.stand or pin.box or pin.line or pin.channel
            if row is None:
                if needs_row or (pin.keep and pin.input not in shared):
                    yield f"{pin.input} is pinned and not kept"
                continue
            asked = [
                (pin.use, pin.use in (row.unit, row.splitter)),
                (pin.stand, pin.stand == row.stand),
                (pin.box, pin.box == row.box),
                (pin.line, pin.line == row.trunk_line or not self.kit.trunk),
                (pin.channel or pin.line, (pin.channel or pin.line) == row.channel),
            ]
            for want, done in asked:
                if want and not done:
                    yield f"{pin.input}: pin {want} is not honoured: {row}"
            if set(pin.never) & {row.unit, row.splitter}:
                yield f"{pin.input} uses what it never may"

    def goals(self) -> Iterator[str]:
        told = {goal.name: goal.value for goal in self.choice.goals}
        down = {"must": "want", "want": "nice", "nice": "nice"}
        kept = [row.wanted for row in self.choice.chosen]
        kept += [one.wanted for one in self.choice.not_kept if one.shares]
        counts = Counter(down[one.importance] if one.source.status == "possible" else one.importance for one in kept)
        for level in ("must", "want", "nice"):
            if told[f"{level} inputs kept"] != counts[level]:
                yield f"{counts[level]} {level} inputs are kept, told {told[f'{level} inputs kept']}"
        joins = sum(len(row.cable) - 1 for row in self.rigged())
        if told["joins"] != joins:
            yield f"{joins} joins, told {told['joins']}"
        laid = {tag for row in self.rigged() for tag in (*row.cable, *row.lead)}
        metres = sum(thing.length_m for tag in laid if isinstance(thing := self.thing.get(tag), Cable))
        used = {row.box for row in self.choice.chosen}
        metres += sum(thing.tail_m for tag in used if isinstance(thing := self.thing.get(tag), Box))
        if abs(told["metres of cable"] - metres) > 0.11 * (len(laid) + len(used)):
            yield f"{metres} m of cable, told {told['metres of cable']}"
        if not all(goal.proven for goal in self.choice.goals):
            yield "a goal is not proven"


def _apart(one: Wanted, other: Wanted) -> bool:
    return bool(one.sets) and bool(other.sets) and not one.sets & other.sets


def _suits(accept: Accept, thing: Thing) -> bool:
    if isinstance(thing, Mic):
        pattern = not accept.patterns or thing.pattern in accept.patterns
        clip = accept.clip is None or accept.clip == (thing.mount == "clip")
        return accept.taking == "mic" and thing.kind in accept.kinds and pattern and clip
    if isinstance(thing, Di):
        active = accept.active is None or thing.active == accept.active
        return accept.taking == "di" and active and thing.input_ohm >= accept.least_input_ohm
    return False


def faults(
    choice: Choice,
    wanted: tuple[Wanted, ...],
    kit: Kit,
    needed_m: Lengths,
    show: Show,
    venue: Venue | None = None,
    joins_allowed: Mapping[tuple[str, str], bool] | None = None,
) -> list[str]:
    """List everything in a choice that could not be rigged as written."""
    return Judge(choice, wanted, kit, needed_m, show, venue, joins_allowed).faults()
