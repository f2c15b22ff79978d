"""What fails beside the signals: the circuit, the battery, leads and strips, cards and discs. Read off the plan.

What may hurt is left to local rules and licensed practice; nothing here advises to go on without a protective device.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import dist

from fieldfare.plan.choice.stock import natural
from fieldfare.plan.make import Documents
from fieldfare.plan.power import LEAD_SLACK_M, cut_by_limiter, rig_socket
from fieldfare.show.kit import Media, Supply
from fieldfare.show.plan import Plan
from fieldfare.show.venue import Socket
from fieldfare.show.whatif import DeadKind, Lost, Outcome
from fieldfare.units.text import figure, listed, metres

Single = tuple[DeadKind, str, Outcome]


def outside_failures(of: Documents, plan: Plan) -> tuple[Single, ...]:
    """List what becomes of the recording when power or a medium fails.

    Parameters
    ----------
    of, plan
        The documents and the plan made from them.

    Returns
    -------
    Kind, what it is, and what becomes of the plan.
    """
    if not plan.input:
        return ()
    return (*_circuit(of, plan), *_supplies(of, plan), *_media(of, plan))


def _everything(plan: Plan) -> tuple[Lost, ...]:
    return tuple(Lost(input=row.id, label=row.label, importance=row.importance) for row in plan.input)


def _packed(of: Documents, plan: Plan, *kinds: str) -> Iterator[tuple[Supply, str]]:
    there = {tag for line in plan.pack for tag in line.tags}
    for thing in of.kit.supply:
        if thing.kind in kinds:
            yield from ((thing, tag) for tag in thing.good_tags if tag in there or thing.owner == "house")


def _circuit(of: Documents, plan: Plan) -> Iterator[Single]:
    socket = rig_socket(of.venue)
    if socket is None:
        return
    battery = next(_packed(of, plan, "battery supply"), None)
    lasts = plan.power.battery if battery else None
    other = _other_socket(of, socket)
    move = _move_to(of, plan, other) if other else "no socket on another circuit is known: ask the house now"
    if lasts is not None and lasts.value is not None and battery:
        says = f"{battery[1]} carries the rig for about {figure(lasts.value)} min. Within that, {move}"
        yield (
            "power",
            f"circuit {socket.circuit}",
            Outcome(dead=(f"circuit {socket.circuit}",), note=says, minutes=lasts),
        )
        return
    says = f"recording stops: {move}, start a new take, note the time"
    outcome = Outcome(dead=(f"circuit {socket.circuit}",), lost=_everything(plan) if other is None else (), note=says)
    yield "power", f"circuit {socket.circuit}", outcome.model_copy(update={"stops": True})


def _other_socket(of: Documents, mine: Socket) -> Socket | None:
    """The nearest socket on another circuit, one that no limiter cuts if there is one."""
    circuits = {one.name: one for one in of.venue.circuit}
    at = of.venue.recordist.at[:2]
    others = [one for one in of.venue.socket if one.circuit != mine.circuit]
    return min(
        others,
        key=lambda one: (cut_by_limiter(of.venue, circuits[one.circuit]) is True, dist(one.at, at)),
        default=None,
    )


def _move_to(of: Documents, plan: Plan, socket: Socket) -> str:
    needed_m = dist(socket.at, of.venue.recordist.at[:2]) + LEAD_SLACK_M
    leads = [
        (thing.length_m, tag) for thing, tag in _packed(of, plan, "mains lead", "reel") if thing.length_m >= needed_m
    ]
    lead = f"with {min(leads)[1]}" if leads else f"with a lead of {metres(round(needed_m))} from the house"
    circuit = next(one for one in of.venue.circuit if one.name == socket.circuit)
    cut = ", which the limiter cuts" if cut_by_limiter(of.venue, circuit) else ""
    return f"move the rig to {socket.name} on circuit {socket.circuit}{cut}, {lead}"


def _supplies(of: Documents, plan: Plan) -> Iterator[Single]:
    strips = [tag for _, tag in _packed(of, plan, "strip")]
    for thing, tag in _packed(of, plan, "battery supply"):
        others = [other for _, other in _packed(of, plan, "battery supply") if other != tag]
        into = (
            f"put {others[0]} in its place"
            if others
            else f"plug the rig straight into {listed(strips[:1]) or 'the mains'}"
        )
        risk = "" if others else "; from then on a power cut stops the recording"
        yield "power", thing.item, Outcome(dead=(tag,), stops=True, note=f"{into}, start a new take{risk}")
    yield from _mains_lead(of, plan)
    for thing, tag in _packed(of, plan, "strip"):
        others = [other for other in strips if other != tag]
        cure = f"put {others[0]} in its place" if others else "get one from the house"
        yield "power", thing.item, Outcome(dead=(tag,), stops=_stops(of, plan), note=f"{cure}{_meanwhile(of, plan)}")
    for thing, tag in _packed(of, plan, "residual current device"):
        yield "power", thing.item, Outcome(dead=(tag,), stops=_stops(of, plan), note=_protected(of, plan, tag))


def _mains_lead(of: Documents, plan: Plan) -> Iterator[Single]:
    """The lead that runs to the socket, and the next one that reaches."""
    socket = rig_socket(of.venue)
    if socket is None:
        return
    needed_m = dist(socket.at, of.venue.recordist.at[:2]) + LEAD_SLACK_M
    leads = sorted(_packed(of, plan, "mains lead", "reel"), key=lambda one: (one[0].length_m, natural(one[1])))
    reach = [(thing, tag) for thing, tag in leads if thing.length_m >= needed_m]
    if reach:
        (thing, tag), *others = reach
        cure = f"lay {others[0][1]} in its place" if others else f"get one of {metres(round(needed_m))} from the house"
        yield "power", thing.item, Outcome(dead=(tag,), stops=_stops(of, plan), note=f"{cure}{_meanwhile(of, plan)}")


def _stops(of: Documents, plan: Plan) -> bool:
    return plan.power.battery is None or next(_packed(of, plan, "battery supply"), None) is None


def _meanwhile(of: Documents, plan: Plan) -> str:
    minutes = plan.power.battery.value if plan.power.battery else None
    if _stops(of, plan) or minutes is None:
        return "; recording stops until then"
    return f"; the battery carries the rig for about {figure(minutes)} min"


def _protected(of: Documents, plan: Plan, tag: str) -> str:
    others = [other for _, other in _packed(of, plan, "residual current device") if other != tag]
    circuits = {one.name for one in of.venue.circuit if one.residual_current_device.known}
    sockets = [one.name for one in of.venue.socket if one.circuit in circuits]
    if others:
        return f"put {others[0]} in its place and press its test button"
    if sockets:
        have = "has" if len(sockets) == 1 else "have"
        return f"never go on without one: the house says that {listed(sockets)} {have} one; test it first"
    return "never go on without one: ask the house for a protected socket"


def _media(of: Documents, plan: Plan) -> Iterator[Single]:
    """Cards that are recorded on, and discs that are copied to; where there is no card, discs are recorded on."""
    there = {tag for line in plan.pack for tag in line.tags}
    units = [(one, tag) for one in of.kit.media for tag in one.good_tags if tag in there]
    cards = [unit for unit in units if unit[0].kind == "card"] or units
    whole_gb = plan.media.whole.value
    if cards:
        yield _recorded_on(cards, plan, whole_gb)
    for thing, tag in units:
        if (thing, tag) not in cards:
            left = [other for one, other in units if one.kind != "card" and other != tag and _holds(one, whole_gb)]
            yield "medium", thing.item, Outcome(dead=(tag,), note=_copies(of, left, [tag for _, tag in cards]))


def _holds(medium: Media, whole_gb: float | None) -> bool:
    return whole_gb is None or medium.capacity_gb >= whole_gb


def _recorded_on(cards: list[tuple[Media, str]], plan: Plan, whole_gb: float | None) -> Single:
    (thing, tag), *others = cards
    free = [other for one, other in others if _holds(one, whole_gb)] or [other for _, other in others]
    if not free:
        outcome = Outcome(dead=(tag,), lost=_everything(plan), stops=True, note="nothing else to record on is packed")
        return "medium", thing.item, outcome
    short = (
        "" if _holds(next(one for one, other in cards if other == free[0]), whole_gb) else ", too small for the night"
    )
    says = (
        f"put {free[0]} in{short}, start a new take, note the time. {tag} is only read from now on: write nothing to it"
    )
    return "medium", thing.item, Outcome(dead=(tag,), stops=True, note=says)


def _copies(of: Documents, left: list[str], cards: list[str]) -> str:
    wanted = of.show.recording.copies
    if len(left) >= wanted:
        return f"copy to {listed(left[:wanted])}"
    on = f"copy to {listed(left)}: " if left else ""
    return f"{on}{len(left)} of {wanted} copies can be made, so {listed(cards[:1])} is not wiped"
