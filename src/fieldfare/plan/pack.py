"""The pack list: everything in the plan with what goes with it, spares, and what goes to every show, by bin.

How many spares: 10 to 20 % of the leads and never fewer than two of a length in use, one DI, two microphones, one
stand, double of each adapter: common practice, no source. That is habit; where the odds that the spares of an item last
the night are lower than is wanted, more are packed. Odds of failing: a guess of the trade, no source, until the owner
writes down their own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from math import ceil

from fieldfare.physics.lifting import HSE_FILTER_KG, Lift, lifting_index, recommended_kg
from fieldfare.physics.spares import odds_at_most, spares_for
from fieldfare.show.kit import Adapter, Cable, Di, Kit, Media, Mic, Splitter, Stand, Sundry, Supply, Thing
from fieldfare.show.plan import BinWeight, PackLine, PlannedInput, UnitUse
from fieldfare.show.show import Spares
from fieldfare.units.faults import Fault
from fieldfare.units.text import figure, listed, nearest
from fieldfare.units.working import Given, Working

SPARE_LEADS_SHARE = 0.1
SPARE_LEADS_LEAST = 2
SPARES: dict[type[Thing], int] = {Mic: 2, Di: 1, Stand: 1, Splitter: 1}
ADAPTERS = 2
# Odds that one fails in a night, by table of the kit: a guess of the trade, no source.
FAIL_ODDS = {"cable": 0.02, "di": 0.01, "splitter": 0.005, "mic": 0.005, "stand": 0.005}
KINDS: dict[type[Thing], str] = {Cable: "cable", Di: "di", Splitter: "splitter", Mic: "mic", Stand: "stand"}
HABIT = Spares()
# A case by its handles, from the floor into a vehicle: common practice, no source.
INTO_VEHICLE = Lift(horizontal_cm=40, height_cm=35, travel_cm=45)
NO_BIN = "no bin"


def pack_list(
    kit: Kit, inputs: Iterable[PlannedInput], more: Mapping[str, str], spares: Spares = HABIT
) -> tuple[PackLine, ...]:
    """List what goes into the van, by bin in the order of the kit's bins.

    Parameters
    ----------
    kit
        Where every unit lives and what comes with it.
    inputs
        The planned inputs; every unit they use is packed, with its inputs as the reason.
    more
        Tags of other units in use (boxes, trunk, recorder, preamps) and what each is for.
    spares
        How sure it is to be that there are spares enough, and how often things fail.

    Raises
    ------
    Fault
        Odds of failing for something that is neither a kind nor an item of the kit.
    """
    known = {*KINDS.values(), *(thing.item for thing in kit.things)}
    for name in spares.fail_odds:
        if name not in known:
            close = nearest(name, known)
            remedy = f"did you mean {close!r}?" if close else f"write an item, or one of {listed(KINDS.values())}"
            raise Fault(f"nothing in the kit is called {name!r}", "show.toml, spares, fail_odds", remedy)
    used = _uses(inputs)
    for tag, why in more.items():
        used[tag].append(why)
    lines = [line for thing in kit.things if thing.owner != "house" for line in _lines(thing, used, spares)]
    order = {one.name: place for place, one in enumerate(kit.bin)}
    return tuple(sorted(lines, key=lambda line: (order.get(line.bin, len(order)), line.bin)))


def _uses(inputs: Iterable[PlannedInput]) -> dict[str, list[str]]:
    used: dict[str, list[str]] = defaultdict(list)
    for one in inputs:
        for unit in units_of(one):
            used[unit.tag].append(one.label)
    return used


def units_of(one: PlannedInput) -> Iterator[UnitUse]:
    """Every unit that an input holds, in the order of the signal."""
    yield from (unit for unit in (one.unit, one.stand, one.splitter) if unit)
    yield from (*one.lead, *one.cable)


def _lines(thing: Thing, used: Mapping[str, list[str]], wanted: Spares) -> Iterator[PackLine]:
    planned = [tag for tag in thing.tags if tag in used]
    if planned:
        reasons = list(dict.fromkeys(why for tag in planned for why in used[tag]))
        yield _line(thing, planned, ", ".join(reasons))
    always = _always(thing)
    if always:
        yield _line(thing, [tag for tag in thing.good_tags if tag not in used], always)
        return
    enough = max(_spares(thing, len(planned)), _by_odds(thing, len(planned), wanted))
    spares = [tag for tag in thing.good_tags if tag not in used][:enough]
    if spares:
        yield _line(thing, spares, "spare", spare=True, odds=_last(thing, len(planned), len(spares), wanted))


def _fail_odds(thing: Thing, wanted: Spares) -> tuple[float, bool] | None:
    """Odds that one fails in a night, and whether the owner has said so; none for what nobody counts."""
    kind = KINDS.get(type(thing), "")
    for name in (thing.item, kind):
        if name in wanted.fail_odds:
            return wanted.fail_odds[name], True
    return (FAIL_ODDS[kind], False) if kind else None


def _by_odds(thing: Thing, planned: int, wanted: Spares) -> int:
    odds = _fail_odds(thing, wanted)
    return spares_for(planned, odds[0], wanted.wanted_odds) if odds and planned else 0


def _last(thing: Thing, planned: int, spares: int, wanted: Spares) -> Working | None:
    """How likely it is that no more of those in use fail than there are spares."""
    odds = _fail_odds(thing, wanted)
    if odds is None or not planned:
        return None
    return Working(
        value=round(100 * odds_at_most(spares, planned, odds[0]), 2),
        unit="%",
        formula="Σ n from 0 to spares: C(in use, n) · odds^n · (1 − odds)^(in use − n)",
        given=(
            Given(name="spares", value=spares),
            Given(name="in use", value=planned),
            Given(name="odds that one fails in a night", value=odds[0]),
            Given(name="wanted", value=100 * wanted.wanted_odds, unit="%"),
            Given(name="by habit", value=_spares(thing, planned)),
        ),
        source="KofN",
        sure="estimate" if odds[1] else "guess",
    )


def _always(thing: Thing) -> str:
    if isinstance(thing, Sundry):
        return "every show" if thing.each_show else ""
    if isinstance(thing, Media):
        return "recording and copies"
    return "power" if isinstance(thing, Supply) else ""


def _spares(thing: Thing, planned: int) -> int:
    if isinstance(thing, Cable):
        wanted = max(SPARE_LEADS_LEAST, ceil(planned * SPARE_LEADS_SHARE)) if planned else 0
    elif isinstance(thing, Adapter):
        wanted = ADAPTERS
    else:
        wanted = next((count for kind, count in SPARES.items() if isinstance(thing, kind)), 0)
    return max(wanted, thing.keep_back)


def _line(thing: Thing, tags: list[str], why: str, *, spare: bool = False, odds: Working | None = None) -> PackLine:
    return PackLine(
        bin=thing.bin or NO_BIN,
        item=thing.item,
        tags=tuple(tags),
        owner=thing.owner,
        why=why,
        comes_with=thing.comes_with,
        weight_kg=thing.weight_kg,
        spare=spare,
        odds=odds,
    )


def bin_weights(kit: Kit, lines: Iterable[PackLine]) -> tuple[BinWeight, ...]:
    """Weigh every bin as packed, with the caution that its weight asks for.

    A unit without a weight is never taken as nothing: the bin's weight is then told as "at least", and sure to no more
    than an estimate.
    """
    by_bin: dict[str, list[PackLine]] = defaultdict(list)
    for line in lines:
        by_bin[line.bin].append(line)
    known = {one.name: one for one in kit.bin}
    return tuple(
        _weigh(
            name,
            inside,
            known[name].empty_kg if name in known else None,
            known[name].load_order if name in known else 0,
        )
        for name, inside in by_bin.items()
    )


def _weigh(name: str, lines: list[PackLine], empty_kg: float | None, load_order: int) -> BinWeight:
    unweighed = sum(len(line.tags) for line in lines if line.weight_kg is None) + (empty_kg is None and name != NO_BIN)
    contents_kg = sum((line.weight_kg or 0) * len(line.tags) for line in lines)
    total_kg = contents_kg + (empty_kg or 0)
    given = [
        Given(name="empty", value=empty_kg or 0, unit="kg"),
        Given(name="contents", value=round(contents_kg, 2), unit="kg"),
    ]
    if unweighed:
        given.append(Given(name="things without a weight in the kit", value=unweighed))
    return BinWeight(
        bin=name,
        weight=Working(
            value=round(total_kg, 2),
            unit="kg",
            formula="at least empty + contents" if unweighed else "empty + contents",
            given=tuple(given),
            source="definition",
            sure="estimate" if unweighed else "sure",
        ),
        caution=_caution(total_kg),
        load_order=load_order,
        lifting=_lifting(total_kg) if _caution(total_kg) and name != NO_BIN else None,
    )


def _lifting(weight_kg: float) -> Working:
    """How many times the recommended weight a bin is, lifted by one person into the vehicle."""
    lift = INTO_VEHICLE
    return Working(
        value=round(lifting_index(weight_kg, lift), 2),
        unit="",
        formula="weight / recommended weight for one person, from the floor into the vehicle",
        given=(
            Given(name="weight", value=round(weight_kg, 2), unit="kg"),
            Given(name="recommended", value=round(recommended_kg(lift), 1), unit="kg"),
            Given(name="hands out from the ankles", value=lift.horizontal_cm, unit="cm"),
            Given(name="handles above the floor", value=lift.height_cm, unit="cm"),
            Given(name="lifted by", value=lift.travel_cm, unit="cm"),
        ),
        source="NIOSH94-110",
        sure="estimate",
    )


def _caution(weight_kg: float) -> str:
    men, women = HSE_FILTER_KG["men"], HSE_FILTER_KG["women"]
    if weight_kg > men:
        return f"over {figure(men)} kg: two people, or a trolley; local rules come first"
    if weight_kg > women:
        return f"over {figure(women)} kg: lift close to the body, or with two; local rules come first"
    return ""
