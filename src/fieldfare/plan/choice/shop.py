"""What could be hired or bought beside the kit, one of each kind that the inputs could use, and what that costs."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.plan.choice.ways import decimetres
from fieldfare.plan.wanted import Accept, Wanted
from fieldfare.show.kit import Cable, Di, Kit, Mic, MicKind, Pattern, Splitter, Stand, StandKind, Thing
from fieldfare.units.text import metres

BOUGHT = "+"  # what the tags of bought things begin with
# What a thing costs to hire for a day, in tenths of a cable: common practice, no source. Only their order matters.
PRICES: dict[type[Thing], int] = {Cable: 10, Stand: 20, Di: 40, Splitter: 50, Mic: 60}
CLIP_PRICE = 80
EXTRA_PRICES = {"preamps": 120, "recorder": 150, "trunk lines": 100}
LENGTHS_M = (3, 5, 10, 15, 20, 30, 50)
LEADS_M = (3, 6)
PATTERNS: dict[MicKind, Pattern] = {"ribbon": "figure of eight", "large dynamic": "cardioid"}
HEIGHTS_M: dict[StandKind, tuple[float, float]] = {
    "tall boom": (0.9, 4.0),
    "short boom": (0.2, 1.2),
    "straight": (0.9, 1.8),
    "table": (0.1, 0.5),
    "clamp": (0.1, 2.5),
}


def shop(kit: Kit, wanted: tuple[Wanted, ...]) -> Kit:
    """Return a kit in which everything that the inputs could use can be bought as well.

    Parameters
    ----------
    kit
        What there is.
    wanted
        The inputs that are left out.
    """
    mics = {name: mic for one in wanted for accept in one.accept for name, mic in _mics(accept)}
    dis = {name: di for one in wanted for accept in one.accept for name, di in _dis(accept)}
    kinds = dict.fromkeys(kind for one in wanted for kind in one.stands)
    lines = dict.fromkeys(one.lead_end for one in wanted if any(accept.taking == "line" for accept in one.accept))
    leads = dict.fromkeys(one.lead_end for one in wanted if any(accept.taking == "di" for accept in one.accept))
    cables = [_cable("mic", "xlr-f", "xlr-m", length) for length in LENGTHS_M]
    cables += [_cable("line", end, "xlr-m", length) for end in lines if end != "xlr-f" for length in LENGTHS_M]
    cables += [_cable("instrument", end, "jack-ts", length) for end in leads for length in LEADS_M]
    splits = any(accept.taking == "split" for one in wanted for accept in one.accept)
    return kit.model_copy(
        update={
            "mic": (*kit.mic, *mics.values()),
            "di": (*kit.di, *dis.values()),
            "splitter": (*kit.splitter, *([_splitter()] if splits else [])),
            "stand": (*kit.stand, *(_stand(kind) for kind in kinds)),
            "cable": (*kit.cable, *cables),
        }
    )


def price_of(thing: Thing) -> int:
    """Return what a thing of the shop costs; a longer cable costs a little more."""
    if isinstance(thing, Mic) and thing.mount == "clip":
        return CLIP_PRICE
    longer = decimetres(thing.length_m) // 50 if isinstance(thing, Cable) else 0
    return PRICES[type(thing)] + longer


def _mics(accept: Accept) -> Iterator[tuple[str, Mic]]:
    if accept.taking != "mic" or not accept.kinds:
        return
    kind = accept.kinds[0]
    pattern = accept.patterns[0] if accept.patterns else PATTERNS.get(kind, "cardioid")
    name = f"{pattern} {kind}" if kind not in ("ribbon", "boundary", "headset") else kind
    condenser = kind in ("small condenser", "large condenser", "clip condenser", "boundary")
    tags = (f"{BOUGHT}{name} 1", f"{BOUGHT}{name} 2")
    yield (
        name,
        Mic(
            item=name,
            tags=tags,
            owner="hired",
            kind=kind,
            pattern=pattern,
            phantom="harmful" if kind == "ribbon" else "needed" if condenser else "ignored",
            sensitivity_mv_pa=10 if condenser else 2,
            impedance_ohm=200,
            mount="clip" if accept.clip or kind == "clip condenser" else "floor" if kind == "boundary" else "stand",
            pairs=((tags[0], tags[1]),),
        ),
    )


def _dis(accept: Accept) -> Iterator[tuple[str, Di]]:
    if accept.taking == "di":
        active = accept.active is True or accept.least_input_ohm > 50_000
        name = "active DI" if active else "passive DI"
        yield (
            name,
            Di(
                item=name,
                tags=tuple(f"{BOUGHT}{name} {number}" for number in (1, 2)),
                owner="hired",
                active=active,
                input_ohm=max(accept.least_input_ohm, 1e6 if active else 50_000),
                isolated=not active,
                phantom="needed" if active else "ignored",
            ),
        )


def _splitter() -> Splitter:
    name = "transformer splitter"
    tags = tuple(f"{BOUGHT}{name} {number}" for number in (1, 2))
    return Splitter(item=name, tags=tags, owner="hired", isolation="transformer")


def _stand(kind: StandKind) -> Stand:
    name = kind if kind == "clamp" else f"{kind} stand"
    low, high = HEIGHTS_M[kind]
    tags = tuple(f"{BOUGHT}{name} {number}" for number in (1, 2))
    return Stand(item=name, tags=tags, owner="hired", kind=kind, lowest_m=low, highest_m=high)


def _cable(signal: str, from_end: str, to_end: str, length_m: int) -> Cable:
    word = {"mic": "microphone cable", "line": f"line cable from {from_end}", "instrument": f"lead from {from_end}"}[
        signal
    ]
    name = f"{word} of {metres(length_m)}"
    return Cable.model_validate(
        {
            "item": name,
            "tags": [f"{BOUGHT}{name} {number}" for number in (1, 2, 3, 4)],
            "owner": "hired",
            "signal": signal,
            "from_end": from_end,
            "to_end": to_end,
            "length_m": length_m,
        }
    )
