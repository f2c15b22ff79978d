"""The goals of the choice in their order, each as a sum to be made as small as it goes."""

from __future__ import annotations

from collections.abc import Iterator

from fieldfare.plan.choice.columns import Program, uses
from fieldfare.plan.choice.solver import Aim
from fieldfare.plan.choice.stock import OWNERS

ON_BAR = 10  # score that a stereo pair gains on one bar, where it keeps its angle and its distance
UNMATCHED = 10  # score that a stereo pair loses that would rather be matched and is not

SHARED = 2  # an input that uses the row of another by the same player counts for this part of its score

Terms = list[tuple[int, float]]


def goals_of(program: Program) -> tuple[Aim, ...]:
    """List the goals: importance, fitness, owners, joins, metres, hops, floor, and the order of the kit."""
    return (*importance(program), fitness(program), *_owners(program), *_effort(program), _order(program))


def importance(program: Program) -> tuple[Aim, ...]:
    """As many *must* inputs as can be, then *want*, then *nice*; and so with the fewest changes from act to act."""
    found = []
    for level in ("must", "want", "nice"):
        numbers = [number for number, one in enumerate(program.case.inputs) if one.importance == level]
        terms = [(column, -1.0) for number in numbers for column in program.kept(number)]
        found.append(Aim(f"{level} inputs kept", tuple(terms), len(numbers), sign=-1))
    if program.changed:
        changes = tuple((column, 1.0) for column in program.changed)
        found.append(Aim("changes from act to act", changes, len(program.case.inputs) * len(program.case.sets)))
        manners = {share.pair: share.manner for share in program.case.shares if share.manner != "own"}
        carried = [column for (*pair, _), column in program.guest.items() if manners[pair[0], pair[1]] == "carried"]
        found.append(Aim("mics carried over between acts", tuple((c, 1.0) for c in carried), len(program.case.inputs)))
    return tuple(found)


def fitness(program: Program) -> Aim:
    """The best mics and DIs: the sum of their scores, less for a second choice of stand and an unmatched pair."""
    terms = [
        (column, -factor)
        for number in range(len(program.case.inputs))
        for column, factor in _fitness_terms(program, number)
    ]
    terms += [(column, float(UNMATCHED)) for column in program.unmatched]
    terms += [(column, -ON_BAR - _given_back(program, *key)) for key, column in program.on_bar.items()]
    span = sum(max((way.score for way in one.ways), default=0) for one in program.case.inputs)
    span += UNMATCHED * len(program.unmatched) + 2 * ON_BAR * len(program.on_bar)
    return Aim("fitness of mics and DIs", tuple(terms), span, sign=-1)


def _given_back(program: Program, heap: int, left: int, right: int) -> float:
    """A bar that holds both mics of a pair is no second choice of stand, whatever kind carries it."""
    return float(sum(dict(program.case.inputs[side].stands)[heap] for side in (left, right)))


def _fitness_terms(program: Program, number: int) -> Terms:
    """The score of one input, less for a second choice of stand."""
    stands = program.case.inputs[number].stands
    return [
        *mic_terms(program, number),
        *((program.stand[number, heap], -float(cost)) for heap, cost in stands if cost),
    ]


def mic_terms(program: Program, number: int) -> Terms:
    """The score of one input's mic, DI or split, whatever it stands on."""
    one = program.case.inputs[number]
    terms = [(program.way[number, index], float(way.score)) for index, way in enumerate(one.ways)]
    scores = {(way.heap, way.splitter, way.house_box): way.score for way in one.ways}
    whole = {share.pair for share in program.case.shares if share.acts or share.mouth}
    for (guest, host, index), column in program.guest.items():
        if guest == number:
            way = program.case.inputs[host].ways[index]
            score = scores[way.heap, way.splitter, way.house_box]
            terms.append((column, float(score if (guest, host) in whole else score // SHARED)))
    return terms


def _owners(program: Program) -> Iterator[Aim]:
    heaps = program.case.stock.heaps
    used = list(uses(program))
    for owner in reversed(OWNERS[1:]):
        terms = [(column, float(number)) for column, heap, number in used if heaps[heap].thing.owner == owner]
        if terms:
            word = {"hired": "hired pieces", "house": "pieces of the house", "band": "pieces of the band"}[owner]
            yield Aim(word, tuple(terms), 6 * len(program.case.inputs))


def _effort(program: Program) -> tuple[Aim, ...]:
    """Joins before metres, since a join is one more thing to fail; metres before boxes and splitters on the way."""
    case = program.case
    laid = [(column, lay) for lays in (program.cable, program.line_cable) for (_, lay), column in lays.items()]
    joins = tuple((column, 1.0) for column, lay in laid if len(lay.heaps) > 1)
    every = [*laid, *((column, lay) for lays in (program.lead, program.jumper) for (_, lay), column in lays.items())]
    tails = [(column, float(case.landings[index].tail_dm)) for index, column in program.box_used.items()]
    metres = (*((column, float(lay.length_dm)) for column, lay in every), *tails)
    longest = max((lay.length_dm for _, lay in every), default=0)
    boxes = [(column, 1.0) for (_, index), column in program.land.items() if not case.landings[index].own]
    splitters = [
        (column, 1.0)
        for column in dict.fromkeys(
            c for (number, index), c in program.way.items() if case.inputs[number].ways[index].splitter is not None
        )
    ]
    passed = (*program.box_used.values(), *program.outside)
    shared = (*program.shared_di.values(), *program.on_bar.values())
    saved = ((column, -1.0) for column in shared)  # one DI or stand less to put down
    hops = (*boxes, *splitters, *((column, 1.0) for column in passed), *saved)
    floor = tuple(
        (column, float(case.inputs[number].needs_dm[case.landings[index].tag]))
        for (number, index), column in program.land.items()
    )
    farthest = max((factor for _, factor in floor), default=0)
    inputs = len(case.inputs)
    return (
        Aim("joins", joins, inputs),
        Aim("metres of cable", metres, int(3 * longest * inputs + sum(factor for _, factor in tails)), unit=0.1),
        Aim("hops", hops, 4 * inputs + len(tails)),
        Aim("metres on the floor", floor, int(farthest * inputs), unit=0.1),
    )


def _order(program: Program) -> Aim:
    """Among plans that are otherwise alike: earlier rows kept, and earlier rows get what stands first in the kit."""
    case = program.case
    inputs = len(case.inputs)
    terms: dict[int, float] = {}
    for number, column in enumerate(program.own):
        terms[column] = float(number)
    for (number, index), column in program.way.items():
        terms[column] = float((inputs - number) * index)
    for (number, heap), column in program.stand.items():
        terms[column] = float((inputs - number) * [one for one, _ in case.inputs[number].stands].index(heap))
    for (number, index), column in program.land.items():
        terms[column] = float((inputs - number) * index)
    return Aim("order of the list", tuple((column, factor) for column, factor in terms.items() if factor), 10**9)
