"""Units: there, good, fit to hold what they hold, and alike where two must be alike."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.plan.checks.check import Fired
from fieldfare.plan.checks.context import Context
from fieldfare.plan.pack import units_of
from fieldfare.show.kit import Mic, Numbered, Stand
from fieldfare.show.plan import PlannedInput
from fieldfare.units.text import listed, metres

HIGH_M = 1.8  # a tall boom held higher than this wants a weight


def faulty(context: Context) -> Iterator[Fired]:
    """A unit that is marked faulty has a job."""
    for row in context.inputs:
        for one in units_of(row):
            thing = context.things.get(one.tag)
            if thing is not None and one.tag in thing.faulty:
                yield Fired(
                    f"{one.tag} {one.item}",
                    "use another, and leave this one in the repairs box",
                    row.id,
                    thing.faulty[one.tag],
                )


def dead_place(context: Context) -> Iterator[Fired]:
    """A dead socket, line or channel is used."""
    for row in context.inputs:
        for hop, tag, number in _places(context, row):
            thing = context.things.get(tag)
            if isinstance(thing, Numbered) and number in thing.dead.get(tag, ()):
                yield Fired(hop, "make the plan again, or use another that is free", row.id)


def _places(context: Context, row: PlannedInput) -> Iterator[tuple[str, str, int]]:
    """Name every numbered place that a row is plugged into: in words, its tag, its number there."""
    if row.box != context.recorder_tag and row.box not in context.lines:
        yield f"{row.box} socket {row.socket}", row.box, row.socket
    for tag, lines in context.lines.items():
        if row.trunk_line in lines:
            yield f"line {row.trunk_line} of the trunk", tag, row.trunk_line - lines.start + 1
    yield f"channel {row.channel}", context.recorder_tag, row.channel
    if row.preamp != context.recorder_tag and row.preamp_channel:
        yield f"{row.preamp} channel {row.preamp_channel}", row.preamp, row.preamp_channel


def not_in_the_kit(context: Context) -> Iterator[Fired]:
    """A unit is planned that no kit holds."""
    for row in context.inputs:
        for one in units_of(row):
            if one.tag not in context.things:
                yield Fired(f"{one.tag} {one.item}", "write it into a kit, or make the plan again", row.id)


def no_stand(context: Context) -> Iterator[Fired]:
    """A microphone that needs a stand has none."""
    for row in context.inputs:
        mic = _mic(context, row)
        if mic is not None and mic.mount == "stand" and context.wanted[row.id].stands and row.stand is None:
            kinds = " or ".join(context.wanted[row.id].stands)
            yield Fired(f"{row.unit.tag if row.unit else ''} {mic.item}", f"bring a {kinds} stand for it", row.id)


def stand_does_not_reach(context: Context) -> Iterator[Fired]:
    """A stand cannot hold its microphone at the height that is wanted."""
    for row in context.inputs:
        stand = context.things.get(row.stand.tag) if row.stand else None
        height = context.wanted[row.id].height_m
        if isinstance(stand, Stand) and not stand.lowest_m <= height <= stand.highest_m:
            span = f"{metres(stand.lowest_m)} to {metres(stand.highest_m)}"
            remedy = f"it holds from {span}; use another, or agree on another place for the mic"
            yield Fired(f"{row.stand.tag if row.stand else ''} {stand.item}", remedy, row.id, metres(height))


def high_boom(context: Context) -> Iterator[Fired]:
    """Booms are held high over people; of several, all are told in one sentence."""
    high: dict[str, tuple[str, str, float]] = {}
    for row in context.inputs:
        stand = context.things.get(row.stand.tag) if row.stand else None
        height_m = context.wanted[row.id].height_m
        if row.stand and isinstance(stand, Stand) and stand.kind == "tall boom" and height_m > HIGH_M:
            high.setdefault(row.stand.tag, (stand.item, row.id, height_m))
    remedy = "one leg under the mic, a weight on its foot, the cable taped down it"
    if len(high) == 1:
        ((tag, (item, number, height_m)),) = high.items()
        yield Fired(f"{tag} {item}", remedy, number, f"holds its mic {metres(height_m)}")
    elif high:
        low, top = (metres(find(height_m for _, _, height_m in high.values())) for find in (min, max))
        heights = top if low == top else f"{low.removesuffix(' m')}–{top}"
        yield Fired(listed(high), remedy, "", f"hold their mics {heights}")


def pair_must_match(context: Context) -> Iterator[Fired]:
    """A stereo pair that must be matched is not."""
    yield from _unmatched(context, "must")


def pair_should_match(context: Context) -> Iterator[Fired]:
    """A stereo pair that would rather be matched is not."""
    yield from _unmatched(context, "rather")


def pair_of_two_kinds(context: Context) -> Iterator[Fired]:
    """The two sides of a pair are taken with different kinds of unit."""
    for row, other in _pairs(context):
        if (row.unit.item if row.unit else row.taking) != (other.unit.item if other.unit else other.taking):
            yield Fired(_sides(row, other), "take both with the same kind; the picture leans otherwise", row.id)


def half_a_pair(context: Context) -> Iterator[Fired]:
    """One side of a stereo pair is kept and the other is not."""
    for row in context.inputs:
        if row.pair and row.pair not in context.by_id:
            yield Fired(row.label, "keep both sides, or take the source with one mic in the middle", row.id)


def spare_is_used(context: Context) -> Iterator[Fired]:
    """A unit that is kept back as a spare has a job."""
    used = {one.tag for row in context.inputs for one in units_of(row)}
    for thing in context.kit.things:
        planned = [tag for tag in thing.good_tags if tag in used]
        if len(planned) > len(thing.good_tags) - thing.keep_back:
            yield Fired(
                thing.item, "the thing without a spare is the thing that fails; bring one more", "", planned[-1]
            )


def _unmatched(context: Context, how: str) -> Iterator[Fired]:
    for row, other in _pairs(context):
        mic = _mic(context, row)
        units = {one.tag for one in (row.unit, other.unit) if one is not None}
        if context.wanted[row.id].matched == how and mic is not None and units not in [{*pair} for pair in mic.pairs]:
            remedy = "use a matched pair, or set their levels against one sound at one place"
            yield Fired(_sides(row, other), remedy, row.id)


def _pairs(context: Context) -> Iterator[tuple[PlannedInput, PlannedInput]]:
    for row in context.inputs:
        other = context.by_id.get(row.pair)
        if other is not None and row.id < other.id:
            yield row, other


def _sides(row: PlannedInput, other: PlannedInput) -> str:
    return f"{row.label} and {other.label}"


def _mic(context: Context, row: PlannedInput) -> Mic | None:
    thing = context.things.get(row.unit.tag) if row.unit else None
    return thing if isinstance(thing, Mic) else None
