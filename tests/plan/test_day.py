"""The day of the demo show, of a show without times, and of one after midnight."""

from __future__ import annotations

import datetime as dt
from functools import cache
from importlib.resources import as_file, files

import pytest

from fieldfare.plan.day import day, odds_ready, ready_by
from fieldfare.plan.make import make_plan
from fieldfare.plan.recipes import own_recipes
from fieldfare.show.plan import Plan
from fieldfare.show.show import Set, Show, Times
from fieldfare.show.toml import ShowFolder, read_show


@cache
def _demo() -> tuple[ShowFolder, Plan]:
    with as_file(files("fieldfare.show") / "demo") as folder:
        read = read_show(folder)
    return read, make_plan(read.show, read.venue, read.kit, read.digest, own_recipes())


def _with(**more: object) -> Show:
    return _demo()[0].show.model_copy(update=more)


def test_a_task_never_begins_before_what_it_comes_after_is_done() -> None:
    for crew in (1, 2, 4):
        tasks = {task.id: task for task in day(_demo()[1], _with(crew=crew))}
        for task in tasks.values():
            for name in task.after:
                if name in tasks:
                    assert tasks[name].ends <= task.begins  # type: ignore[operator]


def test_two_are_sooner_ready_than_one_and_surer() -> None:
    alone, pair = (day(_demo()[1], _with(crew=crew)) for crew in (1, 2))
    last = [max(task.ends for task in tasks if task.id in ("test", "tidy")) for tasks in (alone, pair)]  # type: ignore[type-var]
    assert last[1] < last[0]  # type: ignore[operator]
    odds = [odds_ready(_demo()[1], _with(crew=crew)).value or 0 for crew in (1, 2)]
    assert odds[1] >= odds[0]


def test_rigging_twenty_inputs_alone_takes_about_three_hours() -> None:
    """3 to 5 minutes an input, arrive 3 h before doors for 18: common practice, no source."""
    tasks = {task.id: task for task in day(_demo()[1], _with(crew=1))}
    minutes = (max(tasks["test"].ends, tasks["tidy"].ends) - tasks["unload"].begins).total_seconds() / 60  # type: ignore[operator, type-var]
    assert 3 * 20 * 2 < minutes < 5 * 20 * 2.4
    assert minutes == pytest.approx(195, abs=45)


def test_without_a_load_in_the_day_is_reckoned_back_from_when_all_must_work() -> None:
    times = Times(soundcheck=dt.time(17), doors=dt.time(19))
    tasks, ready = day(_demo()[1], _with(times=times)), odds_ready(_demo()[1], _with(times=times))
    first = min(task.begins for task in tasks if task.begins)
    assert first < dt.datetime.combine(_demo()[0].show.date, dt.time(14, 30))
    assert (ready.value or 0) > 80


@pytest.mark.parametrize(
    ("times", "sets", "due"),
    [
        (Times(soundcheck=dt.time(17)), (), dt.time(17)),
        (Times(doors=dt.time(19)), (), dt.time(18, 30)),
        (Times(), (Set(start=dt.time(20), minutes=50),), dt.time(19, 30)),
        (Times(), (), None),
    ],
)
def test_when_everything_must_work(times: Times, sets: tuple[Set, ...], due: dt.time | None) -> None:
    found = ready_by(_with(times=times, set=sets))
    assert (found and found.time()) == due


def test_without_any_time_nothing_is_invented() -> None:
    without = _with(times=Times(), set=())
    tasks, ready = day(_demo()[1], without), odds_ready(_demo()[1], without)
    assert tasks
    assert all(task.begins is None for task in tasks)
    assert ready.value is None


def test_what_is_after_midnight_belongs_to_the_same_night() -> None:
    times = Times(load_in=dt.time(18), doors=dt.time(22), curfew=dt.time(2))
    tasks = day(_demo()[1], _with(times=times, set=(Set(start=dt.time(0, 15), minutes=60),)))
    at = {task.id: task for task in tasks}
    assert at["set-1"].begins > at["doors"].begins  # type: ignore[operator]
    assert at["stop"].begins == at["set-1"].ends


def test_the_first_copy_goes_on_by_itself_while_the_stage_is_struck() -> None:
    at = {task.id: task for task in day(_demo()[1], _with(crew=1))}
    assert at["copy"].people == 0
    assert at["copy"].begins == at["strike"].begins
