"""Counting out and back by tag, typed, ticked or read by the camera."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from fastapi import APIRouter
from fastapi.responses import HTMLResponse

from fieldfare.desk.book import Open
from fieldfare.desk.frame import Frame
from fieldfare.desk.pages.events import latest_of
from fieldfare.desk.pages.here import TheShow
from fieldfare.desk.render import html
from fieldfare.show.kit import Owner
from fieldfare.store.standing import Standing, standing

router = APIRouter(prefix="/shows/{key}")
Way = Literal["out", "back"]


@dataclass(frozen=True, slots=True)
class UnitPart:
    """One unit to count."""

    tag: str
    item: str
    owner: Owner
    state: str


@dataclass(frozen=True, slots=True)
class CountGroup:
    """Units of one bin, or of one owner on the way back."""

    name: str
    units: tuple[UnitPart, ...]


@dataclass(frozen=True, slots=True)
class CountPage:
    """Counting out or back."""

    frame: Frame
    way: Way
    groups: tuple[CountGroup, ...]
    done: int
    total: int
    latest: int


@router.get("/count")
def count(here: TheShow, way: Way = "out") -> HTMLResponse:
    """Show what is to be counted."""
    now = here.book.open()
    kept = here.book.events()
    stands = standing(one.event for one in kept)
    groups = tuple(_groups(now, stands, way))
    units = [unit for group in groups for unit in group.units]
    counted = ("packed", "back") if way == "out" else ("back",)
    return html(
        "count.html",
        CountPage(
            frame=here.frame(
                "count" if way == "out" else "count?way=back", "count out" if way == "out" else "count back", now
            ),
            way=way,
            groups=groups,
            done=sum(unit.state in counted for unit in units),
            total=len(units),
            latest=latest_of(kept),
        ),
    )


def _groups(now: Open, stands: dict[str, Standing], way: Way) -> Iterator[CountGroup]:
    """By bin on the way out; by owner on the way back, what is not ours first."""
    found: dict[str, list[UnitPart]] = {}
    for line in now.plan.pack:
        name = line.bin if way == "out" or line.owner == "ours" else f"Not ours: {line.owner}"
        for tag in line.tags:
            state = stands.get(tag, Standing()).state
            found.setdefault(name, []).append(UnitPart(tag, line.item, line.owner, state))
    for name in sorted(found, key=lambda one: not one.startswith("Not ours")):
        yield CountGroup(name[:1].upper() + name[1:], tuple(found[name]))
