"""Mains and battery: what hangs on which circuit, what a long lead loses, how long the battery carries the rig.

Nothing here replaces the rules of the country or a licensed electrician; the cautions say so on every sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import dist, inf
from typing import NamedTuple

from fieldfare.physics.cautions import CAUTIONS
from fieldfare.physics.mains import (
    FLEXIBLE_OHM_PER_KM,
    battery_minutes,
    conductor_ohm_per_km,
    continuous_limit_a,
    generator_share,
    real_power_w,
    voltage_drop_v,
)
from fieldfare.show.kit import Kit, Preamp, Recorder, Supply
from fieldfare.show.plan import CircuitLoad, Power
from fieldfare.show.venue import Circuit, Socket, Venue
from fieldfare.units.text import figure, listed
from fieldfare.units.working import Given, Working

BATTERY_EFFICIENCY = 0.9
LEAD_SLACK_M = 3.0
MAINS_CAUTIONS = ("MS0", "MS1", "MS4", "MS5", "MS6")


class _Rig(NamedTuple):
    """What hangs on a circuit of ours."""

    watts: float = 0.0
    feeds: tuple[str, ...] = ()  # each piece, in words
    notes: tuple[str, ...] = ()


class _Limit(NamedTuple):
    """What a circuit may carry, and how that came about."""

    watts: float
    formula: str
    given: tuple[Given, ...]
    source: str


def power_plan(venue: Venue, kit: Kit, using: tuple[str, ...]) -> Power:
    """Load the circuit the rig will hang on, and say what is not known about it.

    Parameters
    ----------
    venue
        Its circuits and sockets, with what is known of them.
    kit
        What the units in use take, and the leads and batteries there are.
    using
        Tags of the recorder and preamps in use.
    """
    rig = _rig(kit, using)
    socket = rig_socket(venue)
    circuits = {one.name: one for one in venue.circuit}
    ours = socket.circuit if socket else None
    return Power(
        circuit=tuple(_load(one, venue, rig if one.name == ours else _Rig()) for one in circuits_in_reach(venue)),
        drop=tuple(_drops(venue, kit, socket, rig.watts)),
        battery=_battery(kit, rig.watts),
        cautions=tuple(_cautions(venue, kit, socket, circuits)),
    )


def rig_socket(venue: Venue) -> Socket | None:
    """Choose the socket for the rig: never one that a limiter cuts, then one not shared, then the nearest."""
    circuits = {one.name: one for one in venue.circuit}

    def rank(socket: Socket) -> tuple[bool, bool, float]:
        circuit = circuits[socket.circuit]
        return (
            cut_by_limiter(venue, circuit) is True,
            bool(circuit.shared_with),
            dist(socket.at, venue.recordist.at[:2]),
        )

    return min(venue.socket, key=rank, default=None)


def circuits_in_reach(venue: Venue) -> tuple[Circuit, ...]:
    """List the circuits that a known socket hangs on; all of them where no socket is known."""
    fed = {socket.circuit for socket in venue.socket}
    return tuple(one for one in venue.circuit if not fed or one.name in fed)


def lead_needed_m(venue: Venue, socket: Socket) -> float:
    """How long a lead must be from a socket to the recordist's table, with slack. [m]"""
    return dist(socket.at, venue.recordist.at[:2]) + LEAD_SLACK_M


def mains_lead(kit: Kit, needed_m: float, current_a: float = 0.0) -> Supply | None:
    """Return the shortest good mains lead or reel that is long enough and may carry so much."""
    leads = (one for one in kit.supply if one.kind in ("mains lead", "reel") and one.good_tags)
    fit = [one for one in leads if one.length_m >= needed_m and (one.rating_a or inf) >= current_a]
    return min(fit, key=lambda one: one.length_m, default=None)


def has_battery(kit: Kit) -> bool:
    """Tell whether the kit has a good battery supply."""
    return bool(_batteries(kit))


def _batteries(kit: Kit) -> list[Supply]:
    return [one for one in kit.supply if one.kind == "battery supply" and one.good_tags]


def cut_by_limiter(venue: Venue, circuit: Circuit) -> bool | None:
    """Tell whether a house limiter cuts this circuit; none where nobody has said."""
    if circuit.cut_by_limiter.known is not None:
        return circuit.cut_by_limiter.known
    if venue.limiter.known is None:
        return None
    return venue.limiter.known == circuit.name


def _rig(kit: Kit, using: tuple[str, ...]) -> _Rig:
    """What the rig takes in all, noting what of it the kit does not tell and a battery supply that is too weak."""
    machines: tuple[Recorder | Preamp, ...] = (*kit.recorder, *kit.preamp)
    taken = [(one.item, one.power_w, count) for one in machines if (count := sum(tag in using for tag in one.tags))]
    taken += [(one.item, one.power_w, len(one.good_tags)) for one in kit.sundry if one.each_show and one.power_w]
    feeds = tuple(f"{item}, {figure(power_w * count)} W" for item, power_w, count in taken if power_w)
    watts = sum(power_w * count for _, power_w, count in taken)
    notes = [f"what it takes is not in the kit: {item}" for item, power_w, _ in taken if not power_w]
    most_w = max((one.rating_w or inf for one in _batteries(kit)), default=inf)
    if watts > most_w:
        notes.append(f"the battery supply delivers {figure(most_w)} W: hang only the recorder on it")
    return _Rig(watts, feeds, tuple(notes) if feeds else ())


def _load(circuit: Circuit, venue: Venue, rig: _Rig) -> CircuitLoad:
    other_w = circuit.other_load_w.known if circuit.other_load_w.known is not None or circuit.shared_with else 0.0
    load_w = None if other_w is None else rig.watts + other_w
    given = (
        Given(name="rig", value=round(rig.watts, 1), unit="W"),
        Given(name="other", value="unknown" if other_w is None else other_w, unit="W"),
    )
    notes = [*rig.notes]
    if cut_by_limiter(venue, circuit):
        notes.append("cut by the house limiter")
    if circuit.generator:
        notes.append("fed by a generator: a battery supply on it is set to low sensitivity, or every dip wakes it")
    return CircuitLoad(
        circuit=circuit.name,
        load=Working(value=load_w, unit="W", formula="rig + other", given=given, source="definition", sure="estimate"),
        share=_share(circuit, venue, load_w, given),
        feeds=rig.feeds,
        notes=tuple(notes),
    )


def _share(circuit: Circuit, venue: Venue, load_w: float | None, given: tuple[Given, ...]) -> Working:
    least = min(_limits(circuit, venue), key=lambda one: one.watts)
    return Working(
        value=None if load_w is None else round(100 * load_w / least.watts, 1),
        unit="%",
        formula=f"(rig + other) / {least.formula}",
        given=(*given, *least.given),
        source=least.source,
        sure="estimate",
    )


def _limits(circuit: Circuit, venue: Venue) -> Iterator[_Limit]:
    """What the breaker lets through for hours, and what a generator gives at the height and heat of the place."""
    voltage_v, limit_a = venue.mains.voltage_v, continuous_limit_a(circuit.rating_a)
    by_breaker = (
        Given(name="voltage", value=voltage_v, unit="V"),
        Given(name="continuous limit", value=limit_a, unit="A"),
    )
    yield _Limit(voltage_v * limit_a, "voltage / continuous limit", by_breaker, "NEC210")
    if one := circuit.generator:
        left = generator_share(one.altitude_m, venue.temperature_c.known or 0.0)  # heat counts from 40 °C
        by_generator = (
            Given(name="generator", value=one.apparent_va, unit="VA"),
            Given(name="power factor", value=one.power_factor),
            Given(name="left at that height", value=round(left, 3)),
        )
        gives_w = real_power_w(one.apparent_va, one.power_factor) * left
        yield _Limit(gives_w, "(generator · power factor · left at that height)", by_generator, "GeneratorTables")


def _drops(venue: Venue, kit: Kit, socket: Socket | None, rig_w: float) -> Iterator[Working]:
    if socket is None or not rig_w:
        return
    current_a = rig_w / venue.mains.voltage_v
    lead = mains_lead(kit, lead_needed_m(venue, socket), current_a)
    if lead is None or lead.conductor_mm2 is None:
        return
    ohm_per_km = conductor_ohm_per_km(lead.conductor_mm2)
    drop_v = voltage_drop_v(current_a, lead.length_m, ohm_per_km)
    yield Working(
        value=round(100 * drop_v / venue.mains.voltage_v, 2),
        unit="%",
        formula="2 · current · length · Ω/km / 1000 / voltage",
        given=(
            Given(name="lead", value=f"{lead.item} {lead.good_tags[0]}"),
            Given(name="current", value=round(current_a, 2), unit="A"),
            Given(name="length", value=lead.length_m, unit="m"),
            Given(name="Ω/km", value=ohm_per_km),
            Given(name="voltage", value=venue.mains.voltage_v, unit="V"),
        ),
        source="IEC60228" if lead.conductor_mm2 in FLEXIBLE_OHM_PER_KM else "AWG",
    )


def _battery(kit: Kit, rig_w: float) -> Working | None:
    batteries = [one for one in _batteries(kit) if one.energy_wh and (one.rating_w or inf) >= rig_w]
    if not batteries or not rig_w:
        return None
    best = max(batteries, key=lambda one: one.energy_wh or 0)
    energy_wh = best.energy_wh or 0.0
    return Working(
        value=round(battery_minutes(energy_wh, rig_w, efficiency=BATTERY_EFFICIENCY), 1),
        unit="min",
        formula="60 · energy · efficiency / rig",
        given=(
            Given(name="battery", value=f"{best.item} {best.good_tags[0]}"),
            Given(name="energy", value=energy_wh, unit="Wh"),
            Given(name="efficiency", value=BATTERY_EFFICIENCY),
            Given(name="rig", value=round(rig_w, 1), unit="W"),
        ),
        source="definition",
        sure="estimate",
        plus_minus=None,
    )


def _cautions(venue: Venue, kit: Kit, socket: Socket | None, circuits: dict[str, Circuit]) -> Iterator[str]:
    if socket is None:
        yield "No socket of the venue is known: ask where the rig may be plugged in."
    else:
        circuit = circuits[socket.circuit]
        shared = f", shared with {circuit.shared_with}" if circuit.shared_with else ""
        yield f"The rig goes on the socket {socket.name}, circuit {circuit.name}, {figure(circuit.rating_a)} A{shared}."
        if cut_by_limiter(venue, circuit) is None:
            without = "there is no battery supply in the kit, so this is settled before the day"
            safe = "the recorder stays on its battery supply" if has_battery(kit) else without
            yield f"Nobody has said whether a limiter cuts this circuit; {safe}."
    unknown = [one.name for one in circuits_in_reach(venue) if one.residual_current_device.known is None]
    if unknown:
        one = "one goes in between, its test button pressed first"
        yield f"Nobody has said whether a residual current device guards {listed(unknown)}: {one}."
    yield from (CAUTIONS[key].text for key in MAINS_CAUTIONS)
    if any(one.generator for one in venue.circuit):
        yield CAUTIONS["MS7"].text
