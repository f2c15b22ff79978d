"""Puts faults into clean takes and counts what the track check finds: recall and precision for every kind.

python bench/faults.py [font to tune on] [font to report on] [folder of samples] [takes] [tune or report] [only words]

Takes and faults are made by players.py and damage.py, which know nothing of the check. Thresholds were set on one half
of the material; the table that goes into docs/track-check.md is of the other: python tools/docs_tracks.py afterwards.
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path

import damage
import numpy as np
import players
from damage import RATE_HZ, Damage, Sound
from numpy.typing import NDArray

from fieldfare.show.findings import FileState, Finding
from fieldfare.takes.checks.check import Take, Track
from fieldfare.takes.checks.table import findings
from fieldfare.takes.measure import Gauge
from fieldfare.takes.tracks.second import looked_at_again
from fieldfare.takes.wave import make_form, pack

LENGTH_S = 36.0
EACH = 2  # of every fault in a take, where tracks are fit for it; enough of the rare ones in 25 takes
TRIES = 4  # at each track of a take
OUT = Path(__file__).parent / "faults.json"
NEAR = round(0.06 * RATE_HZ)
WIDEST = 10 * RATE_HZ  # what is told of a longer stretch tells nobody where to listen
ALSO: Mapping[str, frozenset[str]] = {  # what a fault may be told as, besides its own kind
    "click": frozenset({"crackle"}),
    "crackle": frozenset({"click", "dropout"}),
    "dropout": frozenset({"click", "wireless dropout"}),
    "wireless dropout": frozenset({"dropout"}),
    "repeated block": frozenset({"click"}),
}


BESIDE: Mapping[str, frozenset[str]] = {  # what comes with a fault by its nature, and is no false alarm
    "thump": frozenset({"click", "clipped", "dc"}),
    "gain step": frozenset({"click"}),
    "wireless dropout": frozenset({"click", "crackle"}),
    "clipped": frozenset({"clipped before the converter"}),
    "crackle": frozenset({"wireless dropout", "repeated block"}),
}


@dataclass(slots=True)
class Count:
    """What became of the faults of one sort."""

    kind: str
    put: int = 0
    found: int = 0  # at its place, by its own name or one that says the same
    named: int = 0  # by its own name
    missed: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Score:
    """All of it."""

    sorts: dict[str, Count] = field(default_factory=dict)
    wrong: Counter[str] = field(default_factory=Counter)  # findings of a kind where there was nothing
    clean: Counter[str] = field(default_factory=Counter)  # those in clean takes, notes and all
    said: list[str] = field(default_factory=list)
    clean_s: float = 0.0
    tracks: int = 0


@dataclass(frozen=True)
class Heard(Track):
    """A track with its samples, which the check reads again where it has a doubt."""

    codes: NDArray[np.int32] = field(default_factory=lambda: np.empty(0, np.int32))


def track(label: str, sound: Sound, bits: int = 24) -> Heard:
    """Measure a track."""
    half = 1 << (bits - 1)
    codes = np.clip(np.rint(sound.astype(np.float64) * half), -half, half - 1).astype(np.int32)
    form = make_form(1, RATE_HZ, bits)
    gauge = Gauge(form)
    gauge.feed(pack(codes, form))
    state = FileState(
        path=f"{label}.wav", bytes=44 + 3 * len(codes), container="WAV", channels=1, rate_hz=RATE_HZ, bits=bits,
        frames=len(codes), stated_frames=len(codes), header="good",
    )  # fmt: skip
    return Heard(label, True, state, 1, gauge.result(), codes=codes)


def _read(one: Track, first: int, frames: int) -> NDArray[np.float64]:
    """Read samples of a track again."""
    assert isinstance(one, Heard)
    return one.codes[first : first + frames].astype(np.float64)


def checked(tracks: Mapping[str, Heard]) -> tuple[Finding, ...]:
    """Check a take without a plan."""
    every = tuple(tracks.values())
    frames = every[0].channel.frames
    bits = max(one.state.bits for one in every)
    take = Take("take", tuple(one.state for one in every), every, None, RATE_HZ, frames, bits)
    told = findings(looked_at_again(take, _read))
    return tuple(one for one in told if one.kind != "wrong depth")  # damaged tracks are of 24 bits, some takes of 16


def _key(one: Finding) -> tuple[str, str]:
    return one.kind, one.track


def _covers(one: Finding, places: Sequence[tuple[int, int]]) -> bool:
    """Whether a finding tells every place, nearly to the sample or where it is one of many."""
    if not places:
        return True
    told = [(first, last) for first, last in one.places or ((one.start or 0, one.end or 0),) if last - first <= WIDEST]
    return all(any(begin - NEAR <= last and first <= end + NEAR for first, last in told) for begin, end in places)


def _judge(score: Score, sort: str, kind: str, label: str, made: Damage, new: Sequence[Finding]) -> None:
    """Count a fault that was put into a track, and what else was told there."""
    count = score.sorts.setdefault(sort, Count(kind))
    count.put += 1
    own = [one for one in new if one.track == label and one.kind == kind and _covers(one, made.places)]
    alike = [one for one in new if one.track in (label, "") and one.kind in ALSO.get(kind, ())]
    known = own or [one for one in alike if _covers(one, made.places)]
    count.found += bool(known)
    count.named += bool(own)
    if not known:
        told = ", ".join(f"{one.kind} at {one.start}" for one in new) or "nothing"
        count.missed.append(f"{label}: {made.amount} at {made.places[:2]}; told: {told}")
    accepted = {kind, *ALSO.get(kind, ()), *BESIDE.get(kind, ())}
    for one in new:
        if one.kind not in accepted:
            score.wrong[one.kind] += 1
            score.said.append(f"{sort} on {label}, yet {one.kind} on {one.track} at {one.start}: {one.says[:120]}")


def _on_one(score: Score, rng: damage.Rng, sounds: Mapping[str, Sound], clean: Mapping[str, Heard], only: str) -> None:
    before = {_key(one): one for one in checked(clean)}
    for sort, (kind, put) in damage.ON_ONE.items():
        if only and only not in sort:
            continue
        for label in [*rng.permutation(list(sounds))] * TRIES:
            if score.sorts.get(sort, Count(kind)).put >= EACH:
                break
            made = put(rng, sounds[label])
            if made is None:
                continue
            after = checked({**clean, label: track(label, made.sound)})
            new = [
                one
                for one in after
                if _key(one) not in before or (one.track == label and before[_key(one)].places != one.places)
            ]
            _judge(score, sort, kind, label, made, new)


def _on_all(score: Score, rng: damage.Rng, sounds: dict[str, Sound], clean: Mapping[str, Heard]) -> None:
    """Faults that are about several tracks, or make a track another."""
    for lost in filter(None, (damage.lost_block(rng, sounds) for _ in range(EACH))):
        found = checked({label: track(label, one) for label, one in lost[0].items()})
        blocks = [one for one in found if one.kind == "missing block"]
        _judge(
            score, "block left out", "missing block", "", Damage(sounds[next(iter(sounds))], ((lost[1],) * 2,)), blocks
        )
    labels = [label for label in sounds if damage.rms_db(sounds[label]) > -45]
    for label, other in (rng.permutation(labels)[:2] for _ in range(EACH)):
        copy = damage.doubled(rng, sounds[label])
        found = checked({**clean, other: track(other, copy)})
        twins = [replace_track(one, other) for one in found if one.kind == "duplicate"]
        _judge(score, "one signal twice", "duplicate", other, Damage(copy), twins)
    for label in rng.permutation(list(sounds))[:EACH]:
        made = Damage(damage.unplugged(rng, len(sounds[label])))
        found = [one for one in checked({**clean, label: track(label, made.sound)}) if one.track == label]
        _judge(score, "unplugged", "dead", label, made, found)
        low = Damage(sounds[label] * np.float32(10 ** ((rng.uniform(-60, -42)) / 20) / np.abs(sounds[label]).max()))
        noisy = Damage((low.sound + rng.normal(0, 10 ** (-105 / 20), len(low.sound))).astype(np.float32))
        found = [one for one in checked({**clean, label: track(label, noisy.sound)}) if one.track == label]
        _judge(score, "gain left down", "very low", label, noisy, [one for one in found if one.kind in ("very low",)])
    label = next((one for one in labels if one in ("OH L", "Room", "Accordion", "Loops", "Cymbals")), labels[0])
    late = int(rng.integers(0, 100))
    pair = np.roll(sounds[label], late) * np.float32(0.8) + np.float32(0.3) * np.roll(sounds[labels[-1]], 7)
    sides = {"Pair L": replace(clean[label], label="Pair L")}
    for sign in (1, -1):
        sides["Pair R"] = track("Pair R", (sign * pair).astype(np.float32))
        found = [one for one in checked({**clean, **sides}) if one.kind == "polarity"]
        if sign < 0:
            turned = [replace_track(one, "Pair R") for one in found]
            _judge(score, "wired the other way", "polarity", "Pair R", Damage(pair), turned)
        else:
            score.wrong["polarity"] += len(found)


def replace_track(one: Finding, label: str) -> Finding:
    """A finding about two tracks, told of the one that was changed."""
    return one.model_copy(update={"track": label})


def one_take(music: players.Music, number: int, only: str) -> Score:
    """Score one take: clean, then with one fault after another."""
    score, rng = Score(), np.random.default_rng([7, music.half, number])
    sounds = players.take(music, number, LENGTH_S)
    clean = {label: track(label, sound, 16 if number % 7 == 3 else 24) for label, sound in sounds.items()}
    score.tracks, score.clean_s = len(sounds), LENGTH_S * len(sounds)
    for one in checked(clean):
        score.clean[one.kind] += 1
        score.said.append(f"clean take {number}: {one.kind} on {one.track}: {one.says[:120]}")
    _on_one(score, rng, sounds, clean, only)
    if not only:
        _on_all(score, rng, sounds, clean)
    return score


def gathered(scores: Iterator[Score]) -> Score:
    """Add scores up."""
    whole = Score()
    for score in scores:
        print(f"{whole.tracks + score.tracks} tracks done", file=sys.stderr, flush=True)
        for sort, count in score.sorts.items():
            into = whole.sorts.setdefault(sort, Count(count.kind))
            into.put, into.found, into.named = into.put + count.put, into.found + count.found, into.named + count.named
            into.missed += count.missed
        whole.wrong += score.wrong
        whole.clean += score.clean
        whole.said += score.said
        whole.clean_s += score.clean_s
        whole.tracks += score.tracks
    return whole


def told(score: Score) -> None:
    """Print the table, then what was missed and what was wrong."""
    hours = score.clean_s / 3600
    print(f"{score.tracks} tracks, {hours:.2f} hours clean, {sum(one.put for one in score.sorts.values())} faults")
    print(f"{'fault':22}{'kind':30}{'put':>5}{'found':>7}{'named':>7}{'recall':>8}")
    for sort, count in score.sorts.items():
        share = count.found / max(1, count.put)
        print(f"{sort:22}{count.kind:30}{count.put:5}{count.found:7}{count.named:7}{share:8.3f}")
    for kind in sorted({*score.clean, *score.wrong}):
        rate = score.clean[kind] / hours
        print(f"false {kind:28} clean {score.clean[kind]:3} ({rate:.2f} per hour), beside faults {score.wrong[kind]:3}")
    for sort, count in score.sorts.items():
        for words in count.missed[:8]:
            print(f"  missed {sort}: {words}")
    for words in score.said[:80]:
        print(f"  {words}")


def main(tune: str, report: str, samples: str, takes: int = 25, half: str = "report", only: str = "") -> None:
    """Score the takes of one half, several at a time."""
    began, which = time.perf_counter(), int(half == "report")
    music = players.Music(Path((tune, report)[which]), Path(samples), which)
    with ProcessPoolExecutor(4) as pool:
        score = gathered(pool.map(one_take, [music] * takes, range(takes), [only] * takes))
    told(score)
    print(f"{time.perf_counter() - began:.0f} s")
    if which and not only:
        OUT.write_text(json.dumps(_table(score), indent=1) + "\n", "utf-8")


def _table(score: Score) -> dict[str, object]:
    """What the page tells."""
    found: Counter[str] = Counter()
    for count in score.sorts.values():
        found[count.kind] += count.found
    rows = [
        {
            "fault": sort, "kind": one.kind, "put": one.put, "found": one.found, "named": one.named,
            "false_clean": score.clean[one.kind], "false_beside": score.wrong[one.kind],
            "precision": found[one.kind] / max(1, found[one.kind] + score.clean[one.kind] + score.wrong[one.kind]),
        }
        for sort, one in score.sorts.items()
    ]  # fmt: skip
    return {"tracks": score.tracks, "clean_hours": round(score.clean_s / 3600, 2), "rows": rows}


if __name__ == "__main__":
    words = sys.argv[1:]
    main(*words[:3], *map(int, words[3:4]), *words[4:6])
