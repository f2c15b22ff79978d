"""Holds the songs that are found in rendered gigs to the truth, by mir_eval, and times finding and cutting them.

python bench/songs.py tuned  FONT FOLDER [count] [first]
python bench/songs.py judged FONT FOLDER [count] [first]
python bench/songs.py speed  [tracks] [minutes]

The gigs that thresholds were set on are those of `gigs.py`. Those that are judged share nothing with them but the
stage: tunes are made up anew for each (chords, melody, metre, tempo), arrangements (who rests when), courses, line-ups,
seeds and the font are others. Both come in three reverberations and two noise levels.

Boundaries are those of Turnbull et al. (2007) as mir_eval.segment.detection has them, first and last trimmed: every
beginning of a song, its count-in with it where a drummer clicks it, and every end, which is where the last chord is let
go.
"""

from __future__ import annotations

import sys
import tempfile
import time
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
from gigs import DRAWN, NOISES_DB, REVERBERATIONS_S, Gig, _documents, gig
from render import _memory as memory
from rough import make_take
from sampled import sampled

from fieldfare.show.drawn import Drawing
from fieldfare.show.songs import ListedSong, SongBook
from fieldfare.takes.axis import find_axes
from fieldfare.takes.render import arrangement, course
from fieldfare.takes.render.course import Piece, written_programme
from fieldfare.takes.render.score import Play
from fieldfare.takes.render.truth import Truth
from fieldfare.takes.render.tunes import BOOK, Bar, Tone, Tune, chord_pitches
from fieldfare.takes.render.write import TRUTH, render_show
from fieldfare.takes.songs.cut import cut_songs
from fieldfare.takes.songs.find import find_songs
from fieldfare.takes.songs.listen import Heard, listen

WINDOWS_S = (3.0, 0.5)
FIRST_JUDGED = 500
WORDS = (
    "Harbour",
    "Cinder",
    "Lark",
    "Winter",
    "Mill",
    "Copper",
    "Elder",
    "Tide",
    "Lantern",
    "Barley",
    "Slate",
    "Heron",
)
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


def unlike(number: int) -> tuple[tuple[Piece, ...], tuple[tuple[str, float], ...], dict[str, Tune]]:
    """What is played on a judged night, what the set list said, and the tunes."""
    rng = np.random.default_rng(7000 + number)
    titles = [f"{first} {kind}" for first, kind in zip(rng.permutation(WORDS)[:7], rng.choice(KINDS, 7), strict=True)]
    tunes = {title: made_up(rng, title) for title in titles}
    pieces = []
    for place, title in enumerate(titles):
        runs_on = place > 0 and rng.random() < 0.12
        stops = rng.random() < 0.15
        pieces.append(Piece(
            title, float(rng.uniform(30, 110)), 0.0 if runs_on else float(rng.uniform(5, 40)),
            int(rng.choice([0, 0, 2, 4, 4])), float(rng.uniform(-8, 0)), float(rng.uniform(0.95, 1.05)),
            float(rng.uniform(0.35, 0.85)) if stops else 0.0, int(rng.integers(1, 3)),
        ))  # fmt: skip
    listed = [(piece.title, piece.length_s * float(rng.uniform(0.8, 1.25))) for piece in pieces]
    if rng.random() < 0.5:
        listed.insert(int(rng.integers(len(listed))), ("Nobody's Favourite", float(rng.uniform(40, 100))))
    if rng.random() < 0.4:
        del listed[int(rng.integers(len(listed)))]
    if rng.random() < 0.4:
        at = int(rng.integers(len(listed) - 1))
        listed[at : at + 2] = listed[at + 1], listed[at]
    return tuple(pieces), tuple(listed), tunes


def judged(number: int, folder: Path, play: Play) -> Gig:
    """Return a gig that nothing was set on, recorded anew where the folder does not hold it yet."""
    here = folder / f"judged-{number:02d}"
    reverberation_s, noise_db = REVERBERATIONS_S[number % 3], NOISES_DB[number // 3 % 2]
    pieces, listed, tunes = unlike(number)
    if not (here / DRAWN).is_file():
        drawn, sounding, real = _documents(FIRST_JUDGED + number, reverberation_s, noise_db)
        before, find = dict(arrangement.ROLES), course.tune_for
        arrangement.ROLES.update(rearranged(np.random.default_rng(9000 + number)))
        course.tune_for = tunes.__getitem__
        try:
            programme = written_programme(pieces, real[0].rate_hz, FIRST_JUDGED + number, before_s=25, after_s=25)
            render_show(real[0], real[1], real[2], real[3], sounding, here, seed=FIRST_JUDGED + number, planted=(),
                        programme=programme, play=play)  # fmt: skip
        finally:
            arrangement.ROLES.update(before)
            course.tune_for = find
        (here / DRAWN).write_text(drawn.model_dump_json(indent=1), "utf-8")
    truth = Truth.model_validate_json((here / TRUTH).read_text("utf-8"))
    drawing = Drawing.model_validate_json((here / DRAWN).read_text("utf-8"))
    return Gig(number, here, drawing, truth, listed, pieces, reverberation_s, noise_db)


def edges(book: SongBook) -> list[tuple[float, float, str]]:
    """Beginning and end of every song found, and its title. [s]"""
    return [
        (song.start / take.rate_hz, song.end / take.rate_hz, song.title) for take in book.take for song in take.song
    ]


def true_edges(one: Gig) -> list[tuple[float, float, str]]:
    """Beginning and end of every song played, and its title; a count that nobody clicks is not heard. [s]"""
    clicked = any("snare" in sound.family or "cymbals" in sound.family for sound in one.truth.sound)
    return [
        ((song.count_in if clicked else song.start) / one.truth.rate_hz, song.end / one.truth.rate_hz, song.title)
        for song in one.truth.song
    ]


def measures(one: Gig, book: SongBook) -> tuple[float, ...]:
    """F at 3 s and at 0.5 s, and the share of songs that are there and called right."""
    import mir_eval

    whole_s, true = one.truth.frames / one.truth.rate_hz, true_edges(one)
    ref, est = (
        np.array(list(pairwise(sorted({0.0, whole_s, *(x for a, b, _ in songs for x in (a, b))}))))
        for songs in (true, edges(book))
    )
    named = dict(one.listed)
    right = sum(
        any(abs(a - begin) < 3 and (title == found or (title not in named and found.startswith("Song ")))
            for begin, _, found in edges(book))
        for a, _, title in true
    )  # fmt: skip
    found = tuple(mir_eval.segment.detection(ref, est, window=window, trim=True)[2] for window in WINDOWS_S)
    return (*found, right / len(true))


def heard_of(one: Gig) -> tuple[list[Heard], float]:
    """Listen to a gig; processor time with it. [s]"""
    began = time.process_time()
    heard = [listen(axis) for axis in find_axes(one.card, one.drawing.input)]
    return heard, time.process_time() - began


def accuracy(shows: list[Gig], show_misses: bool = True) -> None:
    """Print how near the songs of gigs are found, with the set list, with its titles alone, and without it."""
    rows = []
    for one in shows:
        heard, took = heard_of(one)
        lists = (
            [ListedSong(title=title, length_s=round(length)) for title, length in one.listed],
            [ListedSong(title=title) for title, _ in one.listed],
            [],
        )
        books = [find_songs(heard, listed) for listed in lists]
        row = [measures(one, book) for book in books]
        rows.append(row)
        told = "; ".join(" ".join(f"{value:.2f}" for value in part) for part in row)
        print(f"{one.number:3d}: {one.reverberation_s} s, +{one.noise_db:2.0f} dB, {len(one.truth.track)} tracks, "
              f"{one.truth.frames / one.truth.rate_hz / took:4.0f} x: {told}", flush=True)  # fmt: skip
        if show_misses:
            _misses(one, books[0])
    for name, place in (("with the set list", 0), ("with its titles", 1), ("without it", 2)):
        mean = np.mean([row[place] for row in rows], axis=0)
        low = np.min([row[place] for row in rows], axis=0)
        print(f"{name:17s}: F at 3 s {mean[0]:.3f} (worst {low[0]:.2f}), at 0.5 s {mean[1]:.3f} ({low[1]:.2f}), "
              f"called right {mean[2]:.3f}")  # fmt: skip


def _misses(one: Gig, book: SongBook) -> None:
    found = [(side, at) for a, b, _ in edges(book) for side, at in (("begins", a), ("ends", b))]
    true = [(side, at) for a, b, _ in true_edges(one) for side, at in (("begins", a), ("ends", b))]
    for side, at in true:
        off = min((got - at for kind, got in found if kind == side), key=abs, default=np.inf)
        if abs(off) > WINDOWS_S[1]:
            print(f"       {side} {at:.2f}: off by {off:+.2f} s")
    for side, at in found:
        if min((abs(got - at) for kind, got in true if kind == side), default=np.inf) > WINDOWS_S[0]:
            print(f"       {side} {at:.2f}: nothing does there")


def speed(tracks: int, minutes: float) -> None:
    """Print what listening, finding and cutting cost."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for part, count, long in (("warm", 2, 0.5), ("take", tracks, minutes)):
            (folder / part).mkdir()
            make_take(folder / part, count, long)
        [listen(axis) for axis in find_axes(folder / "warm")]  # so that compiling is not counted
        wall, processor = time.perf_counter(), time.process_time()
        heard = [listen(axis) for axis in find_axes(folder / "take")]
        book = find_songs(heard)
        wall, processor = time.perf_counter() - wall, time.process_time() - processor
        print(f"{tracks} tracks of {minutes:g} minutes: {wall:.1f} s by the clock, {processor:.1f} s of processor to "
              f"find {sum(len(take.song) for take in book.take)} songs, {60 * processor / minutes:.1f} s of processor "
              f"for an hour of take{memory()}")  # fmt: skip
        wall, processor = time.perf_counter(), time.process_time()
        report = cut_songs(book, [one.axis for one in heard], folder / "cuts")
        wall, processor = time.perf_counter() - wall, time.process_time() - processor
        size = sum(one.stat().st_size for one in (folder / "cuts").rglob("*.wav"))
        print(f"cut into {sum(len(piece.file) for piece in report.piece)} files of {size / 1e9:.1f} GB: "
              f"{wall:.1f} s by the clock, {processor:.1f} s of processor")  # fmt: skip


def main(words: list[str]) -> None:
    """Do what was asked."""
    what = words[0] if words else "speed"
    if what == "speed":
        speed(int(words[1]) if len(words) > 1 else 18, float(words[2]) if len(words) > 2 else 20)
        return
    play, folder = sampled(Path(words[1])), Path(words[2])
    first = int(words[4]) if len(words) > 4 else 0
    numbers = range(first, first + (int(words[3]) if len(words) > 3 else 12))
    make = judged if what == "judged" else gig
    accuracy([make(number, folder, play) for number in numbers])


if __name__ == "__main__":
    main(sys.argv[1:])
