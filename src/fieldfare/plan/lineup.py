"""A line-up in the words of a phone call, "drums, bass, two guitars, three vocals", as sources to adjust.

Where each of them stands is only a first guess, common practice, no source: drums upstage in the middle, what is loud
beside them, voices along the front, the room before the stage.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from fieldfare.plan.recipes import Recipe
from fieldfare.show.record import Place
from fieldfare.show.show import Source
from fieldfare.show.venue import Stage
from fieldfare.units.text import nearest

MOST = 24  # of one kind: more is a slip of the finger
NUMBERS = {
    word: count
    for count, words in enumerate(
        ("", "a an one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
    )
    for word in words.split()
}
MEANT = {  # what people say for a recipe
    "drums": "drum kit", "drummer": "drum kit", "kit": "drum kit", "bass": "electric bass",
    "bass guitar": "electric bass", "double bass": "upright bass", "contrabass": "upright bass",
    "bassist": "electric bass", "guitar": "electric guitar", "guitarist": "electric guitar",
    "electric": "electric guitar", "acoustic": "acoustic guitar", "vocal": "backing vocal", "voice": "backing vocal",
    "vox": "backing vocal", "singer": "backing vocal", "lead": "lead vocal", "lead voice": "lead vocal",
    "lead singer": "lead vocal", "backing": "backing vocal", "backing voice": "backing vocal",
    "backing singer": "backing vocal", "harmony": "backing vocal", "key": "stage piano", "keyboard": "stage piano",
    "piano": "stage piano", "synth": "synthesiser", "synthesizer": "synthesiser",
    "organ": "organ with rotating speaker",
    "accordion": "piano accordion", "sax": "alto saxophone", "saxophone": "alto saxophone",
    "alto": "alto saxophone", "tenor": "tenor saxophone", "percussion": "hand percussion", "strings": "string section",
    "brass": "brass section", "horns": "brass section", "room": "room pair", "audience": "audience pair",
    "room mic": "room pair", "ambience": "room pair", "desk mix": "house mix", "mix": "house mix",
    "track": "playback", "backing track": "playback", "speech": "spoken word",
    "horn": "french horn", "caller": "spoken word", "squeezebox": "button accordion",
    "soprano": "classical voice", "mezzo-soprano": "classical voice", "countertenor": "classical voice",
    "opera singer": "classical voice", "classical singer": "classical voice", "vocal soloist": "classical voice",
    "announcer": "spoken word", "reader": "spoken word", "mc": "talk between songs", "compère": "talk between songs",
    "talk": "talk between songs", "announcements": "talk between songs",
}  # fmt: skip
PLACES: dict[str, tuple[float, float]] = {  # of the stage: across from −1 to 1, and up from the edge from 0 to 1
    "drums": (0.0, 0.75), "bass": (-0.4, 0.6), "guitars": (0.45, 0.5), "keys": (-0.7, 0.45), "brass": (0.7, 0.6),
    "woodwind": (0.6, 0.4), "strings": (-0.5, 0.35), "folk": (0.3, 0.35), "percussion": (0.4, 0.75),
    "voices": (0.0, 0.2), "rooms": (-0.9, 0.05),
}  # fmt: skip
UNSURE = re.compile(r"\b(?:maybe|perhaps|possibly)\b|\?")  # a source of which that is said is only possible
HELD = {"amp": "amplifier", "amps": "amplifier", "di": "clean DI"}  # what people say for what a recipe can use
APART = 0.28  # two of one family stand this far apart, of half the stage's width
_COUNT = re.compile(r"^(?:(\d+)\s*[x×]?\s+|(\d+)[x×]\s*)?(.*?)(?:\s*[x×]\s*(\d+))?$")


Sure: TypeAlias = Literal["expected", "possible"]


@dataclass(frozen=True, slots=True)
class Said:
    """What was said of a source besides what it is."""

    status: Sure = "expected"
    has: tuple[str, ...] = ()
    counts: Mapping[str, int] = field(default_factory=dict[str, int])


@dataclass(frozen=True, slots=True)
class Lineup:
    """What was understood of a line-up, and what was not."""

    source: tuple[Source, ...]
    not_understood: tuple[str, ...]  # each with the nearest that is known, where there is one


def read_lineup(text: str, recipes: Mapping[str, Recipe], stage: Stage, there: tuple[Source, ...] = ()) -> Lineup:
    """Read a line-up as it is said on the telephone.

    Parameters
    ----------
    text
        Parts with a comma, a semicolon, "and", "+" or a line between them, each with how many there are, if several:
        "maybe a violin with pickup" is a possible source, "drums with three toms" counts a part of one.
    recipes
        By name.
    stage
        On which a first place is guessed.
    there
        Sources of the show already: no new one takes the name of one of them.
    """
    found: list[tuple[Recipe, Said]] = []
    unknown: list[str] = []
    for part in re.split(r",|;|\n|\+|&|\band\b", text.casefold()):
        if not part.strip():
            continue
        name, _, more = UNSURE.sub(" ", part).partition(" with ")
        count, words = _counted(name)
        recipe = _recipe(words, recipes) or _recipe(words.removesuffix(" di"), recipes)
        said = _said(more, recipe, "possible" if UNSURE.search(part) else "expected") if recipe else None
        if recipe is None or said is None or not 0 < count <= MOST:
            unknown.append(_unknown(part.strip(), words, recipes))
        else:
            before = [one for one, _ in found]
            found += [(one, said) for one in _one_lead(recipe, words, count, recipes, before, there)]
    return Lineup(tuple(_placed(found, stage, there)), tuple(unknown))


def _counted(part: str) -> tuple[int, str]:
    words = " ".join(part.split())
    first, _, rest = words.partition(" ")
    if first in NUMBERS and rest:
        return NUMBERS[first], rest
    match = _COUNT.match(words)
    assert match is not None  # every part of it may be empty
    number = next((one for one in (match[1], match[2], match[4]) if one), "1")
    return int(number[:4]), match[3]


def _said(more: str, recipe: Recipe, status: Sure) -> Said | None:
    """Read what stands behind "with": a part that is counted, or something that the recipe can use; none otherwise."""
    if not more.strip():
        return Said(status)
    count, words = _counted(more)
    for form in (words, f"{words}s", *_singular(words)):
        if form in recipe.usual and 0 <= count <= MOST:
            return Said(status, counts={form: count})
        if HELD.get(form, form) in recipe.uses:
            return Said(status, has=(HELD.get(form, form),))
    return None


def _recipe(words: str, recipes: Mapping[str, Recipe]) -> Recipe | None:
    for form in _singular(words):
        name = form if form in recipes else MEANT.get(form, "")
        if name in recipes:
            return recipes[name]
    return None


def _singular(words: str) -> Iterator[str]:
    yield words
    for plural, single in (("ies", "y"), ("es", ""), ("s", "")):
        if words.endswith(plural):
            yield words.removesuffix(plural) + single


def _one_lead(
    recipe: Recipe, words: str, count: int, recipes: Mapping[str, Recipe], before: list[Recipe],
    there: tuple[Source, ...],
) -> list[Recipe]:  # fmt: skip
    """Of voices that nobody has sorted into lead and backing, the first is the lead."""
    plain = next((form for form in _singular(words) if form in ("vocal", "voice", "singer", "vox")), "")
    leads = any(one.name == "lead vocal" for one in before) or any(one.recipe == "lead vocal" for one in there)
    if plain and not leads and "lead vocal" in recipes:
        return [recipes["lead vocal"], *[recipe] * (count - 1)]
    return [recipe] * count


def _unknown(part: str, words: str, recipes: Mapping[str, Recipe]) -> str:
    guess = nearest(words, [*recipes, *MEANT])
    return f"{part} (did you mean {guess}?)" if guess else part


def _placed(found: list[tuple[Recipe, Said]], stage: Stage, there: tuple[Source, ...]) -> Iterator[Source]:
    taken = {one.name.casefold() for one in there}
    total = Counter(recipe.name for recipe, _ in found)
    in_family: dict[str, int] = {}
    seen: dict[str, int] = {}
    for recipe, said in found:
        base = recipe.name[:1].upper() + recipe.name[1:]
        number = seen.get(recipe.name, 0) + 1
        name = base if total[recipe.name] == 1 else f"{base} {number}"
        while name.casefold() in taken:
            number += 1
            name = f"{base} {number}"
        seen[recipe.name] = number
        taken.add(name.casefold())
        place = in_family.get(recipe.family, 0)
        in_family[recipe.family] = place + 1
        at = _place(recipe.family, place, stage)
        yield Source(name=name, recipe=recipe.name, at=at, status=said.status, has=said.has, counts=dict(said.counts))


def _place(family: str, number: int, stage: Stage) -> Place:
    across, up = PLACES.get(family, (0.2, 0.5))
    side = -1 if number % 2 else 1
    across += side * ((number + 1) // 2) * APART * (-1 if across > 0 else 1)
    across = max(-0.95, min(0.95, across))
    return round(across * stage.width_m / 2, 1), round(up * stage.depth_m, 1)
