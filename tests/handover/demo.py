"""The demo's show with its plan, made once."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Plan
from fieldfare.show.show import Show
from fieldfare.show.toml import read_show
from fieldfare.show.venue import Venue

FOLDER = Path(__file__).parents[2] / "src/fieldfare/show/demo"


@cache
def demo() -> tuple[Plan, Show, Venue, Kit]:
    """Return the plan and the documents that it was made from."""
    read = read_show(FOLDER)
    return make_plan(read.show, read.venue, read.kit, read.digest, own_recipes()), read.show, read.venue, read.kit
