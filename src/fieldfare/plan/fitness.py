"""How well each mic, DI or house mic suits each input: one score from 1 to 100, and the words that explain it.

The score starts from what the recipe thinks of that kind of unit and loses points for spill that another pattern would
keep out, for too little reserve above the loudest moment, for noise of its own, and for what a DI does to a pickup.
Points are common practice, no source; the decibels behind them are computed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fieldfare.physics.lines import loading_loss_db
from fieldfare.physics.microphones import OMNI_SHARE
from fieldfare.plan.choice.ways import best_accept
from fieldfare.plan.remember import noted, remembered
from fieldfare.plan.spill import Air, Field, field
from fieldfare.plan.wanted import Accept, Sounding, Wanted
from fieldfare.show.kit import Di, Kit, Mic, Pattern
from fieldfare.show.show import HouseMic
from fieldfare.units.text import figure

SPILL_POINTS = 1.5  # for each dB that the best pattern would keep out
SPILL_MOST = 30
OVERLOAD_POINTS = 4.0  # for each dB that the loudest moment may pass what it takes
OVERLOAD_MOST = 60
RESERVE_DB = 6.0  # above the loudest moment expected; each dB less costs a point
NOISE_ROOM_DB = 60.0  # between its own noise and the quietest loudest moment; each dB less costs half a point
NOISE_MOST = 15
LOADING_POINTS = 3.0  # for each dB that a DI loses by loading the instrument
LOADING_MOST = 40
NOT_ISOLATED = 2  # a DI without a transformer joins two supplies
UNSTATED = 3  # a condenser whose maximum SPL nobody knows


@dataclass(frozen=True, slots=True)
class Fitness:
    """How well one item suits one input, and why."""

    score: int
    words: tuple[str, ...]

    @property
    def says(self) -> str:
        """The words as one line."""
        return "; ".join(self.words)


@dataclass(frozen=True, slots=True)
class Loss:
    """Points lost, and the words for it; words may come without points."""

    points: float
    words: str


@remembered(8)
def fitnesses(
    wanted: tuple[Wanted, ...], kit: Kit, sounding: tuple[Sounding, ...], air: Air
) -> dict[tuple[str, str], Fitness]:
    """Tell for every input how well each item that it accepts would suit it.

    Parameters
    ----------
    wanted
        The inputs.
    kit
        The mics and DIs there are.
    sounding
        Everything that sounds on the stage.
    air
        Temperature and room.

    Returns
    -------
    By id of the input and name of the item, that of the house mic among them.
    """
    found = {}
    for one in wanted:
        arriving = field(one, sounding, air)
        things: tuple[Mic | Di, ...] = (*kit.mic, *kit.di)
        for thing in things:
            accept = best_accept(one, thing)
            if accept is not None:
                found[one.id, thing.item] = fitness(one, accept, thing, arriving)
        split = next((accept for accept in one.accept if accept.taking == "split"), None)
        if split is not None and one.house_mic is not None:
            found[one.id, one.house_mic.item] = fitness(one, split, one.house_mic, arriving)
    return found


def scores(fitness: Mapping[tuple[str, str], Fitness]) -> dict[tuple[str, str], int]:
    """Return the bare scores, as the choice takes them."""
    return {key: one.score for key, one in fitness.items()}


def fitness(wanted: Wanted, accept: Accept, thing: Mic | Di | HouseMic, arriving: Field) -> Fitness:
    """Tell how well one item suits one input.

    Parameters
    ----------
    wanted, accept
        The input, and the way in which it would be taken.
    thing
        The mic, DI or house mic.
    arriving
        What arrives at the input besides its own sound.
    """
    if isinstance(thing, Di):
        losses = [*_pickup(wanted, thing)]
    else:
        losses = [*_spill(wanted, thing.pattern, arriving), *_loud(wanted, thing)]
        if isinstance(thing, Mic):
            losses += _noise(wanted, thing)
    score = accept.score - sum(loss.points for loss in losses)
    words = (accept.why, *(loss.words for loss in losses))
    return Fitness(score=max(1, min(100, round(score))), words=tuple(word for word in words if word))


def patterns(wanted: Wanted) -> tuple[Pattern, ...]:
    """List the patterns that an input accepts of a mic; all of them where one way leaves it open."""
    ways = [accept for accept in wanted.accept if accept.taking in ("mic", "split")]
    everything: tuple[Pattern, ...] = tuple(OMNI_SHARE)  # type: ignore[arg-type]
    if any(not accept.patterns for accept in ways):
        return everything
    return tuple(pattern for pattern in everything if any(pattern in accept.patterns for accept in ways))


def _spill(wanted: Wanted, pattern: Pattern, arriving: Field) -> Iterator[Loss]:
    tried = {one: _ratio_db(arriving, one) for one in (pattern, *patterns(wanted))}
    ratios = {one: ratio for one, ratio in tried.items() if ratio is not None}
    if pattern not in ratios:
        return
    here = ratios[pattern]
    best = max(ratios, key=lambda one: (round(ratios[one], 1), one == pattern))
    behind = ratios[best] - here
    words = f"its own sound {figure(abs(here))} dB {'over' if round(here) >= 0 else 'under'} the spill at this place"
    if round(behind) >= 1:
        words += f", {_a(best)} does {figure(behind)} dB better"
    if arriving.room_db is None:
        words += ", the room not counted"
    yield Loss(min(SPILL_MOST, SPILL_POINTS * behind), words)


@noted(64)
def _ratio_db(arriving: Field, pattern: Pattern) -> float | None:
    return arriving.ratio_db(pattern)


def _loud(wanted: Wanted, thing: Mic | HouseMic) -> Iterator[Loss]:
    loudest = wanted.spl_db[1]
    if thing.max_spl_db is None:
        if "condenser" in thing.kind:
            yield Loss(UNSTATED, "what it takes at most is not stated")
        return
    left = thing.max_spl_db - loudest
    if left < 0:
        points = RESERVE_DB + OVERLOAD_POINTS * -left
        yield Loss(min(OVERLOAD_MOST, points), f"takes {figure(-left)} dB less than the loudest moment may bring")
    elif left < RESERVE_DB:
        yield Loss(RESERVE_DB - left, f"only {figure(left)} dB left above the loudest moment expected")


def _noise(wanted: Wanted, thing: Mic) -> Iterator[Loss]:
    if thing.self_noise_dba is None or wanted.spl_db[0] <= 0:
        return
    room = wanted.spl_db[0] - thing.self_noise_dba
    if room < NOISE_ROOM_DB:
        points = min(NOISE_MOST, (NOISE_ROOM_DB - room) / 2)
        yield Loss(points, f"its own noise only {figure(room)} dB below what it hears")


def _pickup(wanted: Wanted, di: Di) -> Iterator[Loss]:
    loss_db = loading_loss_db(wanted.source_ohm, di.input_ohm)
    if round(loss_db) >= 1:
        yield Loss(min(LOADING_MOST, LOADING_POINTS * loss_db), f"its input takes {figure(loss_db)} dB off the pickup")
    if not di.isolated:
        yield Loss(NOT_ISOLATED, "no transformer between the two supplies")
    if di.max_input_dbu is not None and wanted.signal_dbu is not None:
        left = di.max_input_dbu - wanted.signal_dbu
        if left < RESERVE_DB:
            yield Loss(max(0.0, RESERVE_DB - left), f"only {figure(left)} dB left above the loudest moment expected")


def _a(pattern: Pattern) -> str:
    return f"{'an' if pattern[0] in 'aeiou' else 'a'} {pattern}"
