"""What was drawn: every input with what it hears and where, as the recorded tracks are later compared with it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Literal, Protocol

from pydantic import Field

from fieldfare.show.inputs_csv import InputList
from fieldfare.show.kit import Pattern
from fieldfare.show.plan import Plan, PlannedInput, Taking
from fieldfare.show.record import Name, Place3, Record

Role = Literal["close", "voice", "overhead", "room", "mix", "talk"]


class DrawnInput(Record):
    """One input as it was drawn."""

    id: Name
    label: Name
    number: int = Field(ge=1, description="Number of its track")
    channel: int = Field(ge=1, description="Recorder channel")
    source: str = Field(default="", description="What it is meant for; inputs of one source share its name")
    part: str = Field(default="", description="Which part of the source")
    recipe: str = Field(default="", description="What sort of source it is, in the words of its recipe")
    role: Role = Field(default="close", description="What it is there for")
    taking: Taking = "mic"
    at: Place3 | None = Field(default=None, description="Where the mic is; none where nobody said")
    aim: Place3 | None = Field(default=None, description="Unit vector along its axis")
    pattern: Pattern | None = None
    flip: bool = Field(default=False, description="Polarity is expected to be reversed, as under a snare")
    pair: str = Field(default="", description="Id of the other side of a stereo pair")
    sound_at: tuple[Place3, ...] = Field(default=(), description="Where the sounds are that it is meant for")

    @property
    def in_air(self) -> bool:
        """Whether it hears air, and so the other sources too."""
        return self.taking in ("mic", "split") and self.role not in ("mix", "talk")


class Drawing(Record):
    """All inputs of a show, and the air between them."""

    input: tuple[DrawnInput, ...]
    temperature_c: float | None = Field(default=None, description="Of the room, where somebody said")


class Sounds(Protocol):
    """What the plan says about one thing that sounds; the plan's own record fits."""

    @property
    def source(self) -> str:
        """Name of the show's source."""

    @property
    def part(self) -> str:
        """Part of the recipe: "kick", "bell"."""

    @property
    def at(self) -> Place3:
        """Where it is. [m]"""


def drawn_list(inputs: InputList) -> tuple[DrawnInput, ...]:
    """Take what is known of a recording without a plan for its drawing: what is on which track, and where."""
    return tuple(
        DrawnInput(
            id=one.id,
            label=one.label,
            number=one.number,
            channel=one.channel,
            source=one.source,
            role=role_of(one.source, one.title),
            taking="di" if one.kind == "di" else "line" if one.kind == "line" else "mic",
            at=one.at,
            pattern=one.pattern,
            flip=bool(one.flip),
        )
        for one in inputs.input
    )


_ROLES: tuple[tuple[Role, str], ...] = (  # the first row that has a word of the input's wins
    ("talk", "talkback slate comms"),
    ("mix", "mix mixes mixer desk board lr"),
    ("room", "room rooms ambience ambient audience aud crowd hall"),
    ("overhead", "overhead overheads oh"),
    ("voice", "vocal vocals vox voice voices singer lv bv bv1 bv2 bv3 caller speech headset"),
)


def role_of(*texts: str) -> Role:
    """Tell from words what an input is there for.

    >>> role_of("Room left"), role_of("OH L"), role_of("Snare top")
    ('room', 'overhead', 'close')
    """
    words = set(re.findall(r"[a-z]+\d*", " ".join(texts).casefold()))
    return next((role for role, known in _ROLES if words & set(known.split())), "close")


def drawing_of(plan: Plan, sounds: Iterable[Sounds] = (), temperature_c: float | None = None) -> Drawing:
    """Take the drawing out of a plan.

    Parameters
    ----------
    plan
        The plan.
    sounds
        What sounds on the stage, as the plan's own list has it.
    temperature_c
        Of the room, where somebody said. [°C]
    """
    there = tuple(sounds)
    return Drawing(input=tuple(_drawn(row, plan, there) for row in plan.input), temperature_c=temperature_c)


def _drawn(row: PlannedInput, plan: Plan, sounds: Sequence[Sounds]) -> DrawnInput:
    in_air = row.taking in ("mic", "split")
    guests = [one.source for one in plan.left_out if one.id in row.shared_by]
    own = [place for source in (row.source, *guests) for place in _own(row, source, sounds)]
    return DrawnInput(
        id=row.id,
        label=row.label,
        number=row.number,
        channel=row.channel,
        source=row.source,
        part=row.part,
        recipe=row.recipe,
        role=role_of(row.recipe, row.part),
        taking=row.taking,
        at=row.at,
        aim=row.aim if in_air else None,
        pattern=row.pattern,
        flip=row.flip,
        pair=row.pair,
        sound_at=tuple(own),
    )


def _own(row: PlannedInput, source: str, sounds: Sequence[Sounds]) -> list[Place3]:
    """Where the sounds of a source are that an input is meant for: those its part names, or else all."""
    mine = [one for one in sounds if one.source == source]
    if row.taking in ("di", "line"):  # a pickup is on the instrument, not on its amplifier
        mine = [one for one in mine if one.part != "amplifier"] or mine
    exact = [one for one in mine if one.part == row.part]
    named = [one for one in mine if one.part and one.part in row.part]
    return [one.at for one in exact or named or mine]
