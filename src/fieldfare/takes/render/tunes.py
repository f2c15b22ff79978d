"""A small book of dance tunes, written for this program: melody, chords and groove as data.

A bar is a run of notes. `D5.2` is the D above the middle octave for two eighths; without a figure a note lasts one
eighth; `-` is a rest. Every bar fills its metre, which the tests hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from fieldfare.units.faults import OutOfRange

Feel = Literal["reel", "polka", "waltz", "jig", "song"]

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_CHORDS = {"": (0, 4, 7), "m": (0, 3, 7), "7": (0, 4, 10)}


class Tone(NamedTuple):
    """One note of a bar: where it starts and how long it lasts, in eighths, and its MIDI pitch."""

    at: float
    length: float
    pitch: int


class Bar(NamedTuple):
    """One bar: its chord, as pitches of one close position in the octave of middle C, and its melody."""

    chord: str
    melody: tuple[Tone, ...]


@dataclass(frozen=True, slots=True)
class Tune:
    """A tune of two parts of eight bars each."""

    name: str
    feel: Feel
    eighths: int  # in a bar
    beat: int  # eighths in a beat
    tempo_bpm: float  # beats in a minute
    a: tuple[Bar, ...]
    b: tuple[Bar, ...]
    sung: bool = False

    @property
    def eighth_s(self) -> float:
        """Length of an eighth. [s]"""
        return 60.0 / self.tempo_bpm / self.beat

    @property
    def bar_s(self) -> float:
        """Length of a bar. [s]"""
        return self.eighths * self.eighth_s


def pitch(name: str) -> int:
    """Turn a note's name into its MIDI number.

    Raises
    ------
    OutOfRange
        It is no note's name.

    Examples
    --------
    >>> pitch("A4"), pitch("F#5"), pitch("Bb3")
    (69, 78, 58)
    """
    letter, rest = name[0], name[1:]
    shift = rest.count("#") - rest.count("b")
    octave = rest.strip("#b")
    if letter not in _STEPS or not octave.isdigit():
        raise OutOfRange(f"{name!r} is not a note", "tune", "write letter, sharp or flat, octave: F#5")
    return 12 * (int(octave) + 1) + _STEPS[letter] + shift


def chord_pitches(chord: str) -> tuple[int, ...]:
    """Return a chord's root, third and fifth (or seventh), the root between E2 and D#3.

    >>> chord_pitches("D"), chord_pitches("Am")
    ((50, 54, 57), (45, 48, 52))
    """
    root = chord[:2] if chord[1:2] in ("#", "b") else chord[:1]
    base = 40 + (pitch(f"{root}2") - 40) % 12
    return tuple(base + step for step in _CHORDS[chord[len(root) :]])


def bars(chords: str, melody: str) -> tuple[Bar, ...]:
    """Read bars parted by `|`, with one chord a bar."""
    found = []
    for chord, text in zip(chords.split(), melody.split("|"), strict=True):
        at, tones = 0.0, []
        for word in text.split():
            name, _, length = word.partition(".")
            lasts = float(length or 1)
            if name != "-":
                tones.append(Tone(at, lasts, pitch(name)))
            at += lasts
        found.append(Bar(chord, tuple(tones)))
    return tuple(found)


REEL = Tune(
    "reel", "reel", 8, 2, 204.0,
    bars("Am Am G Em Am Am Em Am",
         "A4.2 E5 D5 E5 G5 E5 D5 | C5 D5 E5 A4 C5.2 B4 A4 | B4.2 D5 B4 G4 B4 D5 G5 | E5 D5 B4 G4 A4 B4 C5 D5 |"
         "E5.2 A5 G5 E5 D5 C5 D5 | E5 A5 G5 E5 D5 C5 A4.2 | G4 A4 B4 D5 E5 G5 E5 D5 | C5 A4 B4 G4 A4.4"),
    bars("Am C G Em Am C Em Am",
         "A5.3 G5 E5 D5 E5 G5 | C6.2 A5 G5 E5 G5 A5.2 | B5.2 G5 D5 G5 B5 A5 G5 | E5 G5 B5 G5 E5 D5 B4 D5 |"
         "A5.3 G5 E5 D5 E5 G5 | C6 B5 A5 G5 E5 D5 C5 D5 | E5 G5 E5 D5 B4 A4 G4 B4 | A4.2 C5 B4 A4.4"),
)  # fmt: skip

POLKA = Tune(
    "polka", "polka", 4, 2, 124.0,
    bars("D A7 D G G D A7 D",
         "D5 F#5 A5 F#5 | G5.2 E5.2 | F#5 A5 D6 A5 | B5.2 A5.2 | B5 G5 E5 G5 | A5 F#5 D5 F#5 | E5 C#5 A4 C#5 |"
         "D5.2 D5.2"),
    bars("D D G G A7 D A7 D",
         "F#5.2 F#5 G5 | A5.2 F#5.2 | G5.2 G5 A5 | B5.2 G5.2 | A5 G5 F#5 E5 | D5 F#5 A5 D6 | C#6 A5 E5 C#5 | D5.4"),
)  # fmt: skip

WALTZ = Tune(
    "waltz", "waltz", 6, 2, 138.0,
    bars("Am Am E7 Am Dm G Am E7",
         "E5.4 D5.2 | C5.4 A4.2 | B4.2 C5.2 D5.2 | E5.6 | F5.4 E5.2 | D5.4 B4.2 | C5.2 B4.2 A4.2 | G#4.6"),
    bars("C G Dm Am Dm Am E7 Am",
         "C5.2 E5.2 G5.2 | B4.2 D5.2 G5.2 | F5.2 E5.2 D5.2 | E5.6 | D5.4 F5.2 | E5.4 C5.2 | B4.2 A4.2 G#4.2 | A4.6"),
)  # fmt: skip

JIG = Tune(
    "jig", "jig", 6, 3, 116.0,
    bars("G C G D G C D G",
         "G4 B4 D5 G5 D5 B4 | C5 E5 G5 E5.2 C5 | B4 D5 G5 B5 G5 D5 | A5.3 F#5.2 D5 | G4 B4 D5 G5 D5 B4 |"
         "C5 E5 G5 C6 B5 A5 | B5 A5 G5 F#5 E5 D5 | G5.3 G4.3"),
    bars("Em Em D D C G D G",
         "E5.2 F#5 G5.2 B5 | B5 A5 G5 E5.3 | D5.2 E5 F#5.2 A5 | A5 G5 F#5 D5.3 | C5 E5 G5 C6 G5 E5 |"
         "B4 D5 G5 B5 G5 D5 | A4 D5 F#5 A5 F#5 D5 | G5.3 G4.3"),
)  # fmt: skip

AIR = Tune(
    "air", "song", 8, 2, 100.0,
    bars("G Em C D G Em C G",
         "D5.2 B4.2 G4.2 A4.2 | B4.3 A4 G4.4 | E4.2 G4.2 A4.2 B4.2 | A4.6 -.2 | D5.2 B4.2 G4.2 A4.2 |"
         "B4.3 C5 D5.4 | C5.2 B4.2 A4.2 F#4.2 | G4.6 -.2"),
    bars("C G Am D C G D G",
         "E5.3 D5 C5.4 | D5.3 B4 G4.4 | C5.2 B4.2 A4.2 G4.2 | A4.6 -.2 | E5.3 D5 C5.2 E5.2 | D5.2 B4.2 G4.4 |"
         "A4.2 B4.2 A4.2 F#4.2 | G4.6 -.2"),
    sung=True,
)  # fmt: skip

BOOK: dict[str, Tune] = {tune.name: tune for tune in (REEL, POLKA, WALTZ, JIG, AIR)}


def tune_for(title: str) -> Tune:
    """Choose a tune for a title: a reel for a reel, a waltz for a waltz, and an air that is sung for the rest.

    >>> tune_for("The Millrace Jig").name, tune_for("Nine Oars").name
    ('jig', 'air')
    """
    words = title.casefold()
    kinds = {"stomp": "polka", "hornpipe": "reel", **{name: name for name in BOOK}}
    return next((BOOK[kind] for word, kind in kinds.items() if word in words), AIR)
