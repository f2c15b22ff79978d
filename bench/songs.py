"""Holds the songs that are found in rendered gigs to the truth, by mir_eval, and times finding and cutting them.

python bench/songs.py tuned  FONT FOLDER [count] [first]
python bench/songs.py judged FONT FOLDER NUMBER...    keeps what each comes to in bench/songs.json
python bench/songs.py speed  [tracks] [minutes]

The gigs that thresholds were set on are those of `gigs.py`; those that are judged, of `judged.py`, share nothing with
them but the stage. Both come in three reverberations and two noise levels. Each judged gig is a piece of its own, whose
figures are added to those that are there: python tools/docs_takes.py writes them into docs/songs.md afterwards.

Boundaries are those of Turnbull et al. (2007) as mir_eval.segment.detection has them, first and last trimmed: every
beginning of a song, its count-in with it where a drummer clicks it, and every end, which is where the last chord is let
go.
"""

from __future__ import annotations

import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
from gigs import Gig, gig
from judged import judged
from kept import keep
from render import _memory as memory
from rough import make_take
from sampled import sampled

from fieldfare.show.songs import ListedSong, SongBook
from fieldfare.takes.axis import find_axes
from fieldfare.takes.songs.cut import cut_songs
from fieldfare.takes.songs.find import find_songs
from fieldfare.takes.songs.listen import Heard, listen

WINDOWS_S = (3.0, 0.5)
LISTS = ("list with lengths", "titles alone", "nothing")  # what is told beforehand
OUT = "songs.json"


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


def books_of(one: Gig, heard: list[Heard]) -> list[SongBook]:
    """Find songs with the set list and its lengths, with its titles alone, and with nothing."""
    lists = (
        [ListedSong(title=title, length_s=round(length)) for title, length in one.listed],
        [ListedSong(title=title) for title, _ in one.listed],
        [],
    )
    return [find_songs(heard, listed) for listed in lists]


def accuracy(shows: list[Gig]) -> None:
    """Print how near the songs of gigs are found, with the set list, with its titles alone, and without it."""
    rows = []
    for one in shows:
        heard, took = heard_of(one)
        books = books_of(one, heard)
        rows.append([measures(one, book) for book in books])
        told = "; ".join(" ".join(f"{value:.2f}" for value in part) for part in rows[-1])
        print(f"{one.number:3d}: {one.reverberation_s} s, +{one.noise_db:2.0f} dB, {len(one.truth.track)} tracks, "
              f"{one.truth.frames / one.truth.rate_hz / took:4.0f} x: {told}", flush=True)  # fmt: skip
        for book, name in zip(books, LISTS, strict=True):
            for kind, at, off in errors(one, book):
                print(f"       {name}: {kind} at {at:.2f} s, off by {off:+.2f} s")
    for name, place in zip(LISTS, range(3), strict=True):
        mean = np.mean([row[place] for row in rows], axis=0)
        low = np.min([row[place] for row in rows], axis=0)
        print(f"{name:17s}: F at 3 s {mean[0]:.3f} (worst {low[0]:.2f}), at 0.5 s {mean[1]:.3f} ({low[1]:.2f}), "
              f"called right {mean[2]:.3f}")  # fmt: skip


def errors(one: Gig, book: SongBook) -> list[tuple[str, float, float]]:
    """Name what went wrong: its kind, where [s], and by how much the nearest edge found is off [s]."""
    true, found = true_edges(one), edges(book)
    told, seams = [], [begin for (_, end, _), (begin, _, _) in pairwise(true) if begin - end < 0.1]
    for side in (0, 1):
        for song in true:
            at = song[side]
            off = min((other[side] - at for other in found), key=abs, default=np.inf)
            seam = any(abs(at - other) < 0.1 for other in seams)
            if seam and side == 1:
                continue  # the next song's beginning says it
            kind = "seam" if seam else ("beginning", "end")[side]
            if abs(off) > WINDOWS_S[0]:
                told.append((f"{kind} missed", at, off))
            elif abs(off) > WINDOWS_S[1]:
                told.append((f"{kind} {'early' if off < 0 else 'late'}", at, off))
        for other in found:
            off = min((song[side] - other[side] for song in true), key=abs)
            if abs(off) > WINDOWS_S[0]:
                told.append((_false(one, other[side]), other[side], off))
    return told


def _false(one: Gig, at: float) -> str:
    """Name an edge where there is none."""
    for (begin, end, _), piece, song in zip(true_edges(one), one.pieces, one.truth.song, strict=True):
        if begin < at < end:
            first = song.start / one.truth.rate_hz
            stops = first + piece.stop_after * (end - first)
            return "cut at a false ending" if piece.stop_after and -5 < at - stops < 15 else "cut inside a song"
    return "song where there is none"


def judge(one: Gig, font: str) -> None:
    """Keep what a gig came to."""
    heard, took = heard_of(one)
    books = books_of(one, heard)
    rows = {}
    for name, book in zip(LISTS, books, strict=True):
        near, close, called = measures(one, book)
        wrong = [{"kind": kind, "at_s": round(at, 2), "off_s": round(float(off), 2) if np.isfinite(off) else None}
                 for kind, at, off in errors(one, book)]  # fmt: skip
        rows[name] = {"f_3_s": round(near, 4), "f_05_s": round(close, 4), "called_right": round(called, 4),
                      "wrong": wrong, "sure": _sure(one, book)}  # fmt: skip
    true = true_edges(one)
    keep(OUT, f"gig {one.number}", {
        "reverberation_s": one.reverberation_s, "noise_db": one.noise_db, "tracks": len(one.truth.track),
        "length_s": round(one.truth.frames / one.truth.rate_hz), "songs": len(true), "font": font,
        "seams": sum(begin - end < 0.1 for (_, end, _), (begin, _, _) in pairwise(true)),
        "false_endings": sum(piece.stop_after > 0 for piece in one.pieces),
        "listening_processor_s": round(took, 1), **rows,
    })  # fmt: skip
    told = "; ".join(f"{rows[name]['f_3_s']:.3f} {rows[name]['f_05_s']:.3f}" for name in LISTS)
    print(f"gig {one.number}: F at 3 s and at 0.5 s {told}; {[rows[name]['wrong'] for name in LISTS]}", flush=True)


def _sure(one: Gig, book: SongBook) -> list[tuple[float, int]]:
    """How sure each edge was said to be, and whether it is right to 0.5 s: 1 or 0."""
    told = []
    for song in (song for take in book.take for song in take.song):
        for side, at, sure in ((0, song.start, song.start_confidence), (1, song.end, song.end_confidence)):
            off = min(abs(true[side] - at / one.truth.rate_hz) for true in true_edges(one))
            told.append((sure, int(off <= WINDOWS_S[1])))
    return told


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
    if what == "judged":
        for number in map(int, words[3:]):
            judge(judged(number, folder, play), Path(words[1]).stem)
        return
    first = int(words[4]) if len(words) > 4 else 0
    numbers = range(first, first + (int(words[3]) if len(words) > 3 else 12))
    accuracy([gig(number, folder, play) for number in numbers])


if __name__ == "__main__":
    main(sys.argv[1:])
