"""Notes: the smallest piece of a performance, and the helpers that make them human."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from fieldfare.takes.render.sound import Sound
from fieldfare.takes.render.tunes import chord_pitches


class Note(NamedTuple):
    """One note or stroke. Times in seconds from the start of its section."""

    at_s: float
    length_s: float
    pitch: float  # MIDI number; 0 where the sound has no pitch
    velocity: float  # 0 to 1
    how: str = ""  # the stroke of a drum, the syllable of a voice


Play = Callable[[str, list[Note], int, int], Sound | None]
"""Turns a family's notes into so many samples at a rate; none leaves them to the program's own instruments."""


def human(notes: list[Note], rng: np.random.Generator, late_s: float = 0.006) -> list[Note]:
    """Move notes off the grid by a few milliseconds and vary their strength, as players do."""
    late = rng.normal(0.0, late_s, len(notes))
    strength = rng.uniform(0.82, 1.0, len(notes))
    return [
        note._replace(at_s=max(0.0, note.at_s + float(by)), velocity=note.velocity * float(force))
        for note, by, force in zip(notes, late, strength, strict=True)
    ]


def under(pitch: float, chord: str, shift: int) -> int:
    """Return the nearest tone of the chord that lies at least a minor third under a pitch."""
    tones = [base + shift + 12 * octave for base in chord_pitches(chord) for octave in range(-3, 6)]
    return max(tone for tone in tones if tone <= pitch - 3)


def into(pitch: float, lowest: float, highest: float) -> float:
    """Move a pitch by octaves into a range of at least an octave."""
    while pitch < lowest:
        pitch += 12
    while pitch > highest:
        pitch -= 12
    return pitch
