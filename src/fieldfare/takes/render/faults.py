"""Faults that are put into a recording on purpose, as data, and how each is done to the samples."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.show.show import Show
from fieldfare.takes.render.programme import Programme
from fieldfare.takes.render.sound import Sound
from fieldfare.units.faults import OutOfRange

Kind = Literal[
    "dead",
    "very low",
    "clipped",
    "clipped before the converter",
    "dropout",
    "repeated block",
    "hum",
    "dc",
    "polarity",
    "duplicate",
    "unfinished header",
    "stale header",
    "truncated",
    "missing",
    "wrong rate",
]
OF_THE_FILE: frozenset[Kind] = frozenset(("unfinished header", "stale header", "truncated", "missing", "wrong rate"))
_NEEDS_PLACES: frozenset[Kind] = frozenset(("dropout", "repeated block"))
Whole = NDArray[np.int32]
HUM_HARMONICS = {1: 1.0, 2: 0.35, 3: 0.7, 4: 0.15, 5: 0.4, 7: 0.25, 9: 0.12}  # number to strength, re the fundamental


@dataclass(frozen=True, slots=True)
class Planted:
    """One fault, on one track.

    `amount` means: dB too hot for "clipped"; dB too low for "very low"; dBFS of the flat top for "clipped before the
    converter"; dBFS of the fundamental for "hum"; dBFS for "dc"; bytes missing for "truncated"; hertz that the header
    states for "wrong rate". `places` are samples, end exclusive; without any the fault is there from end to end.
    """

    kind: Kind
    input: str  # id of the plan's input
    amount: float = 0.0
    places: tuple[tuple[int, int], ...] = ()
    of: str = ""  # for "duplicate", the input whose signal lies on this track too; for "polarity", the other side


def check_planted(planted: Sequence[Planted], plan: Plan, frames: int) -> None:
    """Refuse faults that cannot be put in.

    Raises
    ------
    OutOfRange
        An input that the plan has not got, a place outside the take, or places or a source that are missing.
    """
    known = {row.id for row in plan.input}
    doubles = {one.input for one in planted if one.kind == "duplicate"}
    for one in planted:
        where = f"fault {one.kind!r} on {one.input}"
        if one.input not in known or (one.of and one.of not in known):
            raise OutOfRange("the plan has no such input", where, "name inputs by their id")
        if one.kind in _NEEDS_PLACES and not one.places:
            raise OutOfRange("it has no place", where, "give first sample and sample after the last")
        if one.kind == "duplicate" and (not one.of or one.of in doubles):
            raise OutOfRange("it does not say whose signal is doubled", where, "give `of`, a track that doubles nobody")
        for start, end in one.places:
            room = end - start if one.kind == "repeated block" else 1  # what is repeated, or a sample that borders it
            if not room <= start < end < frames:
                raise OutOfRange(f"samples {start} to {end} do not lie inside {frames}", where, "move it")


def before_preamp(sound: Sound, planted: Sequence[Planted]) -> Sound:
    """Do to a signal what happens ahead of the preamp's noise: a dead line, and a gain that is wrong.

    Parameters
    ----------
    sound
        What the input hears, re full scale.
    planted
        The faults of this track.
    """
    for one in planted:
        if one.kind == "dead":
            sound = np.zeros_like(sound)
        elif one.kind == "very low":
            sound = sound * np.float32(10.0 ** (-abs(one.amount) / 20.0))
        elif one.kind == "clipped":
            sound = sound * np.float32(10.0 ** (one.amount / 20.0))
        elif one.kind == "polarity":
            sound = -sound
    return sound


def before_converter(sound: Sound, start: int, planted: Sequence[Planted], rate_hz: int, mains_hz: int) -> Sound:
    """Do to a signal what happens between preamp and converter: flat tops, hum, an offset.

    Parameters
    ----------
    sound
        What leaves the preamp, re full scale.
    start
        Its first sample, counted from the take's start.
    planted
        The faults of this track.
    rate_hz
        Sample rate. [Hz]
    mains_hz
        Frequency of the mains. [Hz]
    """
    for one in planted:
        if one.kind == "clipped before the converter":
            top = np.float32(10.0 ** (one.amount / 20.0))
            sound = np.where(inside(one, start, len(sound)), np.clip(sound, -top, top), sound)
        elif one.kind == "hum":
            time = (np.arange(start, start + len(sound)) / rate_hz) * (2 * np.pi * mains_hz)
            hum = sum(share * np.sin(number * time + 0.7 * number) for number, share in HUM_HARMONICS.items())
            sound = np.where(inside(one, start, len(sound)), sound + 10.0 ** (one.amount / 20.0) * hum, sound)
        elif one.kind == "dc":
            sound = sound + np.float32(10.0 ** (one.amount / 20.0))
    return sound.astype(np.float32)


def after_converter(samples: Whole, start: int, planted: Sequence[Planted], history: Whole) -> Whole:
    """Do to samples what happens on the way to the card: zeros where there was signal, and blocks written twice.

    Parameters
    ----------
    samples
        Whole numbers as the converter gave them; changed in place.
    start
        First sample, counted from the take's start.
    planted
        The faults of this track.
    history
        Samples of the same track that came just before, as many as the longest repeated block.
    """
    end = start + len(samples)
    for one in planted:
        if one.kind == "dropout":
            for first, last in one.places:
                samples[max(0, first - start) : max(0, last - start)] = 0
                for border in (first - 1, last):  # so that the run of zeros is exactly as long as the truth says
                    if start <= border < end and samples[border - start] == 0:
                        samples[border - start] = 1
        elif one.kind == "repeated block":
            for first, last in one.places:
                _repeat(samples, start, first, last, history)
    return samples


def inside(one: Planted, start: int, count: int) -> NDArray[np.bool_]:
    """Which samples of a block lie in the places of a fault; all of them where it has none."""
    if not one.places:
        return np.ones(count, bool)
    there = np.zeros(count, bool)
    for first, last in one.places:
        there[max(0, first - start) : max(0, last - start)] = True
    return there


def longest_repeat(planted: Sequence[Planted]) -> int:
    """How many samples of history the repeated blocks need."""
    spans = [last - first for one in planted if one.kind == "repeated block" for first, last in one.places]
    return 2 * max(spans, default=0)


def _repeat(samples: Whole, start: int, first: int, last: int, history: Whole) -> None:
    """Write the block before `first` once more, from `first` to `last`, as far as it lies in these samples."""
    size = last - first
    low, high = max(first, start), min(last, start + len(samples))
    if low >= high:
        return
    known = np.concatenate([history, samples])
    offset = start - len(history)
    samples[low - start : high - start] = known[low - size - offset : high - size - offset]


def demo_faults(plan: Plan, show: Show, programme: Programme) -> tuple[Planted, ...]:
    """Choose a fault of each of the commonest sorts, each on the track where it is likeliest, none twice on a track.

    Parameters
    ----------
    plan
        Its inputs; a fault whose kind of input it has not got is left out.
    show
        For the peak that gains were set to.
    programme
        The take, for places inside the music.
    """
    taken: set[str] = set()
    found = []
    for planted, words, taking in _DEMO:
        row = next(
            (one for word in words for one in plan.input if _fits(one, word, taking) and one.id not in taken), None
        )
        of = row.pair if row and planted.kind == "polarity" else ""
        if row is None or (planted.kind == "polarity" and of not in {one.id for one in plan.input}):
            continue
        taken |= {row.id, of}
        target_dbfs = show.recording.peak_target_dbfs
        shift_db = {"clipped": -target_dbfs, "clipped before the converter": target_dbfs}.get(planted.kind, 0.0)
        places = _drops(programme) if planted.kind == "dropout" else ()
        found.append(replace(planted, input=row.id, amount=planted.amount + shift_db, places=places, of=of))
    return tuple(found)


# What, on which sort of input (the first that the plan has), and how taken; "" for any way. What is clipped would peak
# at the amount given, in dBFS; a flat top stands that far from where peaks were meant to be.
_DEMO: tuple[tuple[Planted, tuple[str, ...], str], ...] = (
    (Planted("polarity", ""), ("overhead right", "overhead", "room right"), "mic"),
    (Planted("dead", ""), ("backing vocal", "percussion", "tom"), ""),
    (Planted("hum", "", amount=-52.0), ("bass", "fiddle", "guitar", "bouzouki"), "di"),
    (Planted("clipped", "", amount=7.0), ("trumpet", "saxophone", "snare"), "mic"),
    (Planted("clipped before the converter", "", amount=-6.0), ("kick", "tom", "snare top"), "mic"),
    (Planted("dropout", ""), ("accordion", "clarinet", "fiddle"), "mic"),
    (Planted("very low", "", amount=36.0), ("guitar", "bouzouki", "fiddle", "clarinet"), ""),
    (Planted("unfinished header", ""), ("room left", "room", "snare top"), ""),
)
_DROPS = ((0.31, 480), (0.52, 64), (0.74, 2400))  # where in the first song, and how many samples


def _fits(row: PlannedInput, word: str, taking: str) -> bool:
    return word in f"{row.label} {row.recipe} {row.part}".casefold() and taking in ("", row.taking)


def _drops(programme: Programme) -> tuple[tuple[int, int], ...]:
    song = programme.songs[0]
    starts = [(song.start + round(share * (song.end - song.start)), count) for share, count in _DROPS]
    return tuple((start, start + count) for start, count in starts)
