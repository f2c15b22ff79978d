"""A night that was recorded and offloaded: short takes of two tracks, with songs."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fieldfare.desk.book import Book
from fieldfare.desk.planner import Planner
from fieldfare.show.songs import Song, SongBook, TakeSongs, write_songs
from fieldfare.takes.offload.checked import offload_show
from fieldfare.takes.wave import write_whole

RATE = 48_000
SECONDS = 24
LABELS = ("kick", "snare_top")


def sound_of(take: int) -> list[np.ndarray[tuple[int], np.dtype[np.int32]]]:
    """Return what the tracks of a take hold: the same bursts of noise, one of them later and softer."""
    chance = np.random.default_rng(take)
    beats = np.zeros(SECONDS * RATE)
    for start in np.sort(chance.integers(0, len(beats) - RATE, 3 * SECONDS)):
        beats[start : start + RATE // 4] += chance.normal(0, 2**20, RATE // 4) * np.exp(-np.arange(RATE // 4) / 2000)
    late = np.concatenate([np.zeros(96), beats[:-96]]) / 2
    return [(one + chance.normal(0, 200, len(one))).astype(np.int32) for one in (beats, late)]


def offloaded(show: Path, scratch: Path, takes: int) -> Book:
    """Offload a card of some takes for a show, whose tracks are its kick and its snare; return the show."""
    card, places = scratch / "card", [scratch / "disc-a", scratch / "disc-b"]
    for folder in (card, *places):
        folder.mkdir()
    for take in range(1, takes + 1):
        (card / f"take-{take}").mkdir()
        for number, (label, sound) in enumerate(zip(LABELS, sound_of(take), strict=True), start=1):
            write_whole(card / f"take-{take}" / f"{number:02d}_{label}.wav", RATE, 24, sound)
    book = Book(show, Planner(explain=False))
    now = book.open()
    hz = float(now.read.venue.mains.frequency_hz)
    offload_show(card, places, show, now.plan, hz, same_device=True)
    return book


def with_songs(show: Path, take: str, songs: int) -> None:
    """Say that a take holds so many songs of a second each."""
    each = tuple(
        Song(title=f"Song {number}", start=number * RATE, end=(number + 1) * RATE) for number in range(1, songs + 1)
    )
    write_songs(
        show / "songs.toml",
        SongBook(show="t", take=(TakeSongs(take=take, rate_hz=RATE, frames=SECONDS * RATE, song=each),)),
    )
