"""The day: one column of clock times from load-in to load-out, with what is late as soon as a task is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldfare.sheets.figures import FigureRow, figure_row
from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.wording import reading, ready_words
from fieldfare.show.plan import Task
from fieldfare.units.text import figure


@dataclass(frozen=True, slots=True)
class TaskRow:
    """One line of the day."""

    begins: str
    ends: str
    name: str
    minutes: str
    people: str
    spare: str
    critical: bool
    by_clock: bool  # the clock alone decides, nobody of ours does it


@dataclass(frozen=True, slots=True)
class DaySheet:
    """Everything on the run sheet."""

    head: Head
    summary: str
    ready: FigureRow | None
    ready_words: str
    rows: tuple[TaskRow, ...]
    key: str


def day_sheet(setting: Setting) -> DaySheet:
    """Make the data of the day's run sheet."""
    plan, crew = setting.plan, setting.show.crew
    hands = f"{crew} of us" if crew > 1 else "one of us"
    return DaySheet(
        head=setting.head("day"),
        summary=f"{len(plan.day)} lines for {hands}; clock times of {setting.venue.zone}" if plan.day else "No day yet",
        ready=figure_row("Odds of being ready in time", plan.ready) if plan.ready else None,
        ready_words=ready_words(plan.ready) if plan.ready and plan.ready.value is not None else "",
        rows=tuple(_rows(plan.day, crew)),
        key="≈ estimate. Late by more than its spare time, a task makes the end late; with none, at once.",
    )


def _rows(tasks: tuple[Task, ...], crew: int) -> Iterator[TaskRow]:
    for task in tasks:
        by_clock = task.people == 0
        begins = f"{task.begins:%H:%M}" if task.begins else "ask"
        ends = f"{task.ends:%H:%M}" if task.ends and task.ends != task.begins else ""
        yield TaskRow(
            begins=begins,
            ends=ends,
            name=task.name,
            minutes=reading(task.minutes) if task.minutes.value else "",
            people=_people(task.people, crew),
            spare="" if by_clock else "none" if task.critical else figure(task.slack_min),
            critical=task.critical and not by_clock,
            by_clock=by_clock,
        )


def _people(wanted: int, crew: int) -> str:
    """How many do it, and of how many that it would take where there are fewer."""
    return "" if not wanted else str(wanted) if wanted <= crew else f"{crew} of {wanted}"
