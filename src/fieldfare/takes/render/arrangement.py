"""Who plays what: turns a song into the notes of each family, with rests that are real."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from fieldfare.takes.render.programme import Song
from fieldfare.takes.render.score import Note, human, into, under
from fieldfare.takes.render.sounders import Family
from fieldfare.takes.render.tunes import Bar, Feel, chord_pitches

Role = str

# What each family does in the passes through a song's eight-bar parts; the row is walked round and round.
ROLES: dict[Family, tuple[Role, ...]] = {
    "fiddle": ("melody", "melody", "third", "melody"),
    "accordion, right": ("chords", "melody", "melody", "rest"),
    "accordion, left": ("oompah", "oompah", "oompah", "oompah"),
    "reeds": ("long", "rest", "long", "long"),
    "clarinet": ("rest", "third", "melody", "third"),
    "saxophone": ("rest", "long", "melody", "third"),
    "trumpet": ("rest", "stabs", "rest", "melody"),
    "guitar": ("strum", "strum", "strum", "strum"),
    "bouzouki": ("strum", "melody", "strum", "strum"),
    "bass": ("bass", "bass", "bass", "bass"),
    "lead vocal": ("call", "rest", "call", "rest"),
    "backing vocal": ("rest", "rest", "rest", "rest"),
}
SUNG: dict[Family, tuple[Role, ...]] = {
    "lead vocal": ("melody", "melody", "melody", "melody"),
    "backing vocal": ("rest", "third", "third", "rest"),
    "fiddle": ("rest", "third", "long", "melody"),
    "trumpet": ("rest", "stabs", "rest", "stabs"),
    "clarinet": ("rest", "long", "rest", "melody"),
    "accordion, right": ("chords", "chords", "third", "chords"),
}
RANGE: dict[Family, tuple[float, float]] = {
    "fiddle": (55, 88),
    "accordion, right": (60, 86),
    "reeds": (48, 72),
    "clarinet": (58, 82),
    "saxophone": (52, 74),
    "trumpet": (58, 78),
    "bouzouki": (55, 79),
    "lead vocal": (55, 72),
    "backing vocal": (52, 69),
}

# A bar of each groove on a grid of eighths: x a stroke, o a soft one.
GROOVES: dict[Feel, dict[str, str]] = {
    "reel": {"kick": "x...x...", "snare": "..xo..xo", "hat": "xoxoxoxo", "ride": "x.xox.xo", "shake": "xoxoxoxo"},
    "polka": {"kick": "x.x.", "snare": ".x.x", "hat": "oxox", "ride": "xoxo", "shake": "xoxo"},
    "waltz": {"kick": "x.....", "snare": "..o.o.", "hat": "..x.x.", "ride": "x.x.x.", "shake": "xooxoo"},
    "jig": {"kick": "x..x..", "snare": "..o.xo", "hat": "x.ox.o", "ride": "x.xx.x", "shake": "xooxoo"},
    "song": {"kick": "x..ox...", "snare": "..x...x.", "hat": "xoxoxoxo", "ride": "x.x.x.x.", "shake": "xoxoxoxo"},
}
STRUMS: dict[Feel, str] = {
    "reel": "x.xox.xo",
    "polka": "xoxo",
    "waltz": "x.o.o.",
    "jig": "x.ox.o",
    "song": "x.xo.oxo",
}
VOWELS = ("a", "e", "i", "o", "u", "ae")
ONSETS = ("", "l", "m", "n", "s", "t", "h", "d", "w")

Write = Callable[[Song, Bar, float, "Family", np.random.Generator], list[Note]]


def song_notes(family: Family, song: Song, lead_s: float, rng: np.random.Generator) -> list[Note]:
    """Return what a family plays in a song.

    Parameters
    ----------
    family
        A family with a row of roles; drums are in `drum_notes`.
    song
        The song.
    lead_s
        From the start of the section to the first note. [s]
    rng
        Chance for timing, strength and words.
    """
    roles = SUNG.get(family, ROLES[family]) if song.tune.sung else ROLES[family]
    notes: list[Note] = []
    for number, (passes, bar) in enumerate(song.bars):
        role = roles[passes % len(roles)]
        if role != "rest" and number not in song.stops:
            notes += _WRITERS[role](song, bar, lead_s + number * song.bar_s, family, rng)
    if notes and ("vocal" not in family or song.tune.sung):
        notes += _final(song, lead_s + len(song.bars) * song.bar_s, family, rng)
    return human(notes, rng)


def drum_notes(
    strokes: Sequence[str], song: Song, lead_s: float, tom: int, has_kit: bool, rng: np.random.Generator
) -> list[Note]:
    """Return the strokes of one piece of the kit, or of the hand percussion.

    A kit leaves the first pass of every second song to the hand percussion, and rests there.

    Parameters
    ----------
    strokes
        Which rows of the groove this piece plays: kick, snare, hat, ride, crash, tom, stick or shake.
    song
        The song.
    lead_s
        From the start of the section to the first note. [s]
    tom
        0 for the highest tom; others answer it in the fills.
    has_kit
        Whether there is a kit at all; without one the hand percussion plays on.
    rng
        Chance for timing and strength.
    """
    groove, eighths, notes = GROOVES[song.tune.feel], song.tune.eighths, list[Note]()
    for number, (passes, _) in enumerate(song.bars):
        if number in song.stops:
            continue
        by_hand = not has_kit or (passes == 0 and song.number % 2 == 1)
        at = lead_s + number * song.bar_s
        for stroke in strokes:
            if (stroke == "shake") == by_hand:
                row = _row(stroke, groove, passes, number % 8, eighths, tom)
                notes += [Note(at + place * song.eighth_s, 0.0, float(tom), 1.0 if sign == "x" else 0.45, stroke)
                          for place, sign in enumerate(row) if sign != "."]  # fmt: skip
    last = lead_s + len(song.bars) * song.bar_s
    notes += [Note(last, 0.0, float(tom), 1.0, stroke) for stroke in strokes if stroke in ("kick", "snare", "crash")]
    if "stick" in strokes:
        notes += [Note(lead_s - beat * song.beat_s, 0.0, 0.0, 0.35, "stick") for beat in range(1, song.counted + 1)]
    return human(sorted(notes), rng, 0.004)


def syllable(rng: np.random.Generator) -> str:
    """Make up a syllable: a consonant or none, a hyphen, a vowel."""
    return f"{ONSETS[rng.integers(len(ONSETS))]}-{VOWELS[rng.integers(len(VOWELS))]}"


def talk(at_s: float, length_s: float, centre: float, rng: np.random.Generator) -> list[Note]:
    """Return speech: phrases of four to nine syllables that fall in pitch, with breaths between."""
    notes, now = list[Note](), at_s
    while now < at_s + length_s - 0.6:
        count = int(rng.integers(4, 10))
        for place in range(count):
            lasts = float(rng.uniform(0.11, 0.24)) * (1.5 if place == count - 1 else 1.0)
            if now + lasts > at_s + length_s:
                break
            pitch = centre + 3.0 - 6.0 * place / count + float(rng.normal(0.0, 1.2))
            notes.append(Note(now, lasts, pitch, float(rng.uniform(0.6, 1.0)), f"{syllable(rng)} spoken"))
            now += lasts
        now += float(rng.uniform(0.35, 0.9))
    return notes


def _row(stroke: str, groove: dict[str, str], passes: int, bar: int, eighths: int, tom: int) -> str:
    if stroke == "tom":  # a fill at the end of each pass, from the high tom to the low one
        half = eighths // 2
        first = "." * (eighths - half) + "x" * (half - half // 2)
        return "" if bar != 7 else first if tom == 0 else "." * (eighths - half // 2) + "x" * (half // 2)
    if stroke == "crash":
        return "x" if bar == 0 else ""
    if stroke == "hat":
        return groove["hat"] if passes % 4 < 2 else ""
    if stroke == "ride":
        return groove["ride"] if passes % 4 >= 2 else ""
    return groove.get(stroke, "")


def _melody(song: Song, bar: Bar, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    notes = []
    for tone in bar.melody:
        pitch = into(tone.pitch + song.shift, *RANGE[family])
        strength = 0.9 if tone.at % song.tune.beat == 0 else 0.72
        words = syllable(rng) if "vocal" in family else ""
        notes.append(Note(at_s + tone.at * song.eighth_s, tone.length * song.eighth_s * 0.94, pitch, strength, words))
    return notes


def _third(song: Song, bar: Bar, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    melody = _melody(song, bar, at_s, family, rng)
    lower = [into(under(note.pitch, bar.chord, song.shift), *RANGE[family]) for note in melody]
    return [
        note._replace(pitch=pitch, velocity=note.velocity * 0.85) for note, pitch in zip(melody, lower, strict=True)
    ]


def _long(song: Song, bar: Bar, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    tones = chord_pitches(bar.chord)
    voices = tones if family == "reeds" else tones[1:2]
    words = syllable(rng) if "vocal" in family else ""
    return [Note(at_s, song.bar_s * 0.97, into(tone + song.shift + 12, *RANGE[family]), 0.6, words) for tone in voices]


def _stabs(song: Song, bar: Bar, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    tone = into(chord_pitches(bar.chord)[1] + song.shift + 12, *RANGE[family])
    beats = range(song.tune.beat // 2, song.tune.eighths, song.tune.beat)
    return [Note(at_s + beat * song.eighth_s, 0.7 * song.eighth_s, tone, 0.95) for beat in beats if rng.random() < 0.8]


def _chords(song: Song, bar: Bar, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    del rng
    beats = range(song.tune.beat // 2, song.tune.eighths, song.tune.beat)
    return [Note(at_s + beat * song.eighth_s, 0.8 * song.eighth_s, into(tone + song.shift + 12, *RANGE[family]), 0.7)
            for beat in beats for tone in chord_pitches(bar.chord)]  # fmt: skip


def _oompah(song: Song, bar: Bar, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    del family, rng
    root, third, fifth = (tone + song.shift for tone in chord_pitches(bar.chord))
    notes = []
    for beat in range(0, song.tune.eighths, song.tune.beat):
        low = root if beat * 2 < song.tune.eighths or song.tune.eighths < 8 else fifth
        notes.append(Note(at_s + beat * song.eighth_s, 0.8 * song.eighth_s, into(low, 40, 52), 0.9))
        off = at_s + (beat + max(1, song.tune.beat - 1)) * song.eighth_s
        notes += [Note(off, 0.6 * song.eighth_s, into(tone, 52, 64), 0.6) for tone in (root, third, fifth)]
    return notes


def _strum(song: Song, bar: Bar, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    root, third, fifth = (tone + song.shift for tone in chord_pitches(bar.chord))
    up = 12 if family == "bouzouki" else 0
    strings = [tone + up for tone in (root, fifth, root + 12, third + 12, fifth + 12)]
    notes = []
    for place, sign in enumerate(STRUMS[song.tune.feel]):
        if sign != ".":
            played, strength = (strings, 0.9) if sign == "x" else (strings[:1:-1], 0.6)
            first, lasts = at_s + place * song.eighth_s, 2.2 * song.eighth_s
            spread = 0.009 * np.arange(len(played)) + rng.normal(0.0, 0.001, len(played))
            notes += [Note(first + float(by), lasts, tone, strength) for by, tone in zip(spread, played, strict=True)]
    return notes


def _bass(song: Song, bar: Bar, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    del family, rng
    root, _, fifth = (tone + song.shift for tone in chord_pitches(bar.chord))
    step = max(song.tune.beat, song.tune.eighths // 2)
    return [Note(at_s + place * song.eighth_s, 0.92 * step * song.eighth_s, into(low, 28, 43), 0.9)
            for place, low in ((0, root), (step, fifth)) if place < song.tune.eighths]  # fmt: skip


def _call(song: Song, bar: Bar, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    del bar, family
    return talk(at_s, min(1.5, 0.8 * song.bar_s), 50.0, rng) if rng.random() < 0.3 else []


def _final(song: Song, at_s: float, family: Family, rng: np.random.Generator) -> list[Note]:
    tones = [tone + song.shift for tone in chord_pitches(song.final_chord)]
    lasts = 0.95 * song.bar_s
    if family == "bass":
        return [Note(at_s, lasts, into(tones[0], 28, 43), 1.0)]
    if family == "guitar":
        return [Note(at_s + 0.012 * step, lasts * 1.5, tone, 0.95) for step, tone in enumerate((*tones, tones[0] + 12))]
    many = tones if family in ("reeds", "accordion, left", "accordion, right") else tones[:1]
    low, high = RANGE.get(family, (48, 72))
    words = syllable(rng) if "vocal" in family else ""
    return [Note(at_s, lasts, into(tone + 12, low, high), 0.9, words) for tone in many]


_WRITERS: dict[Role, Write] = {
    "melody": _melody,
    "third": _third,
    "long": _long,
    "stabs": _stabs,
    "chords": _chords,
    "oompah": _oompah,
    "strum": _strum,
    "bass": _bass,
    "call": _call,
}
