"""Cases as data: a small plan on which every check is silent, and the one thing that each case changes in it."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Mapping
from itertools import pairwise
from math import dist
from pathlib import Path
from typing import Any

from fieldfare.plan.changeovers import changeovers
from fieldfare.plan.checks.context import Context, context
from fieldfare.plan.runs import Path as Way
from fieldfare.plan.runs import needed_length
from fieldfare.plan.wanted import Accept, Wanted
from fieldfare.show.kit import Cable, Kit, Mic, spread_tags
from fieldfare.show.plan import CableUse, LeftOut, PackLine, PlacedBox, PlannedInput, Run, UnitUse
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.units.working import Working

FOLDER = Path(__file__).parent
BASE = tomllib.loads((FOLDER / "base.toml").read_text("utf-8"))
CASES = [
    {**case, "file": file.stem}
    for file in sorted((FOLDER / "cases").glob("*.toml"))
    for case in tomllib.loads(file.read_text("utf-8"))["case"]
]
NAMES = ("id", "name", "tag", "item", "box", "input", "label")


def changed(changes: Mapping[str, Any]) -> Context:
    """Make the base plan with some values changed, each by its path: "kit.mic.M-1.phantom"."""
    data: dict[str, Any] = copy.deepcopy(BASE)
    for path, value in changes.items():
        *way, last = path.split(".")
        here: Any = data
        for step in way:
            here = here.setdefault(step, {}) if isinstance(here, dict) else _named(here, step)
        if value == "none" and last not in ("gain", "spill", "level"):
            here.pop(last, None)
        else:
            here[last] = value
    return _context(data)


def _named(entries: list[dict[str, Any]], name: str) -> dict[str, Any]:
    for entry in entries:
        if name in [entry.get(key) for key in NAMES] or name in _tags(entry):
            return entry
    raise KeyError(f"nothing is called {name} among {entries}")


def _tags(entry: dict[str, Any]) -> list[str]:
    written: Any = spread_tags(entry.get("tags", ()))
    return list(written)


def _context(data: dict[str, Any]) -> Context:
    show, venue, kit = Show.model_validate(data["show"]), Venue.model_validate(data["venue"]), Kit(**data["kit"])
    boxes = tuple(PlacedBox.model_validate(box) for box in data["box"])
    sources = {source.name: source for source in show.sources}
    wanted = tuple(_wanted(row, sources) for row in data["input"])
    inputs = tuple(_row(row, kit, boxes) for row in data["input"])
    trunk = Run(points=((-3, 0), (-5, 1)), floor_m=4, needed=_figure(5.0, "m"), laid_m=20, crosses=())
    tags = [tag for thing in kit.things for tag in thing.tags]
    pack = [PackLine(bin="box", item="all", tags=tuple(tags), owner="ours", why="all")]
    guests = tuple(_row(row, kit, boxes) for row in data.get("guest", ()))
    left_out = tuple(LeftOut.model_validate(one) for one in data.get("left_out", ()))
    return context(
        show,
        venue,
        kit,
        wanted,
        inputs=inputs,
        guests=guests,
        changeovers=changeovers(inputs, guests, left_out, show, kit),
        left_out=left_out,
        boxes=boxes,
        trunk_run=trunk.model_copy(update=data.get("trunk_run", {})),
        pack=tuple(pack if data.get("packed", True) else ()),
    )


def _wanted(row: dict[str, Any], sources: Mapping[str, Any]) -> Wanted:
    said = {"distance_m": 0.0, "accept": [{"taking": row["taking"]}], **row.get("wanted", {})}
    accept = tuple(Accept(**way) for way in said.pop("accept"))
    source = sources[row["source"]]
    at = tuple(row["at"])
    base = Wanted(
        id=row["id"], label=row["label"], source=source, part=row.get("part", ""), importance="must", order=1, at=at,
        aim=(0.0, 1.0, 0.0), sound_at=tuple(said.pop("sound_at", at)), distance_m=said.pop("distance_m"),
        spl_db=(100, 110), accept=accept, pair=row.get("pair", ""), house_mic=source.house_mic,
    )  # fmt: skip
    for field, value in said.items():
        object.__setattr__(base, field, tuple(value) if isinstance(value, list) else value)
    return base


def _row(row: dict[str, Any], kit: Kit, boxes: tuple[PlacedBox, ...]) -> PlannedInput:
    things = {tag: thing for thing in kit.things for tag in thing.tags}

    def unit(tag: str) -> UnitUse:
        return UnitUse(tag=tag, item=things[tag].item if tag in things else "unknown")

    def cable(tag: str) -> CableUse:
        thing = things[tag]
        assert isinstance(thing, Cable)
        return CableUse(tag=tag, item=thing.item, length_m=thing.length_m, colour=thing.colour)

    mic = things.get(row.get("unit", ""))
    need = getattr(mic, "phantom", row.get("phantom_need", "ignored"))
    cables = tuple(cable(tag) for tag in row["cable"])
    channel = row["channel"]
    return PlannedInput(
        id=row["id"], number=row.get("number", channel), label=row["label"], source=row["source"],
        recipe=row.get("recipe", row["source"].lower()), part=row.get("part", row["id"]), importance="must",
        status="confirmed", taking=row["taking"], unit=unit(row["unit"]) if row.get("unit") else None,
        di_channel=row.get("di_channel"), pattern=mic.pattern if isinstance(mic, Mic) else row.get("pattern"),
        phantom_need=need, at=row["at"], aim=row.get("aim", (0, 1, 0)),
        stand=unit(row["stand"]) if row.get("stand") else None,
        splitter=unit(row["splitter"]) if row.get("splitter") else None, house_split=row.get("house_split", ""),
        lead=tuple(cable(tag) for tag in row.get("lead", ())), cable=cables, run=_run(row, cables, boxes),
        box=row["box"], socket=row.get("socket", channel), trunk_line=row.get("trunk_line", channel),
        preamp=row.get("preamp", "R"),
        preamp_channel=0 if row.get("line_input") else row.get("preamp_channel", channel),
        channel=channel, phantom=row.get("phantom", False), phantom_owner=row.get("phantom_owner", ""),
        pad_db=row.get("pad_db", 0), pair=row.get("pair", ""), clips_first=row.get("clips_first", "converter"),
        spl=_figure(row.get("spl", 105.0), "dB SPL", 5.0), level=_figure(row.get("level", -30.0), "dBu"),
        gain=_figure(row.get("gain", 36.0), "dB"), reserve=_figure(row.get("reserve", 12.0), "dB"),
        noise=_figure(row.get("noise", -90.0), "dBFS(A)"), spill=_figure(row.get("spill", 6.0), "dB"),
        reason="it suits", thread=(),
    )  # fmt: skip


def _run(row: dict[str, Any], cables: tuple[CableUse, ...], boxes: tuple[PlacedBox, ...]) -> Run:
    box = next((one.at for one in boxes if one.tag == row["box"]), (0.0, 0.0))
    points = row.get("points", (tuple(row["at"][:2]), box))
    floor_m = sum(dist(a, b) for a, b in pairwise(points))
    needed = needed_length(Way(tuple(points), floor_m, 0.0, 0.0), 0.0, coil_m=1.0)
    laid_m = row.get("laid_m", sum(cable.length_m for cable in cables))
    return Run(points=points, floor_m=floor_m, needed=needed, laid_m=laid_m, crosses=row.get("crosses", ()))


def _figure(value: object, unit: str, plus_minus: float | None = None) -> Working:
    number = None if value == "none" else float(str(value))
    return Working(value=number, unit=unit, formula="given", source="definition", plus_minus=plus_minus)
