"""What sounds on the stage, and which family of instruments it is rendered as."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, Protocol

from fieldfare.show.drawn import Sounds
from fieldfare.show.plan import Plan
from fieldfare.show.record import Place3
from fieldfare.show.show import Show, Source

Family = Literal[
    "kick",
    "snare",
    "tom",
    "hat",
    "ride",
    "cymbals",
    "percussion",
    "bass",
    "guitar",
    "bouzouki",
    "fiddle",
    "accordion, left",
    "accordion, right",
    "reeds",
    "clarinet",
    "saxophone",
    "trumpet",
    "lead vocal",
    "backing vocal",
    "slate",
    "audience",
]


class Sounding(Sounds, Protocol):
    """What the plan says about one thing that sounds, and how loud it is; the plan's own record fits."""

    @property
    def level_db(self) -> float:
        """Loudest moment at 1 m, free field. [dB SPL]"""

    @property
    def directivity(self) -> float:
        """Directivity factor towards the room. [1]"""


@dataclass(frozen=True, slots=True)
class Sounder:
    """One thing that sounds, where it is, how loud it gets, and who plays it."""

    source: str
    part: str
    recipe: str
    at: Place3
    level_db: float  # highest peak of the take at 1 m, as the dB SPL of a sine with that peak
    directivity: float = 1.0
    player: str = ""

    @property
    def name(self) -> str:
        """Source and part, as truth and messages say it."""
        return f"{self.source}: {self.part}" if self.part else self.source

    @property
    def family(self) -> Family:
        """The family of instruments it is rendered as."""
        return family_of(self.recipe, self.part, self.source)


def sounders_of(soundings: Iterable[Sounding], show: Show, plan: Plan) -> tuple[Sounder, ...]:
    """Return who is there on the night: everybody but the possible sources that the plan has no input for."""
    by_name = {source.name: source for source in show.sources}
    planned = {row.source for row in plan.input}
    there = (one for one in soundings if by_name[one.source].status != "possible" or one.source in planned)
    return tuple(
        Sounder(
            one.source, one.part, by_name[one.source].recipe, one.at, one.level_db, one.directivity,
            _player(by_name[one.source], show),
        )
        for one in there
    )  # fmt: skip


def _player(source: Source, show: Show) -> str:
    """Who plays a source; where nobody is named, whoever plays the two that are doubled."""
    double = source.doubles_with or next((one.name for one in show.sources if one.doubles_with == source.name), "")
    return source.player or (" and ".join(sorted((source.name, double))) if double else "")


# The first row that has a word in part and recipe, or else in the source's name, wins: narrower words stand higher.
_WORDS: tuple[tuple[Family, str], ...] = (
    ("audience", "audience crowd dancers"),
    ("slate", "talkback slate"),
    ("backing vocal", "backing chorus harmony"),
    ("lead vocal", "vocal vocals voice singer caller speech"),
    ("accordion, right", "accordion melodeon concertina"),
    ("reeds", "harmonium organ keys keyboard piano harmonica"),
    ("clarinet", "clarinet oboe flute whistle"),
    ("saxophone", "saxophone sax"),
    ("trumpet", "trumpet cornet trombone horn brass"),
    ("percussion", "percussion tambourine shaker congas bodhran"),
    ("kick", "kick"),
    ("snare", "snare"),
    ("tom", "tom toms"),
    ("hat", "hat"),
    ("ride", "ride"),
    ("cymbals", "cymbal cymbals overhead overheads crash drum drums"),
    ("bass", "bass cello"),
    ("bouzouki", "bouzouki mandolin banjo mandola"),
    ("fiddle", "fiddle violin viola"),
    ("guitar", "guitar ukulele harp"),
)
_LEFT = {"left", "bass", "chords"}


def family_of(recipe: str, part: str, source: str) -> Family:
    """Choose the family of instruments that a sounder is rendered as; what is not known sounds as reeds.

    >>> family_of("drum kit", "tom 2", "Drum kit"), family_of("button accordion", "bass side", "Box")
    ('tom', 'accordion, left')
    """
    of_part, of_recipe, of_source = (_words(text) for text in (part, recipe, source))
    for words in (of_part if of_recipe & {"drum", "drums", "kit"} and of_part else of_recipe | of_part, of_source):
        for family, known in _WORDS:
            if words & set(known.split()):
                return "accordion, left" if family == "accordion, right" and of_part & _LEFT else family
    return "reeds"


def _words(text: str) -> set[str]:
    return set(re.findall(r"[a-z]+", text.casefold()))
