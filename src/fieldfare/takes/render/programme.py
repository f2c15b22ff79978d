"""The course of a take: what is played when, with talk, tuning and applause between the songs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fieldfare.takes.render.seeds import seeded
from fieldfare.takes.render.tunes import Bar, Tune, tune_for
from fieldfare.units.faults import OutOfRange

SHORTEST_S = 4.0
RELEASE_S = 0.5  # left between the last chord and what comes after
SONG_S = 50.0  # a song with its share of talk and applause, before the take's length is counted in
OWN_TITLES = ("Slack Water Reel", "The Chandler's Polka", "Nine Lamps", "Low Water Waltz", "The Copper Nail Jig")


@dataclass(frozen=True, slots=True)
class Song:
    """One song of the take. Places in samples from the take's start."""

    number: int  # from 0
    title: str
    tune: Tune
    loud_db: float  # re the loudest song of the take
    count_in: int
    start: int  # first note after the count-in
    end: int  # the last chord is released
    eighth_s: float
    shift: int  # semitones that the tune is put up or down
    counted: int  # beats of the count-in
    form: tuple[int, ...]  # numbers of the bars, a's eight and then b's, in the order they are played
    stops: frozenset[int] = frozenset()  # places in the form where nobody plays: a false ending

    @property
    def bar_s(self) -> float:
        """Length of a bar at this song's tempo. [s]"""
        return self.tune.eighths * self.eighth_s

    @property
    def beat_s(self) -> float:
        """Length of a beat at this song's tempo. [s]"""
        return self.tune.beat * self.eighth_s

    @property
    def bars(self) -> tuple[tuple[int, Bar], ...]:
        """The bars in the order they are played, each with the number of its pass through an eight-bar part."""
        whole = (*self.tune.a, *self.tune.b)
        return tuple((place // 8, whole[bar]) for place, bar in enumerate(self.form))

    @property
    def final_chord(self) -> str:
        """The chord of the last bar, which is held."""
        return self.tune.b[-1].chord


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of the take that is rendered in one piece."""

    kind: Literal["before", "song", "between", "after"]
    start: int
    end: int
    song: Song | None = None  # the song that is played; before applause, the song that is applauded


@dataclass(frozen=True, slots=True)
class Programme:
    """The whole take, from the first sample to the last."""

    rate_hz: int
    frames: int
    sections: tuple[Section, ...]

    @property
    def songs(self) -> tuple[Song, ...]:
        """The songs in order."""
        return tuple(section.song for section in self.sections if section.kind == "song" and section.song)


def plan_programme(titles: Sequence[str], duration_s: float, rate_hz: int, seed: int) -> Programme:
    """Divide a take into songs, and what lies before, between and after them.

    Parameters
    ----------
    titles
        The set list; as many of its first songs are played as the take has room for.
    duration_s
        Length of the take. [s]
    rate_hz
        Sample rate. [Hz]
    seed
        The same seed gives the same take.

    Raises
    ------
    OutOfRange
        A take too short to hold a song.
    """
    if not duration_s >= SHORTEST_S:
        raise OutOfRange(f"a take of {duration_s} s has no room for a song", "recording", f"ask for {SHORTEST_S:.0f} s")
    names = tuple(titles) or OWN_TITLES
    count = min(len(names), max(1, round(duration_s / SONG_S)))
    rng = seeded(seed, "programme")
    frames = round(duration_s * rate_hz)
    before, after = min(9.0, 0.1 * duration_s), min(10.0, 0.15 * duration_s)
    between = min(11.0, 0.3 * duration_s / count)
    share = (duration_s - before - after - between * (count - 1)) / count
    loud = _loudness(count, rng)
    sections: list[Section] = []
    at = 0.0
    for number in range(count):
        room_s = share + (before if number == 0 else between)
        song = _song(
            number, names[number], (at, room_s, before if number == 0 else between), loud[number], rate_hz, rng
        )
        first = song.count_in - rate_hz // 4
        gap_from = sections[-1].end if sections else 0
        sections.append(
            Section("between" if number else "before", gap_from, first, sections[-1].song if number else None)
        )
        sections.append(Section("song", first, song.end + rate_hz // 3, song))
        at += room_s
    sections.append(Section("after", sections[-1].end, frames, sections[-1].song))
    return Programme(rate_hz, frames, tuple(sections))


def _loudness(count: int, rng: np.random.Generator) -> list[float]:
    """Bands get louder as the set goes on: the last song is the loudest. [dB re the loudest]"""
    rise = np.linspace(-3.0, 0.0, count) if count > 1 else np.zeros(1)
    return [round(float(min(0.0, level + rng.uniform(-0.5, 0.5))), 1) if place < count - 1 else 0.0
            for place, level in enumerate(rise)]  # fmt: skip


def _song(
    number: int, title: str, room: tuple[float, float, float], loud_db: float, rate_hz: int, rng: np.random.Generator
) -> Song:
    """Fit whole bars into the room for a song: `room` is its start, its length and what goes before it. [s]"""
    at, whole_s, lead_s = room
    tune = tune_for(title)
    eighth_s = tune.eighth_s / float(rng.uniform(0.97, 1.04))
    bar_s = eighth_s * tune.eighths
    counted = 2 if whole_s < 20 else 4
    count_s = counted * tune.beat * eighth_s
    fitting = int((whole_s - lead_s - count_s - RELEASE_S) / bar_s) - 1  # a bar is left for the last chord
    played = max(1, fitting - fitting % 4 if fitting >= 4 else fitting)  # whole phrases where there is room for one
    form = tuple((0, 0, 8, 8)[place // 8 % 4] + place % 8 for place in range(played))
    count_in = round((at + lead_s) * rate_hz)
    start = count_in + round(count_s * rate_hz)
    end = start + round((played + 1) * bar_s * rate_hz)
    shift = (0, 0, 0, 2, -2)[number % 5]
    return Song(number, title, tune, loud_db, count_in, start, end, eighth_s, shift, counted, form)
