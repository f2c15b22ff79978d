"""Holds measured delays to what is true of rendered shows: rights and wrongs by kind, and whether sureness is honest.

python bench/alignment.py FONT FOLDER judged NUMBER...   judge gigs one by one; keeps each in bench/alignment.json
python bench/alignment.py FONT FOLDER swapped NUMBER...  swap labels on judged gigs, and keep whether that is found
python bench/alignment.py FONT FOLDER shows NUMBER...    look at shows on which something was set
python bench/alignment.py FONT FOLDER tune               fit the weights of sureness on shows 12 to 17, and print them
python bench/alignment.py FONT FOLDER swaps NUMBER...    swap labels on such shows, and see whether that is found

Shows are those of bench/gigs.py, judged gigs those of bench/judged.py, with real sampled instruments: three
reverberations, two levels of noise. FOLDER keeps the recordings. Weights are fitted on other shows than they are judged
on. Figures of a judged gig are added to those that are there: python tools/docs_takes.py writes docs/align.md.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise
from math import dist
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from gigs import Gig, gigs
from judged import judged
from kept import keep
from sampled import sampled

from fieldfare.takes.alignment.align import heard_labels, pairs_told
from fieldfare.takes.alignment.contradict import upside_down
from fieldfare.takes.alignment.hearing import Lag
from fieldfare.takes.alignment.measure import Gathered, gather, lags_of
from fieldfare.takes.alignment.subjects import are_fellows, is_di, kind_of
from fieldfare.takes.alignment.sureness import NAMES, evidence, sureness_of
from fieldfare.takes.axis import Axis, find_axes

TUNED = range(12, 18)
OUT = "alignment.json"
NEAR = (0.1, 0.5, 2.0)  # samples within which delays are counted
EDGES = (0, 0.1, 0.3, 0.5, 0.7, 0.9, 0.95, 0.98, 1.0)  # of sureness
EACH = 5  # swaps of a show
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
    lags = lags_of(axis, gather(axis))
    print(
        f"show {gig.number}: {len(axis.track)} tracks, {axis.frames / axis.rate_hz:.0f} s, reverberation "
        f"{gig.reverberation_s} s, noise +{gig.noise_db:.0f} dB: {len(lags)} pairs in "
        f"{time.perf_counter() - clock:.1f} s, {time.process_time() - processor:.1f} s of processor",
        flush=True,
    )
    yield from cases_of(gig, axis, lags)


def cases_of(gig: Gig, axis: Axis, lags: dict[tuple[int, int], Lag]) -> Iterator[Case]:
    """Hold lags to the truth."""
    told = sureness_of(axis.track, lags)
    for (a, b), lag in lags.items():
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
    up = {track.input: track.polarity for track in gig.truth.track}
    turned = up[one.id] * up[other.id]
    ways = []
    for path in gig.truth.path:
        if path.input != other.id:
            continue
        mine = own.get(path.sound)
        if mine is not None:
            ways.append((path.peak_dbfs, path.delay - mine.delay, path.polarity * mine.polarity * turned))
        elif is_di(one) and one.drawn and path.sound.startswith(f"{one.drawn.source}:"):
            ways.append((path.peak_dbfs, path.delay, path.polarity * turned))
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
    for low, high in pairwise(EDGES):
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


def judge(gig: Gig, font: str) -> None:
    """Keep what a gig came to: its ways, how sure each was told, and tracks upside down."""
    (axis,) = find_axes(gig.card, gig.drawing.input)
    processor = time.process_time()
    gathered = gather(axis)
    lags = lags_of(axis, gathered)
    processor = time.process_time() - processor
    found = list(cases_of(gig, axis, lags))
    kinds = {kind: [one for one in found if one.kind == kind] for kind in dict.fromkeys(one.kind for one in found)}
    kinds["snare to overhead"] = [one for one in kinds.get("overhead", []) if one.drums]
    turned = {track.label for track in gig.truth.track if track.polarity < 0}
    told = {one.track[0] for one in upside_down(pairs_told(axis, lags, gig.drawing.temperature_c))}
    keep(OUT, f"gig {gig.number}", {
        "reverberation_s": gig.reverberation_s, "noise_db": gig.noise_db, "tracks": len(axis.track),
        "length_s": round(axis.frames / axis.rate_hz), "font": font, "processor_s": round(processor, 1),
        "ways": {kind: _counted(kind, ones) for kind, ones in kinds.items()},
        "sureness": _honest(found),
        "upside_down": {"put": len(turned), "found": len(turned & told), "false": len(told - turned),
                        "missed": sorted(turned - told)},
    })  # fmt: skip
    tell(found)


def _counted(kind: str, ones: Sequence[Case]) -> dict[str, Any]:
    sure = [one for one in ones if one.sure > 0.9]
    errors = np.abs([one.error for one in sure])
    return {
        "ways": len(ones), "right": sum(one.right for one in ones), "sure": len(sure),
        "in_limit": int(np.count_nonzero(errors <= LIMIT.get(kind, OTHERS))),
        "within": [int(np.count_nonzero(errors <= near)) for near in NEAR],
        "worst": round(float(errors.max(initial=0.0)), 3), "polarity_wrong": sum(not one.upright for one in sure),
        "wrong": [_words(one) for one in sure if not one.right or abs(one.error) > LIMIT.get(kind, OTHERS)],
    }  # fmt: skip


def _words(one: Case) -> str:
    return f"{one.a} to {one.b}: {one.error:+.1f} samples{'' if one.upright else ', upside down'}, {one.sure:.3f}"


def _honest(found: Sequence[Case]) -> list[list[float]]:
    """How many ways were told between two bounds of sureness, how sure on average, and how many of them are right."""
    rows = []
    for low, high in pairwise(EDGES):
        inside = [one for one in found if low < one.sure <= high]
        mean = float(np.mean([one.sure for one in inside])) if inside else 0.0
        rows.append([len(inside), round(mean, 4), sum(one.right for one in inside)])
    return rows


def swaps(gig: Gig, axis: Axis, gathered: Gathered) -> dict[str, Any]:
    """Swap two labels of a show several times, and none once: how many were tried, found, and told falsely.

    Two tracks that the drawing does not tell apart, by half a metre or by whether they hear air, are not swapped.
    """
    rng = np.random.default_rng(gig.number)
    pairs = [pair for pair in combinations(range(len(axis.track)), 2) if told_apart(axis, *pair)]
    chosen = [pairs[place] for place in rng.choice(len(pairs), min(EACH, len(pairs)), replace=False)]
    found, false, missed = 0, 0, []
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
        if pair and as_heard != rows:
            missed.append(" and ".join(axis.track[one].label for one in pair))
    print(f"show {gig.number}: {found} of {len(chosen)} swaps found, {false} told falsely; missed {missed}", flush=True)
    return {"tried": len(chosen), "found": found, "false": false, "unswapped": 1, "missed": missed}


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
    """Render what is missing, measure, print or keep."""
    font, folder, what = Path(words[0]), Path(words[1]), words[2]
    numbers, play = [int(word) for word in words[3:]], sampled(Path(words[0]))
    if what == "judged":
        for number in numbers:
            judge(judged(number, folder, play), font.stem)
        return
    if what == "swapped":
        for gig in (judged(number, folder, play) for number in numbers):
            (axis,) = find_axes(gig.card, gig.drawing.input)
            keep(OUT, f"gig {gig.number}", {"swaps": swaps(gig, axis, gather(axis))})
        return
    shows = gigs(TUNED if what == "tune" else numbers, folder, play)
    if what == "swaps":
        for show in shows:
            (axis,) = find_axes(show.card, show.drawing.input)
            swaps(show, axis, gather(axis))
        return
    found = [one for show in shows for one in cases(show)]
    if what == "tune":
        tune(found)
    tell(found)


if __name__ == "__main__":
    main(sys.argv[1:])
