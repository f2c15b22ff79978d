"""What stands before the cable: a microphone, a lead and its DI, a house microphone and its splitter, a line output."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal

from fieldfare.plan.ports import XLR, Level, Phantom, Station, port, socket_for
from fieldfare.plan.wanted import Wanted
from fieldfare.show.kit import Cable, Di, End, Mic, Splitter, Thing
from fieldfare.show.kit import Phantom as PhantomNeed
from fieldfare.show.plan import CableUse, Hop, PlannedInput
from fieldfare.show.show import HouseMic
from fieldfare.show.venue import HouseBox, Venue
from fieldfare.units.text import figure, metres

LINE_OUTPUT_OHM = 1000.0  # what has no more drives a line, whatever the plug: common practice, no source
HOUSE_INPUT_OHM = 2000.0  # of a house preamp, which nobody states: common practice, no source
PHANTOM: Mapping[PhantomNeed, Phantom] = {"needed": "needs", "harmful": "harmed", "ignored": "indifferent"}


def head(
    row: PlannedInput, wanted: Wanted, things: Mapping[str, Thing], venue: Venue
) -> tuple[list[Station], tuple[Station, ...]]:
    """Lay out what stands before the cable of an input, and for a split the way from the mic to the house's preamp."""
    tag = row.unit.tag if row.unit else ""
    thing = things.get(tag)
    if isinstance(thing, Di):
        leads = [cable(one, things, "instrument") for one in row.lead]
        return [_instrument(wanted, "instrument"), *(leads or _own_lead(wanted)), _di(row, tag, thing)], ()
    if isinstance(thing, Mic):
        hop = Hop(kind="mic", name=thing.item, detail=_held(row, thing), tag=tag)
        out = port(f"{tag} out", "xlr-m", "mic", phantom=PHANTOM[thing.phantom], ohm=thing.impedance_ohm)
        return [Station(hop, gives=out)], ()
    if row.taking == "split":
        return _split(row, wanted, things, venue)
    leads = [cable(one, things, "line") for one in row.lead]
    return [_instrument(wanted, "line"), *leads], ()


def _held(row: PlannedInput, mic: Mic) -> str:
    """Say its pattern, where its name does not, and what holds it."""
    pattern = "" if re.search(rf"\b{mic.pattern}\b", mic.item) else mic.pattern
    stand = f"on {row.stand.tag} {row.stand.item}" if row.stand else ""
    return ", ".join(part for part in (pattern, stand) if part)


def _instrument(wanted: Wanted, level: Level) -> Station:
    plug: End = wanted.lead_end  # type: ignore[assignment]
    level = "line" if plug in XLR else level
    out = socket_for(f"{wanted.id} out", plug, level, balanced=plug in XLR, phantom="harmed", ohm=wanted.source_ohm)
    name = "line output" if level == "line" or wanted.source_ohm <= LINE_OUTPUT_OHM else "pickup"
    return Station(Hop(kind="line out", name=name, detail=f"{figure(wanted.source_ohm)} Ω"), gives=out)


def _own_lead(wanted: Wanted) -> list[Station]:
    plug: End = wanted.lead_end  # type: ignore[assignment]
    hop = Hop(kind="lead", name="lead", detail="the player's own")
    out = port(f"{wanted.id} own lead out", "jack-ts", "instrument", balanced=False)
    return (
        [Station(hop, port(f"{wanted.id} own lead in", plug, "instrument", balanced=False), out)]
        if wanted.own_lead
        else []
    )


def _di(row: PlannedInput, tag: str, di: Di) -> Station:
    channel = f" {row.di_channel}" if row.di_channel else ""
    return Station(
        Hop(kind="di", name=di.item, detail=f"input{channel}" if channel else "", tag=tag),
        port(f"{tag} in{channel}", "jack-socket", "instrument", balanced=False, ohm=di.input_ohm),
        port(f"{tag} out{channel}", "xlr-m", "mic", phantom=PHANTOM[di.phantom], ohm=di.output_ohm),
        passes_dc=False,
    )


def _split(
    row: PlannedInput, wanted: Wanted, things: Mapping[str, Thing], venue: Venue
) -> tuple[list[Station], tuple[Station, ...]]:
    mic = wanted.house_mic or HouseMic()
    hop = Hop(kind="mic", name=mic.item, detail="of the house")
    out = port(f"{row.id} house mic", "xlr-m", "mic", phantom=PHANTOM[mic.phantom], ohm=mic.impedance_ohm)
    first = Station(hop, gives=out)
    tag = row.splitter.tag if row.splitter else ""
    own = things.get(tag)
    box = next((one for one in venue.house_box if one.name == (row.house_split or mic.house_box)), None)
    isolated = own.isolation != "none" if isinstance(own, Splitter) else bool(box and box.splits_isolated.known)
    base = tag or f"{row.id} split"
    split = Station(
        Hop(kind="splitter", name=own.item if own else f"split output of {row.house_split}", tag=tag),
        port(f"{base} in", "xlr-f", "mic"),
        port(f"{base} out", "xlr-m", "mic"),
        passes_dc=not isolated,
    )
    return [first, split], (first, *_house(row, base, things, box))


def _house(row: PlannedInput, base: str, things: Mapping[str, Thing], box: HouseBox | None) -> tuple[Station, ...]:
    """The direct side: back into the house's box and on to its preamp, which feeds phantom where it is its owner."""
    fed: Phantom = "supplies" if row.phantom_owner == "house" else "indifferent"
    where = f"house preamp behind {box.name}" if box else "house preamp"
    return (
        Station(
            Hop(kind="splitter", name="direct side"),
            port(f"{base} in", "xlr-f", "mic"),
            port(f"{base} direct", "xlr-m", "mic"),
        ),
        *(cable(one, things, "mic") for one in row.lead),
        Station(
            Hop(kind="preamp", name=where, detail="of the house"),
            port(f"house preamp of {row.label}", "xlr-f", "mic", phantom=fed, ohm=HOUSE_INPUT_OHM),
        ),
    )


def cable(use: CableUse, things: Mapping[str, Thing], level: Level) -> Station:
    """Lay out one cable or lead with the level that it carries."""
    thing = things[use.tag]
    assert isinstance(thing, Cable)
    balanced = thing.signal != "instrument" and "jack-ts" not in (thing.from_end, thing.to_end)
    kind: Literal["cable", "lead"] = "lead" if level == "instrument" else "cable"
    return Station(
        Hop(
            kind=kind,
            name=use.item,
            detail=f"{metres(use.length_m)}{f', {use.colour}' if use.colour else ''}",
            tag=use.tag,
        ),
        port(f"{use.tag} in", thing.from_end, level, balanced=balanced),
        port(f"{use.tag} out", thing.to_end, level, balanced=balanced),
    )
