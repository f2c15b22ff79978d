"""Recipes: how a kind of source becomes inputs. They are data: TOML files, one a family, and a show can bring its own.

Places are offsets in metres in the source's own frame: ahead (the way it faces), left (its own left), up (from the
floor it stands on).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from fieldfare.plan.wanted import Accept
from fieldfare.show.kit import End, MicKind, Pattern, StandKind
from fieldfare.show.plan import Taking
from fieldfare.show.record import Metres, Name, NotNegative, Positive, Record
from fieldfare.show.show import Importance
from fieldfare.show.wording import validated
from fieldfare.show.written import read_toml
from fieldfare.units.faults import BadDocuments, Blemish
from fieldfare.units.sources import PRACTICE, SOURCES

Offset = Annotated[tuple[Metres, Metres, Metres], Field(description="ahead, left, up, in metres")]


class Piece(Record):
    """What sounds and inputs have in common: places, and when they are there."""

    at: tuple[Offset, ...] = Field(min_length=1, description="Where it is; one place a piece where it is counted")
    count: str = Field(default="", description="Which of the show's counts says how many there are: toms")
    when: str = Field(default="", description='Only where the source has this: "pickup"')
    unless: str = Field(default="", description="Only where the source has not got this")


class Sound(Piece):
    """One thing of the source that sounds: a kick drum, a bell, a voice."""

    name: Name
    level_db: Positive = Field(description="dB SPL at 1 m on its axis, free field, loudest moment")
    plus_minus_db: NotNegative = Field(default=6.0, description="How far players are off that, either way")
    directivity: Positive = Field(default=1.0, description="Q towards the room; 1 radiates alike in all directions")
    source: str = Field(default=PRACTICE, description="Where the level comes from: a key of the bibliography")

    @field_validator("source")
    @classmethod
    def _known_source(cls, source: str) -> str:
        return _known(source)


class Way(Record):
    """One way in which an input may be taken."""

    taking: Taking
    kinds: tuple[MicKind, ...] = Field(default=(), description="For a mic: any of these")
    patterns: tuple[Pattern, ...] = Field(default=(), description="For a mic: any of these; blank: any at all")
    clip: bool | None = Field(default=None, description="true: it clips to the instrument; false: it stands or lies")
    active: bool | None = Field(default=None, description="For a DI; blank: either")
    least_input_ohm: NotNegative = Field(default=0.0, description="For a DI: what the pickup needs to see")
    score: Annotated[int, Field(ge=1, le=100, description="100 is the first choice")] = 100
    why: Name = Field(description="Told as the reason where this way is taken")

    @property
    def accept(self) -> Accept:
        """The way as the plan passes it on."""
        return Accept(**self.model_dump())


class Pickup(Record):
    """What comes out of a pickup or a line output."""

    level_dbu: float = Field(description="Loudest moment")
    source_ohm: Positive = Field(description="Its impedance")
    lead_end: End = Field(default="jack-ts", description="What plugs into the instrument")
    source: str = Field(default=PRACTICE, description="Where the level comes from: a key of the bibliography")

    @field_validator("source")
    @classmethod
    def _known_source(cls, source: str) -> str:
        return _known(source)


class Part(Piece):
    """One input that the source can give: a mic at a place, a pickup, a line output."""

    part: Name = Field(description="Its name in the recipe, by which a show can leave it out")
    label: Name = Field(description='What stands on the tape; {source} is the name of the source: "{source} DI"')
    importance: Importance
    stereo: bool = Field(default=False, description="Two inputs, left and right as seen from the audience")
    sound_at: Offset | None = Field(default=None, description="What it points at; the middle of what it hears if blank")
    aim: tuple[Offset, ...] = Field(
        default=(),
        description="Which way it looks, a direction for each place; at the middle of what it hears if blank",
    )
    hears: tuple[Name, ...] = Field(default=(), description="Sounds of the source that it is meant for; blank: all")
    way: tuple[Way, ...] = Field(min_length=1, description="The best first")
    stand: tuple[StandKind, ...] = Field(default=(), description="Acceptable, the best first; blank: none is needed")
    matched: Literal["must", "rather", "alike", "no"] = Field(
        default="no", description="Whether a pair wants matched units, or at least two of one kind"
    )
    spl_db: tuple[Positive, Positive] | None = Field(
        default=None, description="Loudest moment at the mic, dB SPL; from level and distance where blank"
    )
    spl_source: str = Field(default=PRACTICE, description="Where that range comes from: a key of the bibliography")
    pickup: Pickup | None = Field(default=None, description="For a DI or a line input")
    room: bool = Field(
        default=False,
        description="It hears the room: its level is of all that sounds there; spl_db is what a PA makes of it",
    )
    beside_house_mic: bool = Field(default=True, description="A mic of our own may stand beside that of the house")
    flip: bool = Field(default=False, description="Its polarity is expected reversed, as under a snare")
    why: str = Field(default="", description="Why there, in a few words")

    @field_validator("spl_source")
    @classmethod
    def _known_source(cls, source: str) -> str:
        return _known(source)

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        if self.stereo and (len(self.at) != 2 or self.count):
            raise ValueError("a stereo part has two places and is not counted")
        if self.aim and (len(self.aim) != len(self.at) or any(not any(one) for one in self.aim)):
            raise ValueError("aim gives one direction for each place, and none of them is 0, 0, 0")
        if self.spl_db and self.spl_db[0] > self.spl_db[1]:
            raise ValueError("the first level of the range is the lower one")
        if any(way.taking in ("di", "line") for way in self.way) and self.pickup is None:
            raise ValueError("what is taken by a DI or as a line needs a pickup: level_dbu and source_ohm")
        if any(way.score < after.score for way, after in zip(self.way, self.way[1:], strict=False)):
            raise ValueError("the ways stand in order, the highest score first")
        return self


class Recipe(Record):
    """How one kind of source becomes inputs."""

    name: Name
    family: Name = Field(description="Which recipes it stands among")
    order: Annotated[int, Field(ge=0, le=1000, description="Place in the input list: drums first, voices last")]
    says: Name = Field(description="What it gives, in one sentence")
    usual: dict[str, int] = Field(default_factory=dict, description="Counts where the show gives none: { toms = 2 }")
    sound: tuple[Sound, ...] = ()
    part: tuple[Part, ...] = Field(min_length=1)

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Its sounds and its parts."""
        return (*self.sound, *self.part)

    @property
    def uses(self) -> tuple[str, ...]:
        """The words that a source of this recipe can have, in order of appearance."""
        words = (word for piece in self.pieces for word in (piece.when, piece.unless))
        return tuple(dict.fromkeys(word for word in words if word))

    @model_validator(mode="after")
    def _names_are_known(self) -> Self:
        sounds = {sound.name for sound in self.sound}
        for part in self.part:
            missing = [name for name in part.hears if name not in sounds]
            if missing:
                raise ValueError(f"{part.part} hears {missing[0]!r}, which is no sound of this recipe")
            if not sounds and part.sound_at is None:
                raise ValueError(f"{part.part} has nothing to point at: give sound_at, or a sound")
            if part.spl_db is None and not sounds and any(way.taking == "mic" for way in part.way):
                raise ValueError(f"{part.part} has no level: give spl_db, or a sound")
        counted = [piece for piece in self.pieces if piece.count and piece.count not in self.usual]
        if counted:
            raise ValueError(f"usual gives no number of {counted[0].count}")
        names = [part.part for part in self.part]
        if len(set(names)) < len(names):
            raise ValueError("two parts have one name")
        return self


class RecipeFile(Record):
    """A file of recipes."""

    recipe: tuple[Recipe, ...] = Field(min_length=1)


@cache
def own_recipes() -> Mapping[str, Recipe]:
    """Return the recipes that come with the program, by name."""
    with as_file(files("fieldfare.plan") / "recipes") as folder:
        return read_recipes(folder)


def show_recipes(folder: Path) -> Mapping[str, Recipe]:
    """Return the recipes for a show: those of the program, and over them those in the show's folder ``recipes``."""
    theirs = folder / "recipes"
    return {**own_recipes(), **(read_recipes(theirs) if theirs.is_dir() else {})}


def read_recipes(folder: Path) -> Mapping[str, Recipe]:
    """Read every recipe file of a folder, in order of the file names.

    Parameters
    ----------
    folder
        Where the ``*.toml`` files lie.

    Raises
    ------
    BadDocuments
        Every fault of every file, at once.
    """
    found: dict[str, Recipe] = {}
    blemishes: list[Blemish] = []
    for path in sorted(folder.glob("*.toml")):
        try:
            written = read_toml(path, f"recipes/{path.name}")
        except BadDocuments as caught:
            blemishes += caught.blemishes
            continue
        document, faults = validated(written, RecipeFile)
        blemishes += faults
        for number, recipe in enumerate(document.recipe if document else ()):
            if recipe.name in found:
                says = f"there is already a recipe {recipe.name!r}"
                blemishes.append(written.blemish(("recipe", number, "name"), says, "give it another name"))
            found[recipe.name] = recipe
    if blemishes:
        raise BadDocuments(tuple(blemishes))
    return found


def _known(source: str) -> str:
    if source != PRACTICE and source not in SOURCES:
        raise ValueError(f"source {source!r} is not in the bibliography; write {PRACTICE!r} if there is none")
    return source
