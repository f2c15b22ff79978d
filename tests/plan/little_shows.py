"""Little shows of any shape for the choice: inputs, a kit, lengths and pins, drawn by a seeded generator."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from random import Random
from typing import Any

from fieldfare.plan.wanted import Accept, Wanted
from fieldfare.show.kit import Kit
from fieldfare.show.record import Fact
from fieldfare.show.show import HouseMic, Pin, Show, Source
from fieldfare.show.venue import HouseBox, Position, Room, Stage, Venue

OWNERS = ("ours", "ours", "ours", "band", "house", "hired")


@dataclass(frozen=True, slots=True)
class LittleShow:
    """Everything that a choice takes."""

    wanted: tuple[Wanted, ...]
    kit: Kit
    needed_m: dict[tuple[str, str], float]
    show: Show
    venue: Venue
    fitness: dict[tuple[str, str], int]
    joins: dict[tuple[str, str], bool]


def little_show(seed: int, inputs: int = 3, units: int = 2) -> LittleShow:
    """Draw a show of a few inputs with a kit that is short of something.

    Parameters
    ----------
    seed
        Where the draw starts: the same seed gives the same show.
    inputs
        How many inputs, more or less: a stereo pair is two.
    units
        How many units an entry of the kit has at most.
    """
    draw = Random(seed)
    wanted = _wanted(draw, inputs)
    kit = _kit(draw, units, inputs)
    tags = [tag for thing in (*kit.box, *kit.trunk, *([] if kit.trunk else kit.recorder)) for tag in thing.tags]
    ids = [one.id for one in wanted]
    needed = {
        (name, tag): draw.choice((1.0, 2.5, 3.0, 4.2, 6.0)) for name in ids for tag in tags if draw.random() < 0.9
    }
    return LittleShow(
        wanted=wanted,
        kit=kit,
        needed_m=needed,
        show=_show(draw, wanted, kit),
        venue=_venue(draw),
        fitness={(name, mic.item): draw.randint(0, 9) for name in ids for mic in kit.mic if draw.random() < 0.3},
        joins={key: draw.random() < 0.7 for key in needed},
    )


def source(name: str, **more: Any) -> Source:
    """Make a source that no recipe turns into inputs."""
    return Source.model_validate({"name": name, "recipe": "none", "at": (0.0, 2.0), **more})


def plain_show(*pins: Pin) -> Show:
    """Make a show that says nothing but its pins."""
    return Show(title="Little", date=dt.date(2026, 12, 4), venue="v", kit=("k",), pin=pins)


def plain_venue(*house: HouseBox) -> Venue:
    """Make a venue of which nothing is known but its size and the boxes of the house."""
    return Venue(
        name="Room",
        room=Room(length_m=10, width_m=10, height_m=4),
        stage=Stage(width_m=6, depth_m=4),
        recordist=Position(at=(0.0, -3.0, 0.0)),
        house_box=house,
    )


def _wanted(draw: Random, inputs: int) -> tuple[Wanted, ...]:
    found: list[Wanted] = []
    while len(found) < inputs:
        number = len(found)
        kind = draw.choice(("mic", "mic", "mic", "di", "split", "pair", "double", "line"))
        common = {
            "importance": draw.choice(("must", "want", "nice")),
            "status": draw.choice(("expected", "expected", "possible")),
        }
        if kind == "pair":
            matched = draw.choice(("must", "rather", "no"))
            name = f"i{number}"
            for side, other in ((0, 1), (1, 0)):
                found.append(
                    _one(draw, f"{name}{'lr'[side]}", "mic", common, pair=f"{name}{'lr'[other]}", matched=matched)
                )
        elif kind == "double":
            taking = draw.choice(("mic", "di"))
            found.append(_one(draw, f"i{number}", taking, common))
            found.append(_one(draw, f"i{number}b", taking, common, doubles=f"i{number}"))
        else:
            found.append(_one(draw, f"i{number}", kind, common))
    return tuple(_numbered(found))


def _numbered(found: list[Wanted]) -> list[Wanted]:
    from dataclasses import replace

    return [replace(one, order=order) for order, one in enumerate(found, start=1)]


def _one(
    draw: Random, name: str, kind: str, common: dict[str, Any], pair: str = "", matched: Any = "no", doubles: str = ""
) -> Wanted:
    accept: list[Accept] = []
    if kind == "split":
        accept.append(Accept(taking="split", score=draw.randint(3, 9)))
    if kind in ("mic", "split"):
        accept += [
            Accept(taking="mic", kinds=("small dynamic",), score=draw.randint(1, 9)),
            Accept(taking="mic", kinds=("small condenser",), score=draw.randint(1, 9)),
            Accept(taking="mic", kinds=("ribbon",), score=draw.randint(1, 9)),
        ]
    if kind in ("di", "line"):
        accept.append(Accept(taking="di", least_input_ohm=draw.choice((0, 500_000)), score=draw.randint(1, 9)))
    if kind == "line":
        accept.append(Accept(taking="line", score=draw.randint(1, 9)))
    return Wanted(
        id=name,
        label=name,
        source=source(name, status=common["status"], doubles_with=doubles),
        part="",
        importance=common["importance"],
        order=0,
        at=(0.0, 0.0, 1.0),
        aim=(0.0, 1.0, 0.0),
        sound_at=(0.0, 1.0, 1.0),
        distance_m=1.0,
        spl_db=(90.0, 110.0),
        accept=tuple(accept),
        stands=draw.choice((("tall boom", "short boom"), ("short boom",), ())),
        pair=pair,
        matched=matched,
        house_mic=HouseMic(house_box="House") if kind == "split" else None,
        signal_dbu=0.0,
        lead_end="xlr-f" if kind == "line" else "jack-ts",
        height_m=1.0,
        own_lead=draw.random() < 0.3,
    )


def _kit(draw: Random, units: int, inputs: int) -> Kit:
    def entry(letter: str, **more: Any) -> dict[str, Any]:
        number = draw.randint(1, units)
        tags = [f"{letter}-{one}" for one in range(1, number + 1)]
        faulty = {tags[-1]: "dead"} if number > 1 and draw.random() < 0.2 else {}
        back = 1 if draw.random() < 0.1 else 0
        owner = draw.choice(OWNERS)
        return {"item": f"item {letter}", "tags": tags, "owner": owner, "faulty": faulty, "keep_back": back, **more}

    mics = []
    for letter, kind, phantom in (
        ("D", "small dynamic", "ignored"),
        ("C", "small condenser", "needed"),
        ("R", "ribbon", "harmful"),
    ):
        if draw.random() < 0.8:
            mic = entry(letter, kind=kind, phantom=phantom, pattern="cardioid", sensitivity_mv_pa=2, impedance_ohm=200)
            mic["mount"] = draw.choice(("stand", "stand", "clip"))
            if len(mic["tags"]) > 1 and draw.random() < 0.6:
                mic["pairs"] = [mic["tags"][:2]]
            mics.append(mic)
    active = draw.random() < 0.5
    di = entry(
        "A", active=active, channels=draw.choice((1, 2)), isolated=True, phantom="needed" if active else "ignored"
    )
    di["input_ohm"] = draw.choice((50_000, 1_000_000))
    cables = [entry(f"L{length}", signal="mic", from_end="xlr-f", to_end="xlr-m", length_m=length) for length in (3, 5)]
    cables.append(entry("I", signal="instrument", from_end="jack-ts", to_end="jack-ts", length_m=3))
    trunk = draw.random() < 0.6
    line_inputs = draw.randint(0, 2)
    return Kit.model_validate(
        {
            "mic": mics,
            "di": [di] if draw.random() < 0.8 else [],
            "splitter": [entry("S", isolation=draw.choice(("transformer", "none")))] if draw.random() < 0.6 else [],
            "stand": [
                entry("T", kind="tall boom", lowest_m=0.5, highest_m=draw.choice((0.9, 2.0))),
                entry("U", kind="short boom", lowest_m=0.2, highest_m=1.2),
            ],
            "cable": cables,
            "box": [{"item": "box", "tags": ["B-1"], "lines": draw.randint(1, 3), "tail_m": 4}]
            if draw.random() < 0.7
            else [],
            "trunk": [{"item": "trunk", "tags": ["TR"], "lines": draw.randint(1, inputs + 1), "length_m": 20}]
            if trunk
            else [],
            "recorder": [
                {
                    "item": "recorder",
                    "tags": ["REC"],
                    "preamps": draw.randint(1, max(1, inputs)),
                    "phantom_bank": draw.choice((1, 2, 3)),
                    "line_inputs": line_inputs,
                    "max_input_dbu": 10,
                }
            ],
            "preamp": [
                {
                    "item": "outboard",
                    "tags": ["P-1"],
                    "channels": draw.choice((1, 2)),
                    "phantom": draw.choice(("by channel", "all at once", "none")),
                }
            ]
            if line_inputs and draw.random() < 0.5
            else [],
        }
    )


def _show(draw: Random, wanted: tuple[Wanted, ...], kit: Kit) -> Show:
    if draw.random() < 0.6 or not wanted:
        return plain_show()
    one = draw.choice(wanted)
    mics = [tag for mic in kit.mic for tag in mic.good_tags]
    fields: list[dict[str, Any]] = [{"keep": True}, {"keep": False}, {"channel": draw.randint(1, 3)}]
    if mics and one.accept[0].taking == "mic":
        fields += [{"use": draw.choice(mics)}, {"never": (draw.choice(mics),)}]
    return plain_show(Pin.model_validate({"input": one.id, **draw.choice(fields)}))


def _venue(draw: Random) -> Venue:
    house = HouseBox(
        name="House",
        at=(0.0, 0.0),
        lines=8,
        split_outputs=draw.choice((0, 0, 1)),
        splits_isolated=draw.choice((Fact[bool](), Fact[bool](value=True, status="expected"))),
    )
    return plain_venue(house)
