"""Holds measured delays to what is true of rendered shows: rights and wrongs by kind, and whether sureness is honest.

python bench/alignment.py FONT [FOLDER]            judge on shows 0 to 11
python bench/alignment.py FONT [FOLDER] tune       fit the weights of sureness on shows 12 to 17, and print them
python bench/alignment.py FONT [FOLDER] swaps      swap labels on shows 0 to 11, and see whether that is found

The shows are those of bench/gigs.py, with real sampled instruments (bench/sampled.py): three reverberations, two levels
of noise. FOLDER keeps the recordings. Weights are fitted on other shows than they are judged on.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise
from math import dist
from pathlib import Path
from typing import NamedTuple

import numpy as np
from gigs import Gig, gigs
from sampled import sampled

from fieldfare.takes.alignment.align import heard_labels
from fieldfare.takes.alignment.hearing import Lag
from fieldfare.takes.alignment.measure import gather, lags_of, measure
from fieldfare.takes.alignment.subjects import are_fellows, is_di, kind_of
from fieldfare.takes.alignment.sureness import NAMES, evidence, sureness_of
from fieldfare.takes.axis import Axis, find_axes

JUDGED, TUNED = range(12), range(12, 18)
LIMIT = {"DI and mic": 0.5}  # samples; of all others:
OTHERS = 2.0
APART_M = 0.5  # mics that are drawn nearer than this to one another cannot be told apart by what they hear
LOUDER_DB = 12.0  # of two ways of one source, the weaker is no answer where the other is louder by this


class Case(NamedTuple):
    """One pair with what is true of it."""

    show: int
    a: str
    b: str
    kind: str
    lag: Lag
    error: float  # samples
    upright: bool  # its polarity is right
    drums: bool
    sure: float

    @property
    def right(self) -> bool:
        """Whether delay and polarity are right, to two samples."""
        return abs(self.error) <= OTHERS and self.upright


def cases(gig: Gig) -> Iterator[Case]:
    """Measure a show."""
    (axis,) = find_axes(gig.card, gig.drawing.input)
    clock, processor = time.perf_counter(), time.process_time()
    measured = measure(axis)
    print(
        f"show {gig.number}: {len(axis.track)} tracks, {axis.frames / axis.rate_hz:.0f} s, reverberation "
        f"{gig.reverberation_s} s, noise +{gig.noise_db:.0f} dB: {len(measured.lag)} pairs in "
        f"{time.perf_counter() - clock:.1f} s, {time.process_time() - processor:.1f} s of processor",
        flush=True,
    )
    told = sureness_of(axis.track, measured.lag)
    for (a, b), lag in measured.lag.items():
        answers = true_ways(gig, axis, a, b)
        if answers:
            delay, polarity = min(answers, key=lambda one: abs(one[0] - lag.delay))
            yield Case(
                gig.number,
                axis.track[a].id,
                axis.track[b].id,
                kind_of(axis.track[a], axis.track[b]),
                lag,
                lag.delay - delay,
                lag.polarity == polarity,
                bool(axis.track[a].drawn and "snare" in axis.track[a].drawn.part),
                told[a, b],
            )


def true_ways(gig: Gig, axis: Axis, a: int, b: int) -> list[tuple[float, int]]:
    """Delay and polarity of every sound of a source that b may hear.

    What an amplifier makes of a DI is one of them, and so is the other instrument of a player who changes.
    """
    one, other = axis.track[a], axis.track[b]
    place = [track.id for track in axis.track if track is one or are_fellows(track, one)]
    sounds = {path.sound for path in gig.truth.path if path.own and path.input in place}
    own = {path.sound: path for path in gig.truth.path if path.input == one.id and path.sound in sounds}
    ways = []
    for path in gig.truth.path:
        if path.input != other.id:
            continue
        mine = own.get(path.sound)
        if mine is not None:
            ways.append((path.peak_dbfs, path.delay - mine.delay, path.polarity * mine.polarity))
        elif is_di(one) and one.drawn and path.sound.startswith(f"{one.drawn.source}:"):
            ways.append((path.peak_dbfs, path.delay, path.polarity))
    loudest = max((way[0] for way in ways), default=0.0)
    return [(delay, polarity) for level, delay, polarity in ways if level > loudest - LOUDER_DB]


def tell(found: Sequence[Case]) -> None:
    """Print rights and wrongs by kind, and by how sure they were told."""
    heads = ("pairs", "right", "sure", "right", "95 % in", "in limit", "upside down")
    print(f"\n{'kind':18s} " + " ".join(f"{head:>8s}" for head in heads))
    kinds = dict.fromkeys(one.kind for one in found)
    groups = {kind: [one for one in found if one.kind == kind] for kind in kinds}
    groups |= {"snare to overhead": [one for one in found if one.kind == "overhead" and one.drums], "all": list(found)}
    for kind, ones in groups.items():
        sure = [one for one in ones if one.sure > 0.9]
        errors = np.abs([one.error for one in sure]) if sure else np.zeros(1)
        limit = LIMIT.get(kind, OTHERS)
        print(
            f"{kind:18s} {len(ones):8d} {share(one.right for one in ones)} {len(sure):8d} "
            f"{share(one.right for one in sure)} {np.quantile(errors, 0.95):8.2f} {np.mean(errors <= limit):8.3f} "
            f"{sum(not one.upright for one in sure):8d}"
        )
    print("\n    told   pairs  right")
    told = np.array([one.sure for one in found])
    right = np.array([one.right for one in found])
    edges = (0, 0.1, 0.3, 0.5, 0.7, 0.9, 0.95, 0.98, 1.0)
    for low, high in pairwise(edges):
        inside = (told > low) & (told <= high)
        if inside.any():
            print(f"{told[inside].mean():8.3f} {inside.sum():7d} {right[inside].mean():6.3f}")
    print(f"mean squared error of sureness {np.mean((told - right) ** 2):.4f}")


def share(ones: Iterator[bool]) -> str:
    """Write the share that is true."""
    values = list(ones)
    return f"{np.mean(values):8.3f}" if values else "       -"


def tune(found: Sequence[Case]) -> None:
    """Fit the weights of sureness by logistic regression, a little held back, and print them."""
    from scipy.optimize import minimize

    told = np.array([evidence(one.lag) for one in found])
    right = np.array([one.right for one in found], float)

    def loss(weights: np.ndarray) -> float:
        odds = told @ weights
        return float((np.logaddexp(0, odds) - right * odds).sum() + 0.5 * (weights[1:] ** 2).sum() * 0.1)

    best = minimize(loss, np.zeros(len(NAMES))).x
    print("WEIGHTS =", tuple(round(float(one), 2) for one in best), "#", NAMES)


def swaps(gig: Gig, each: int = 6) -> tuple[int, int, int]:
    """Swap two labels of a show several times, and none once: how many were found, tried, and told falsely.

    Two tracks that the drawing does not tell apart, by half a metre or by whether they hear air, are not swapped.
    """
    (axis,) = find_axes(gig.card, gig.drawing.input)
    gathered, rng = gather(axis), np.random.default_rng(gig.number)
    pairs = [pair for pair in combinations(range(len(axis.track)), 2) if told_apart(axis, *pair)]
    chosen = [pairs[place] for place in rng.choice(len(pairs), min(each, len(pairs)), replace=False)]
    found = false = 0
    for pair in [(), *chosen]:
        rows = list(range(len(axis.track)))
        if pair:
            rows[pair[0]], rows[pair[1]] = pair[1], pair[0]
        named = replace(
            axis,
            track=tuple(
                replace(track, drawn=axis.track[row].drawn, label=axis.track[row].label)
                for track, row in zip(axis.track, rows, strict=True)
            ),
        )
        labels = heard_labels(named, lags_of(named, gathered), gig.drawing.temperature_c)
        as_heard = list(labels.row) if labels else []
        found += bool(pair) and as_heard == rows
        false += as_heard not in (rows, list(range(len(rows))))
    print(f"show {gig.number}: {found} of {len(chosen)} swaps found, {false} told falsely", flush=True)
    return found, len(chosen), false


def told_apart(axis: Axis, one: int, other: int) -> bool:
    """Whether the drawing lets two tracks be told apart."""
    tracks = axis.track[one], axis.track[other]
    if any(track.role in ("talk", "mix") for track in tracks):
        return False
    if is_di(tracks[0]) != is_di(tracks[1]):
        return True
    places = [track.drawn.at if track.drawn else None for track in tracks]
    return places[0] is not None and places[1] is not None and dist(places[0], places[1]) >= APART_M


def main(words: Sequence[str]) -> None:
    """Render what is missing, measure, print."""
    with tempfile.TemporaryDirectory() as passing:
        folder = Path(words[1]) if len(words) > 1 else Path(passing)
        if "swaps" in words:
            done = [swaps(show) for show in gigs(JUDGED, folder, sampled(Path(words[0])))]
            found, tried, false = map(sum, zip(*done, strict=True))
            print(f"{found} of {tried} swaps found, {false} told falsely, over {len(done)} shows")
            return
        tuning = "tune" in words
        shows = gigs(TUNED if tuning else JUDGED, folder, sampled(Path(words[0])))
        found = [one for show in shows for one in cases(show)]
        if tuning:
            tune(found)
        tell(found)


if __name__ == "__main__":
    main(sys.argv[1:])
