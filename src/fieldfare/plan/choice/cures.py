"""What stands in the way of an input that is left out, and the cheapest thing that would bring it back.

Each cure is a choice of its own: the input is forced in, every row that is kept stays kept with mics as good as before,
and the fewest and cheapest things are bought beside the kit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from fieldfare.plan.choice.case import Input
from fieldfare.plan.choice.columns import Program, uses
from fieldfare.plan.choice.goals import fitness_terms
from fieldfare.plan.choice.solver import Row, Solution, ones, solve
from fieldfare.plan.choice.tags import Picked
from fieldfare.plan.choice.ways import decimetres
from fieldfare.plan.wanted import Accept, Wanted
from fieldfare.show.kit import Cable, Di, Kit, Mic, MicKind, Pattern, Splitter, Stand, StandKind, Thing
from fieldfare.units.text import listed, metres

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


@dataclass(frozen=True, slots=True)
class Cure:
    """Why an input is left out and what would bring it back."""

    blocks: str
    cure: str


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


def cure_of(program: Program, found: Picked, scores: dict[int, int], number: int) -> Cure:
    """Tell why an input is left out and what would bring it back.

    Parameters
    ----------
    program
        Of the same case with the shop's things in the kit.
    found
        What was chosen without them.
    scores
        Fitness of each kept input.
    number
        The input that is left out.
    """
    one = program.case.inputs[number]
    if one.pin is not None and one.pin.keep is False:
        return Cure("left out by hand", "take the pin out")
    if not one.needs_dm:
        return Cure("no way for a cable is known from there to any box", "give a place to a box or the trunk")
    others = [other for other in found.way if other != number]
    kept = [Row(tuple(ones([program.own[other]])), 1, 1) for other in others]
    kept += [Row(tuple(ones(program.kept(guest))), 1, 1) for guest in found.host if guest != number]
    forced = Row(((program.own[number], 1.0),), 1, 1)
    as_good = Row(
        tuple(term for other in others for term in fitness_terms(program, other)),
        sum(scores[other] for other in others),
        float("inf"),
    )
    prices = [(column, float(price)) for column, price, _ in _prices(program)]
    answer = solve(program.model, prices, [*kept, forced, as_good])
    if answer is None:
        return Cure(_why_not(one), "change the recipe's ways or the pins of the show")
    bought = _bought(program, answer[0])
    names = listed(_counted(name, count) for name, count in bought.items())
    verb = "bring" if sum(bought.values()) > 1 else "brings"
    return Cure(_blocked(program, found, number, answer[0]), f"{names} {verb} it back")


def _prices(program: Program) -> Iterator[tuple[int, int, str]]:
    """List what can be bought: column, price, name."""
    for column, heap, number in uses(program):
        thing, tags = program.case.stock.heaps[heap].thing, program.case.stock.heaps[heap].tags
        if tags[0].startswith(BOUGHT):
            price = CLIP_PRICE if isinstance(thing, Mic) and thing.mount == "clip" else PRICES[type(thing)]
            longer = decimetres(thing.length_m) // 50 if isinstance(thing, Cable) else 0
            yield column, number * (price + longer), thing.item
    for name, column in program.extra.items():
        yield column, EXTRA_PRICES[name], name


def _bought(program: Program, values: Solution) -> Counter[str]:
    found: Counter[str] = Counter()
    for column, heap, number in uses(program):
        one = program.case.stock.heaps[heap]
        if values[column] and one.tags[0].startswith(BOUGHT):
            found[one.thing.item] += number * int(values[column])
    for name, column in program.extra.items():
        if values[column]:
            found[name] += int(values[column])
    return found


def _counted(name: str, count: int) -> str:
    if name == "recorder":
        return f"a recorder with {count} more channel{'s' if count > 1 else ''}"
    if name == "preamps":
        return "one more pair of preamps" if count == 1 else f"{count} more pairs of preamps"
    if name == "trunk lines":
        return f"{count} more line{'s' if count > 1 else ''} of trunk"
    return f"one more {name}" if count == 1 else f"{count} more of {name}"


def _blocked(program: Program, found: Picked, number: int, values: Solution) -> str:
    """Name what is short, one phrase for each thing that the cure buys."""
    case, one = program.case, program.case.inputs[number]
    phrases: dict[str, None] = {}
    if not any(way.heap is None or not _is_bought(program, way.heap) for way in one.ways):
        phrases["nothing in the kit suits it"] = None
    for column, heap, _ in uses(program):
        if values[column] and _is_bought(program, heap):
            phrases[_short(program, heap)] = None
    if any(values[program.extra[name]] for name in ("preamps", "recorder")):
        recorder = case.recorder
        there = (recorder.preamps + recorder.line_inputs if recorder else 0) - len(found.way)
        inside = sum(len(bank.channels) for bank in case.banks)
        outside = sum(len(one.tags) * one.thing.channels for one in case.outboards)
        both = f"{inside} of the recorder and {outside} outside it" if outside else f"{inside} of the recorder"
        phrases["no channel of the recorder is left" if there <= 0 else f"no preamp is left of {both}"] = None
    if values[program.extra["trunk lines"]]:
        phrases[f"all {case.trunk_lines} lines of the trunk are in use"] = None
    return listed(phrases) if phrases else "a pin holds what it needs"


def _is_bought(program: Program, heap: int) -> bool:
    return program.case.stock.heaps[heap].tags[0].startswith(BOUGHT)


def _short(program: Program, heap: int) -> str:
    thing = program.case.stock.heaps[heap].thing
    if isinstance(thing, Cable):
        word = {"mic": "microphone cable", "line": "line cable", "instrument": "lead"}[thing.signal]
        return f"no {word} that reaches is left"
    if isinstance(thing, Stand):
        return f"no {thing.kind} is left that holds it there" if thing.kind != "clamp" else "no clamp is left"
    if isinstance(thing, Splitter):
        return "no splitter is left"
    return "no mic that suits it is left" if isinstance(thing, Mic) else "no DI that suits it is left"


def _why_not(one: Input) -> str:
    if not one.ways:
        return "nothing is known that could take it"
    return (
        "what was decided by hand stands in the way" if one.pin else "something stands in the way that cannot be bought"
    )


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
