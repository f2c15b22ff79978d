"""A show begins with nobody in it and nothing to record with: the plan of that is a plan too."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest

from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.kit import Kit
from fieldfare.show.show import Show
from fieldfare.show.toml import read_show

READ = read_show(Path(str(files("fieldfare.show") / "demo")))
NOBODY = READ.show.model_copy(update={"act": ()})


@pytest.mark.parametrize("kit", [READ.kit, Kit()], ids=["a kit", "no kit"])
@pytest.mark.parametrize("show", [READ.show, NOBODY], ids=["a band", "nobody"])
@pytest.mark.parametrize("explain", [True, False])
def test_what_is_there_is_planned_and_what_is_not_is_left_out(show: Show, kit: Kit, explain: bool) -> None:
    plan = make_plan(show, READ.venue, kit, "", own_recipes(), explain=explain)
    assert len(plan.input) + len(plan.left_out) == plan.wanted
    assert bool(plan.input) == bool(show.act and kit.mic)
    assert (plan.media.rate.value == 0) == (not plan.input)
