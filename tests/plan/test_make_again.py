"""A plan that is made again after something was moved is the plan that is made from nothing."""

from __future__ import annotations

import sys
from importlib.resources import as_file, files

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import show_recipes
from fieldfare.show.plan import Plan
from fieldfare.show.show import Show
from fieldfare.show.toml import ShowFolder, read_show


def _demo() -> ShowFolder:
    with as_file(files("fieldfare.show") / "demo") as demo:
        return read_show(demo)


READ = _demo()
RECIPES = show_recipes(READ.folder)
STEP = st.integers(-10, 10).map(lambda tenths: tenths / 10)
MOVES = st.lists(
    st.tuples(st.sampled_from([one.name for one in READ.show.sources]), STEP, STEP), min_size=1, max_size=2
)


def _plan(show: Show) -> Plan:
    return make_plan(show, READ.venue, READ.kit, "", RECIPES, explain=False)


def _moved(show: Show, name: str, across_m: float, upstage_m: float) -> Show:
    acts = [
        act.model_copy(
            update={
                "source": tuple(
                    one.model_copy(update={"at": (one.at[0] + across_m, one.at[1] + upstage_m)})
                    if one.name == name
                    else one
                    for one in act.source
                )
            }
        )
        for act in show.act
    ]
    return show.model_copy(update={"act": tuple(acts)})


def _forget() -> int:
    """Let every function of the plan forget what it remembers; say how many there are."""
    found = {
        id(thing): thing
        for name, module in sys.modules.items()
        if name.startswith("fieldfare.plan")
        for thing in vars(module).values()
        if hasattr(thing, "cache_clear")
    }
    for thing in found.values():
        thing.cache_clear()
    return len(found)


@settings(max_examples=4, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(MOVES)
def test_a_plan_made_again_after_some_drops_is_the_one_made_from_nothing(moves: list[tuple[str, float, float]]) -> None:
    show = READ.show
    _plan(show)
    for move in moves:
        show = _moved(show, *move)
        again = _plan(show)
    assert _forget() >= 8
    assert again.model_dump_json() == _plan(show).model_dump_json()
