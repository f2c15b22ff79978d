"""What one part of the documents says of another: tags, circuits, boxes and sources that must exist.

These rules read the plain data, not the models: a fault in one field never hides a fault in another.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from fieldfare.show.expected import shown
from fieldfare.show.kit import Kit, spread_tags
from fieldfare.show.written import Loc, Written
from fieldfare.units.faults import Blemish
from fieldfare.units.text import listed, nearest, slug

KINDS = tuple(name for name in Kit.model_fields if name not in ("owner_name", "length_colours", "bin"))


class Entry(NamedTuple):
    """One table of an array of tables, and where it stands."""

    loc: Loc
    data: Mapping[str, Any]


def entries(data: object, *path: str, loc: Loc = ()) -> Iterator[Entry]:
    """Walk arrays of tables, nested ones too; what is not such a table is passed over."""
    name, *rest = path
    inside = data.get(name) if isinstance(data, Mapping) else None
    for number, one in enumerate(inside if isinstance(inside, list) else ()):
        if not isinstance(one, Mapping):
            continue
        here = (*loc, name, number)
        if rest:
            yield from entries(one, *rest, loc=here)
        else:
            yield Entry(here, one)


def text(entry: Entry, field: str) -> str:
    """Return a field's text; "" where there is none."""
    value = entry.data.get(field)
    return value.strip() if isinstance(value, str) else ""


def _tags_of(entry: Entry) -> tuple[str, ...]:
    """Return the tags of an entry of the kit, ranges spread."""
    spread = spread_tags(entry.data.get("tags", ()))
    return tuple(tag for tag in spread if isinstance(tag, str)) if isinstance(spread, tuple) else ()


def _unknown_name(written: Written, loc: Loc, name: str, known: Iterable[str], what: str) -> Iterator[Blemish]:
    """Find fault with a name that is not among the known ones; blank names are left alone."""
    pool = list(dict.fromkeys(one for one in known if one))
    if not name or name in pool:
        return
    guess = nearest(name, pool)
    some = listed([*pool[:10], *([f"{len(pool) - 10} more"] if len(pool) > 10 else [])])
    remedy = f'write "{guess}"' if guess else f"known: {some}" if pool else f"add the {what}, or take this out"
    yield written.blemish(loc, f'there is no {what} "{name}"', remedy)


def repeated(written: Written, found: Iterable[Entry], field: str, what: str) -> Iterator[Blemish]:
    """Find fault with names that stand a second time; those that give one id count as the same."""
    first: dict[str, Entry] = {}
    for entry in found:
        name = text(entry, field)
        if not name:
            continue
        key = slug(name) or name
        before = first.setdefault(key, entry)
        if before is not entry:
            another = f"{'an' if what[0] in 'aeiou' else 'a'} {what}"
            read = f'"{name}" is also {another} at {written.place(before.loc) or "another place"}'
            yield written.blemish((*entry.loc, field), read, "give each its own name")


def venue_faults(venue: Written) -> Iterator[Blemish]:
    """Find fault with what a venue says of itself: zone, circuits, names."""
    yield from _zone_faults(venue)
    circuits = [text(circuit, "name") for circuit in entries(venue.data, "circuit")]
    for socket in entries(venue.data, "socket"):
        yield from _unknown_name(venue, (*socket.loc, "circuit"), text(socket, "circuit"), circuits, "circuit")
    limiter = venue.data.get("limiter")
    if isinstance(limiter, Mapping) and isinstance(limiter.get("value"), str):
        known = ["none", *circuits]
        yield from _unknown_name(venue, ("limiter", "value"), limiter["value"].strip(), known, "circuit")
    for kind in ("riser", "keep_clear", "way", "circuit", "socket", "house_box"):
        yield from repeated(venue, entries(venue.data, kind), "name", kind.replace("_", " "))


def _zone_faults(venue: Written) -> Iterator[Blemish]:
    from zoneinfo import ZoneInfo, available_timezones

    zone = venue.data.get("zone", "UTC")
    if not isinstance(zone, str) or not zone.strip():
        return
    try:
        ZoneInfo(zone.strip())
    except (KeyError, ValueError, OSError):  # not there; not a name; a folder of the data
        guess = nearest(zone, available_timezones())
        remedy = f'write "{guess}"' if guess else 'give Region/City of the tz database: "Europe/London"'
        yield venue.blemish(("zone",), f'there is no time zone "{zone}"', remedy)


def kit_faults(kits: Iterable[Written]) -> Iterator[Blemish]:
    """Find fault with what the kit says of itself: tags, pairs, bins; across all its files."""
    kits = list(kits)
    bins = [text(one, "name") for kit in kits for one in entries(kit.data, "bin")]
    first: dict[str, str] = {}  # tag: where it was first given
    for kit in kits:
        yield from repeated(kit, entries(kit.data, "bin"), "name", "bin")
        yield from _colour_faults(kit)
        for kind in KINDS:
            for thing in entries(kit.data, kind):
                yield from _tag_faults(kit, thing, first)
                yield from _unit_faults(kit, thing)
                if bins:
                    yield from _unknown_name(kit, (*thing.loc, "bin"), text(thing, "bin"), bins, "bin")


def _colour_faults(kit: Written) -> Iterator[Blemish]:
    colours = kit.data.get("length_colours")
    for length, colour in colours.items() if isinstance(colours, Mapping) else ():
        if isinstance(colour, Mapping) and length.isdecimal():  # 7.5 = "grey" without quotes is 7 with a 5 inside
            part, inside = next(iter(colour.items()), ("5", "grey"))
            right = f'write the length in quotes: "{length}.{part}" = "{inside}"'
            yield kit.blemish(("length_colours", length), "is a length with a point and no quotes", right)
        elif not re.fullmatch(r"\d+(\.\d+)?", length):
            yield kit.blemish(("length_colours", length), "is not a length", "write the metres alone: 5")


def _tag_faults(kit: Written, thing: Entry, first: dict[str, str]) -> Iterator[Blemish]:
    loc = (*thing.loc, "tags")
    for tag in _tags_of(thing):
        if ".." in tag:
            right = 'write first and last with the same letters, at most 1000 apart: "C-01..C-12"'
            yield kit.blemish(loc, f'"{tag}" is not a range of tags', right)
        elif tag in first:
            yield kit.blemish(loc, f'tag "{tag}" is also at {first[tag]}', "give each unit a tag of its own")
        else:
            first[tag] = ", ".join(part for part in (kit.file, kit.place(loc)) if part)


def _unit_faults(kit: Written, thing: Entry) -> Iterator[Blemish]:
    tags = _tags_of(thing)
    faulty = thing.data.get("faulty")
    for field in ("faulty", "serials"):
        said = thing.data.get(field)
        for tag in said if isinstance(said, Mapping) else ():
            yield from _unknown_name(kit, (*thing.loc, field, tag), tag, tags, "unit of this item")
    yield from _dead_faults(kit, thing, tags)
    yield from _pair_faults(kit, thing, tags)
    good = len([tag for tag in tags if not isinstance(faulty, Mapping) or tag not in faulty])
    keep = thing.data.get("keep_back", 0)
    if isinstance(keep, int) and keep > good:
        yield kit.blemish((*thing.loc, "keep_back"), f"is {keep}, of {good} good units", f"keep back {good} at most")
    for low, high in (("lowest_m", "highest_m"), ("gain_min_db", "gain_max_db")):
        least, most = thing.data.get(low), thing.data.get(high)
        if isinstance(least, int | float) and isinstance(most, int | float) and least > most:
            read = f"{shown(least)} is more than {high}, {shown(most)}"
            yield kit.blemish((*thing.loc, low), read, "exchange or correct the two")


def _dead_faults(kit: Written, thing: Entry, tags: tuple[str, ...]) -> Iterator[Blemish]:
    """Dead places of units that there are not, and numbers that they do not have."""
    said = thing.data.get("dead")
    sizes = [thing.data.get(name, 0) for name in ("lines", "channels", "preamps", "line_inputs")]
    most = sum(size for size in sizes if isinstance(size, int))
    for tag, numbers in said.items() if isinstance(said, Mapping) else ():
        yield from _unknown_name(kit, (*thing.loc, "dead", tag), tag, tags, "unit of this item")
        for number in numbers if isinstance(numbers, list) else ():
            if isinstance(number, int) and not 1 <= number <= most:
                yield kit.blemish(
                    (*thing.loc, "dead", tag), f"has no number {number}", f"write numbers from 1 to {most}"
                )


def _pair_faults(kit: Written, thing: Entry, tags: tuple[str, ...]) -> Iterator[Blemish]:
    pairs = thing.data.get("pairs")
    rows = [row for row in pairs if isinstance(row, list)] if isinstance(pairs, list) else []
    for number, row in enumerate(rows):
        for place, tag in enumerate(row):
            if isinstance(tag, str):
                yield from _unknown_name(kit, (*thing.loc, "pairs", number, place), tag, tags, "unit of this item")
    counted = Counter(tag for row in rows for tag in row if isinstance(tag, str))
    for tag, times in counted.items():
        if times > 1:
            right = "a pair is two different units, and a unit is in one pair"
            yield kit.blemish((*thing.loc, "pairs"), f'"{tag}" is named {times} times', right)


def show_faults(show: Written, venue: Written | None, kits: Iterable[Written] | None) -> Iterator[Blemish]:
    """Find fault with what a show says of itself, its venue and its kit; what could not be read is left alone."""
    sources = list(entries(show.data, "act", "source"))
    yield from repeated(show, sources, "name", "source")
    for kind in ("act", "wedge", "camera"):
        yield from repeated(show, entries(show.data, kind), "name", kind)
    yield from repeated(show, entries(show.data, "pin"), "input", "pinned input")
    yield from repeated(show, entries(show.data, "box_place"), "box", "placed box")
    yield from _set_faults(show)
    for source in sources:
        yield from _source_faults(show, source, [text(one, "name") for one in sources], venue)
    if kits is not None:
        yield from _tag_references(show, list(kits))


def _set_faults(show: Written) -> Iterator[Blemish]:
    """Find fault with sets that name an act that is not there."""
    acts = [text(act, "name") for act in entries(show.data, "act")]
    for one in entries(show.data, "set"):
        named = one.data.get("act")
        if isinstance(named, str):
            yield from _unknown_name(show, (*one.loc, "act"), named.strip(), acts, "act")
        for number, name in enumerate(named if isinstance(named, list) else ()):
            if isinstance(name, str):
                yield from _unknown_name(show, (*one.loc, "act", number), name.strip(), acts, "act")


def _source_faults(show: Written, source: Entry, names: list[str], venue: Written | None) -> Iterator[Blemish]:
    double, loc = text(source, "doubles_with"), (*source.loc, "doubles_with")
    if double and double == text(source, "name"):
        yield show.blemish(loc, "names the source itself", "name the other source of the same player")
    else:
        yield from _unknown_name(show, loc, double, names, "source")
    mic = source.data.get("house_mic")
    if venue is not None and isinstance(mic, Mapping):
        boxes = [text(box, "name") for box in entries(venue.data, "house_box")]
        entry = Entry((*source.loc, "house_mic"), mic)
        yield from _unknown_name(show, (*entry.loc, "house_box"), text(entry, "house_box"), boxes, "house box")


def _tag_references(show: Written, kits: list[Written]) -> Iterator[Blemish]:
    def tags(*kinds: str) -> list[str]:
        return [tag for kit in kits for kind in kinds for thing in entries(kit.data, kind) for tag in _tags_of(thing)]

    takes, stands, boxes = tags("mic", "di"), tags("stand"), tags("box", "trunk")
    for place in entries(show.data, "box_place"):
        yield from _unknown_name(show, (*place.loc, "box"), text(place, "box"), boxes, "box or trunk in the kit")
    for pin in entries(show.data, "pin"):
        for field, known, what in (
            ("use", takes, "mic or DI in the kit"),
            ("stand", stands, "stand in the kit"),
            ("box", boxes, "box or trunk in the kit"),
        ):
            yield from _unknown_name(show, (*pin.loc, field), text(pin, field), known, what)
        never = pin.data.get("never")
        for number, tag in enumerate(never if isinstance(never, list) else ()):
            if isinstance(tag, str):
                yield from _unknown_name(show, (*pin.loc, "never", number), tag, takes, "mic or DI in the kit")
