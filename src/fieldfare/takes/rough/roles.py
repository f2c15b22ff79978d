"""What each track is to a mix: how loud among the others, how much of the lows it needs, where it belongs.

Levels are loudness while playing, against the lead vocal, as a plain balance has them; all of the table is practice,
and every figure ends in the mix sheet, where it can be altered.
"""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MixRole:
    """One line of the table."""

    name: str
    words: frozenset[str]
    level_lu: float  # while playing, re the lead vocal
    high_pass_hz: float
    spread: float  # share of the drawn width that it keeps; 0: always in the middle
    gated: bool = False  # turned down while nobody plays
    left_out: str = ""  # why it is not in a mix


def _row(
    name: str,
    words: str,
    level_lu: float,
    high_pass_hz: float,
    spread: float,
    *,
    gated: bool = False,
    left_out: str = "",
) -> MixRole:
    return MixRole(name, frozenset(words.split()), level_lu, high_pass_hz, spread, gated, left_out)


# fmt: off
ROLES: tuple[MixRole, ...] = (  # the first row with a word of a label wins, then of a part, then of a source
    _row("talkback", "talkback slate comms", -30, 100, 0, left_out="it holds what is said to the recorder"),
    _row("house mix", "mix mixes mixer desk board lr", -10, 20, 1, left_out="it holds the same sounds a second time"),
    _row("room", "room rooms ambience ambient audience aud crowd hall", -14, 80, 1),
    _row("overhead", "overhead overheads oh", -7, 100, 0.8),
    _row("kick", "kick bd", -4, 25, 0),
    _row("snare", "snare sd", -4, 70, 0.4),
    _row("tom", "tom toms", -6, 50, 0.7, gated=True),
    _row("hat", "hat hihat hh", -14, 200, 0.6),
    _row("ride", "ride", -16, 200, 0.6),
    _row("backing vocal", "backing bv bvs bv1 bv2 bv3 bv4 chorus harmony", -6, 100, 0.7, gated=True),
    _row("lead vocal", "vocal vocals vox voice voices singer lv caller speech headset", 0, 90, 0, gated=True),
    _row("percussion", "percussion perc tambourine shaker congas cajon bodhran", -9, 80, 0.7, gated=True),
    _row("accordion", "accordion melodeon concertina squeezebox treble chords", -6, 80, 0.7),
    _row("bass", "bass cello tuba", -4, 30, 0),
    _row("keys", "keys keyboard piano organ harmonium synth harmonica reeds", -7, 40, 0.7),
    _row("wind", "clarinet saxophone sax oboe flute whistle pipes", -5, 100, 0.7, gated=True),
    _row("brass", "trumpet cornet trombone horn brass flugelhorn", -6, 100, 0.7, gated=True),
    _row("fiddle", "fiddle violin viola", -4, 150, 0.7),
    _row("guitar", "guitar gtr bouzouki mandolin banjo mandola ukulele harp", -7, 80, 0.7),
    _row("drums", "drum drums kit cymbal cymbals", -7, 40, 0.5),
)
# fmt: on
OTHER = MixRole("other", frozenset(), -6, 60, 0.7)
BY_NAME = {role.name: role for role in (*ROLES, OTHER)}

_ASIDE = frozenset(("bottom", "under", "out", "outside", "amp", "amplifier", "cab", "di", "pickup", "piezo", "line"))
_LEFT, _RIGHT = frozenset(("left", "l", "lh")), frozenset(("right", "r", "rh"))
_SAME = _ASIDE | _LEFT | _RIGHT | {"top", "in", "mic"}


def words_of(*texts: str) -> frozenset[str]:
    """Return the words of texts, in lower case."""
    text = re.sub(r"\bbass[ -]?drum\b", "kick", " ".join(texts).casefold())
    return frozenset(re.findall(r"[^\W\d_]+\d*", text))


def mix_role(part: str, label: str, source: str, recipe: str = "") -> MixRole:
    """Tell what a track is to a mix.

    >>> mix_role("voice", "Lead vocal", "Lead vocal").name, mix_role("", "Gtr amp", "").name
    ('lead vocal', 'guitar')
    >>> mix_role("pickup", "Upright bass DI", "Upright bass").name, mix_role("", "07 zither", "").name
    ('bass', 'other')
    """
    for words in (words_of(label, recipe), words_of(part), words_of(source)):
        for role in ROLES:
            if words & role.words:
                return role
    return OTHER


def is_aside(part: str, label: str) -> bool:
    """Tell whether a track is the second one of its source: under a snare, at an amplifier, a pickup."""
    return bool(words_of(part, label) & _ASIDE)


def side_of(label: str) -> int:
    """Tell which side of a pair a label names: -1 left, 1 right, 0 neither.

    >>> side_of("OH L"), side_of("Room right"), side_of("Kick")
    (-1, 1, 0)
    """
    words = words_of(label)
    return int(bool(words & _RIGHT)) - int(bool(words & _LEFT))


def stem_of(label: str) -> str:
    """Return what a label shares with the other tracks of its source.

    >>> stem_of("Snare bottom"), stem_of("OH R"), stem_of("Bass DI")
    ('snare', 'oh', 'bass')
    """
    return " ".join(word for word in re.findall(r"[\w']+", label.casefold()) if word not in _SAME)
