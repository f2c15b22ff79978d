"""Charges counted from the demo's show: what is known is counted, and what is not is open and in no sum."""

from __future__ import annotations

from decimal import Decimal

import pytest
from handover.demo import demo
from handover.money_kit import business, charge, money

from fieldfare.handover.charges import Charged, charged
from fieldfare.plan.make import make_plan
from fieldfare.show.money import Charge, Money


def _charged(*charges: Charge, said: Money | None = None) -> Charged:
    plan, show, _, _ = demo()
    return charged(plan, show, said or money(), business(charge=charges))


def test_time_on_site_is_that_of_the_plan_from_the_first_task_to_the_last() -> None:
    plan, _, _, _ = demo()
    ours = [task for task in plan.day if task.people and task.begins and task.ends]
    first, last = min(t.begins for t in ours if t.begins), max(t.ends for t in ours if t.ends)
    (line,) = _charged(charge("day", "time on site", unit="hour")).line
    assert float(line.count) == pytest.approx((last - first).total_seconds() / 3600, abs=1e-4)
    assert line.basis.startswith(f"{first:%H:%M} to {last:%H:%M}")


def test_a_day_and_its_overtime_are_the_whole_time() -> None:
    whole = _charged(charge("all", "time on site")).line[0].count
    parts = _charged(charge("day", "time on site", up_to=6), charge("late", "time on site", above=6)).line
    assert sum(line.count for line in parts) == whole
    assert parts[0].count == 6


def test_a_crew_of_three_is_three_times_the_hours_but_for_what_is_charged_once() -> None:
    plan, show, _, _ = demo()
    three = show.model_copy(update={"crew": 3})
    own = business(charge=(charge("all", "time on site"), charge("van", "time on site", each_person=False)))
    all_, van = charged(plan, three, money(), own).line
    assert all_.count == 3 * van.count
    assert "3 people" in all_.basis


def test_songs_and_copies_are_counted() -> None:
    plan, show, _, _ = demo()
    assert plan.media.whole.value is not None
    mixing, media = _charged(charge("mixing", "mixing"), charge("discs", "media", unit="GB")).line
    assert mixing.count == sum(len(one.songs) for one in show.set) == 14
    assert float(media.count) == pytest.approx(plan.media.whole.value * show.recording.copies, abs=0.1)


def test_what_nobody_said_is_open_and_in_no_sum() -> None:
    plan, show, _, _ = demo()
    own = business(charge=(charge("travel", "travel", unit="km"), charge("mixing", "mixing")))
    found = charged(plan, show.model_copy(update={"set": ()}), money(), own)
    assert found.line == ()
    assert found.open == (
        "For travel: how far it is, there and back: travel = … in money.toml, in km",
        "For mixing: the set list is not known",
    )


def test_a_day_without_times_has_no_hours() -> None:
    _, show, venue, kit = demo()
    from fieldfare.show.show import Times

    bare = show.model_copy(update={"times": Times(), "set": ()})
    from fieldfare.plan.recipes import own_recipes

    plan = make_plan(bare, venue, kit, "0" * 64, own_recipes())
    found = charged(plan, bare, money(), business(charge=(charge("day", "time on site"),)))
    assert found == Charged((), ("For day: the times of the day are not known",))


def test_hired_units_of_the_plan_are_counted_and_one_without_a_charge_is_open() -> None:
    plan, show, _, _ = demo()
    line = plan.pack[0].model_copy(update={"owner": "hired", "item": "tall stand", "tags": ("H-1", "H-2", "H-3")})
    hired = plan.model_copy(update={"pack": (*plan.pack, line)})
    (found,) = charged(hired, show, money(), business(charge=(charge("stand", "hire", item="tall stand"),))).line
    assert (found.count, found.basis) == (Decimal(3), "H-1, H-2, H-3")
    assert charged(hired, show, money(), business()).open == ("Hire of tall stand: there is no charge for it",)


def test_what_is_said_by_hand_counts_for_more_and_none_leaves_it_out() -> None:
    said = money(
        counted=({"charge": "mixing", "count": 6, "text": "Six songs"},),
        extra=({"text": "Ferry", "price": "-2.5", "tax": "none"},),
    )
    mixed, ferry = _charged(charge("mixing", "mixing"), said=said).line
    assert (mixed.count, mixed.text, mixed.net) == (Decimal(6), "Six songs", Decimal("60.00"))
    assert ferry.net == Decimal("-2.50")
    assert _charged(charge("mixing", "mixing"), said=money(counted=({"charge": "mixing", "count": 0},))).line == ()
