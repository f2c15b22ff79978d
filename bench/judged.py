"""Gigs for judging, with cameras: nothing in the program was set on them; each is made once and can be thrown away.

python bench/judged.py FONT FOLDER NUMBER...       make gigs
python bench/judged.py clear FOLDER NUMBER...      take their recordings away again

They share nothing with the gigs of `gigs.py`, on which thresholds were set, but the stage: tunes are made up anew for
each (chords, melody, metre, tempo), arrangements (who rests when), courses, line-ups, seeds and the font are others.
Three reverberations, two levels of noise; every mic up to 0.15 m off its drawn place. Gigs from 100 on have four to six
songs of one to nearly three minutes and two tracks upside down. Two cameras and a recorder stand in the audience: the
first camera runs all through, the second is stopped twice, and the recorder has another rate. Those below have seven
songs of half a minute to two, and nothing else.
"""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from gigs import DRAWN, NOISES_DB, REVERBERATIONS_S, Gig, _documents
from numpy.typing import NDArray
from sampled import sampled

from fieldfare.show.drawn import Drawing
from fieldfare.takes.render import arrangement, course, write
from fieldfare.takes.render import cameras as seen
from fieldfare.takes.render.cameras import CameraSpec, render_cameras
from fieldfare.takes.render.course import Piece, written_programme
from fieldfare.takes.render.faults import Planted
from fieldfare.takes.render.score import Play
from fieldfare.takes.render.sound import Sound
from fieldfare.takes.render.stage import Stage, set_stage
from fieldfare.takes.render.truth import Truth
from fieldfare.takes.render.tunes import BOOK, Bar, Tone, Tune, chord_pitches
from fieldfare.takes.render.write import TRUTH, render_show

FIRST_JUDGED = 500
AROUND_S = 25.0  # before the first song and after the last
HISS_DBFS = (-65.0, -42.0)  # of cameras and recorders, at either level of noise
TURNED = 2  # tracks of each gig that are upside down
SEEN_IN = "cameras"


@dataclass(frozen=True, slots=True)
class Course:
    """How nights go: how many songs, how long, and which share runs into the next, or stops and goes on."""

    songs: tuple[int, int]
    length_s: tuple[float, float]
    other_s: tuple[float, float]  # of a song on the list that is not played
    run_on: float
    stop: float


SHORT = Course((7, 7), (30, 110), (40, 100), 0.12, 0.15)  # with no cameras, and nothing upside down
LONG = Course((4, 6), (50, 160), (50, 160), 0.25, 0.2)
FIRST_SEEN = 100  # the first gig that is long
WORDS = (
    "Harbour", "Cinder", "Lark", "Winter", "Mill", "Copper", "Elder", "Tide", "Lantern", "Barley", "Slate", "Heron",
)  # fmt: skip
KINDS = ("Air", "Ramble", "Quickstep", "Lament", "Round", "Set")
KEYS = (("C", "F", "G7", "Am", "Dm", "Em"), ("D", "G", "A7", "Bm", "Em", "F#m"), ("Am", "Dm", "E7", "C", "F", "G"))
QUIET_ROLES = ("rest", "long", "third", "melody")


def made_up(rng: np.random.Generator, title: str) -> Tune:
    """Make up a tune: two parts of eight bars with chords of a key, and a melody that walks about their tones."""
    feel = str(rng.choice(sorted(BOOK)))
    like, key = BOOK[feel], KEYS[rng.integers(len(KEYS))]

    def part() -> tuple[Bar, ...]:
        chords = [key[0], *(str(rng.choice(key)) for _ in range(6)), key[0]]
        return tuple(Bar(chord, tuple(_melody(rng, chord, like.eighths))) for chord in chords)

    tempo = like.tempo_bpm * float(rng.uniform(0.75, 1.3))
    return replace(like, name=title, tempo_bpm=tempo, a=part(), b=part(), sung=bool(rng.random() < 0.35))


def _melody(rng: np.random.Generator, chord: str, eighths: int) -> list[Tone]:
    tones, at, pitch = [], 0, 72
    pool = sorted(tone + 12 * octave for tone in chord_pitches(chord) for octave in (1, 2, 3))
    while at < eighths:
        lasts = int(min(eighths - at, rng.choice([1, 1, 2, 2, 3, 4])))
        near = sorted(pool, key=lambda tone: abs(tone - pitch))[:4]
        pitch = int(rng.choice(near)) + int(rng.choice([0, 0, 0, 2, -1]))
        if rng.random() > 0.12:
            tones.append(Tone(float(at), float(lasts), pitch))
        at += lasts
    return tones


def rearranged(rng: np.random.Generator) -> dict[str, tuple[str, ...]]:
    """Give every family its rests anew: long ones too, and songs that begin with few."""
    rows = {}
    for family, roles in arrangement.ROLES.items():
        own = [role for role in roles if role != "rest"] or ["rest"]
        if family in ("bass", "guitar", "accordion, left"):
            rows[family] = tuple(own[0] if rng.random() < 0.85 else "rest" for _ in range(5))
        elif "vocal" in family:
            rows[family] = roles
        else:
            rows[family] = tuple(str(rng.choice([*own, *QUIET_ROLES])) for _ in range(5))
    return rows


def night(number: int) -> tuple[tuple[Piece, ...], tuple[tuple[str, float], ...], dict[str, Tune]]:
    """What is played, what the set list said, and the tunes."""
    how, rng = SHORT if number < FIRST_SEEN else LONG, np.random.default_rng(7000 + number)
    count = how.songs[0] if how.songs[0] == how.songs[1] else int(rng.integers(how.songs[0], how.songs[1] + 1))
    titles = [
        f"{first} {kind}" for first, kind in zip(rng.permutation(WORDS)[:count], rng.choice(KINDS, count), strict=True)
    ]
    tunes = {title: made_up(rng, title) for title in titles}
    pieces = []
    for place, title in enumerate(titles):
        runs_on = place > 0 and rng.random() < how.run_on
        stops = rng.random() < how.stop
        pieces.append(Piece(
            title, float(rng.uniform(*how.length_s)), 0.0 if runs_on else float(rng.uniform(5, 40)),
            int(rng.choice([0, 0, 2, 4, 4])), float(rng.uniform(-8, 0)), float(rng.uniform(0.95, 1.05)),
            float(rng.uniform(0.35, 0.85)) if stops else 0.0, int(rng.integers(1, 3)),
        ))  # fmt: skip
    listed = [(piece.title, piece.length_s * float(rng.uniform(0.8, 1.25))) for piece in pieces]
    if rng.random() < 0.5:
        listed.insert(int(rng.integers(len(listed))), ("Nobody's Favourite", float(rng.uniform(*how.other_s))))
    if rng.random() < 0.4:
        del listed[int(rng.integers(len(listed)))]
    if rng.random() < 0.4:
        at = int(rng.integers(len(listed) - 1))
        listed[at : at + 2] = listed[at + 1], listed[at]
    return tuple(pieces), tuple(listed), tunes


def cameras(number: int, length_s: float, noise_db: float) -> tuple[CameraSpec, ...]:
    """Two cameras and a recorder, with their clips."""
    rng = np.random.default_rng(8000 + number)
    hiss = HISS_DBFS[int(noise_db > 0)]

    def place() -> tuple[float, float, float]:
        return float(rng.uniform(-3, 3)), -float(rng.uniform(1.5, 12)), float(rng.uniform(0.8, 2.0))

    def ppm() -> float:
        return float(rng.uniform(-100, 100))

    whole = CameraSpec(
        "Camera 1", place(), "one.mp4", -float(rng.uniform(2, 20)), length_s + 10, ppm(), "25", noise_dbfs=hiss
    )
    stopped = CameraSpec("Camera 2", place(), "", 0, 0, ppm(), "30000/1001", noise_dbfs=hiss)
    edges = np.sort(rng.uniform(0, length_s, 4)).tolist()
    spans = zip((0.0, edges[1], edges[3]), (max(edges[0], 60.0), edges[2], length_s), strict=True)
    parts = [
        replace(stopped, file=f"two/{name}.mov", start_s=start, length_s=end - start)
        for name, (start, end) in zip("abc", spans, strict=True)
        if end - start >= 20
    ]
    start = float(rng.uniform(-20, 60))
    recorder = CameraSpec(
        "Recorder", place(), "three.wav", start, length_s - start, ppm(), "", 44_100, level_control=False,
        noise_dbfs=hiss,
    )  # fmt: skip
    return (whole, *parts, recorder)


def judged(number: int, folder: Path, play: Play | None = None) -> Gig:
    """Return a gig that nothing was set on, made where the folder does not hold it yet and somebody can play it."""
    here = folder / f"judged-{number:02d}"
    reverberation_s, noise_db = REVERBERATIONS_S[number % 3], NOISES_DB[number // 3 % 2]
    pieces, listed, tunes = night(number)
    if not (here / DRAWN).is_file() and play is not None:
        with _played_as(number, tunes):
            drawing = _record(number, here, pieces, reverberation_s, noise_db, play)
        (here / DRAWN).write_text(drawing.model_dump_json(indent=1), "utf-8")
    truth = Truth.model_validate_json((here / TRUTH).read_text("utf-8"))
    drawing = Drawing.model_validate_json((here / DRAWN).read_text("utf-8"))
    return Gig(number, here, drawing, truth, listed, pieces, reverberation_s, noise_db)


@contextmanager
def _played_as(number: int, tunes: dict[str, Tune]) -> Iterator[None]:
    """Let the band play these tunes in arrangements of their own."""
    before, find = dict(arrangement.ROLES), course.tune_for
    arrangement.ROLES.update(rearranged(np.random.default_rng(9000 + number)))
    course.tune_for = tunes.__getitem__
    try:
        yield
    finally:
        arrangement.ROLES.update(before)
        course.tune_for = find


def _record(
    number: int, here: Path, pieces: tuple[Piece, ...], reverberation_s: float, noise_db: float, play: Play
) -> Drawing:
    seed = FIRST_JUDGED + number
    drawn, sounding, (plan, show, venue, kit) = _documents(seed, reverberation_s, noise_db)
    programme = written_programme(pieces, plan.rate_hz, seed, before_s=AROUND_S, after_s=AROUND_S)
    if number < FIRST_SEEN:
        render_show(plan, show, venue, kit, sounding, here, seed=seed, planted=(), programme=programme, play=play)
        return drawn
    turned = np.random.default_rng(9500 + number).choice([row.id for row in plan.input], TURNED, replace=False)
    planted = [Planted("polarity", str(one)) for one in turned]
    with _heard_twice():
        render_show(plan, show, venue, kit, sounding, here, seed=seed, planted=planted, programme=programme, play=play)
        stage = set_stage(plan, show, venue, kit, sounding, 0.0, seed, planted, programme, play)
        (here / SEEN_IN / "two").mkdir(parents=True)
        specs = cameras(number, programme.frames / programme.rate_hz, noise_db)
        render_cameras(stage, here, specs, subfolder=SEEN_IN)
    return drawn


@contextmanager
def _heard_twice() -> Iterator[None]:
    """Let the band play once for the tracks and for the cameras, which hear it to eleven bits."""
    kept: list[NDArray[np.float16]] = []
    real = write.dry_blocks

    def played(stage: Stage, workers: Executor) -> Iterator[Sound]:
        for block in real(stage, workers):
            kept.append(block.astype(np.float16))
            yield block

    def again(stage: Stage, workers: Executor) -> Iterator[Sound]:
        yield from (block.astype(np.float32) for block in kept)

    write.dry_blocks, seen.dry_blocks = played, again
    try:
        yield
    finally:
        write.dry_blocks, seen.dry_blocks = real, real


def main(words: list[str]) -> None:
    """Make gigs, or take them away."""
    folder = Path(words[1])
    for number in map(int, words[2:]):
        if words[0] == "clear":
            for name in ("card", SEEN_IN):
                shutil.rmtree(folder / f"judged-{number:02d}" / name, ignore_errors=True)
            continue
        wall, processor = time.perf_counter(), time.process_time()
        one = judged(number, folder, sampled(Path(words[0])))
        print(
            f"gig {number}: {len(one.truth.track)} tracks, {one.truth.frames / one.truth.rate_hz:.0f} s, "
            f"{len(one.pieces)} songs, {len(one.truth.camera)} clips, reverberation {one.reverberation_s} s, noise "
            f"+{one.noise_db:.0f} dB: {time.perf_counter() - wall:.0f} s by the clock, "
            f"{time.process_time() - processor:.0f} s of processor",
            flush=True,
        )


if __name__ == "__main__":
    main(sys.argv[1:])
