"""The day: what is to be done, by whom, when, what makes it late, and how likely it is to be ready.

Minutes a task: 3 to 5 an input to rig and 2 to 2.5 to strike, 6 to 10 s a line when all is well and 20 to 30 s with
notes, half an hour held back for faults: common practice, no source.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from fieldfare.plan.schedule import Job, Span, critical_path, simulated_ends, stretched, with_hands
from fieldfare.show.plan import Plan, Task
from fieldfare.show.show import Show
from fieldfare.units.sources import PRACTICE
from fieldfare.units.working import Given, Working

HELD_BACK_MIN = 30
STAND = Span(1, 1.5, 3)  # a stand with its mic
LOOSE = Span(0.7, 1, 2)  # a clip, a DI, or a mic without a stand
LABEL = Span(0.2, 0.3, 0.5)  # a label, or a plug from one socket into another
LINE = Span(0.17, 0.4, 1)  # one line, checked from the source on
BEFORE_DOORS_MIN = 30  # ready by then where there is no soundcheck
PLAYED_DAYS = 400


@dataclass(frozen=True, slots=True)
class Chore:
    """A job with its words."""

    job: Job
    name: str
    count: int = 1
    each: Span | None = None


def day(plan: Plan, show: Show) -> tuple[Task, ...]:
    """Lay out the day from load-in to leaving.

    Parameters
    ----------
    plan
        What is to be rigged.
    show
        Its times, sets and crew.

    Returns
    -------
    The tasks in the order of their beginning, without clock times where the show gives none to reckon from.
    """
    rig, strike = tuple(_rig_chores(plan)), tuple(_strike_chores(plan))
    tasks = [*_tasks(rig, show, _start(show, rig)), *_fixed(show), *_between(plan, show), *_after(strike, show)]
    return tuple(sorted(tasks, key=lambda task: (task.begins is None, task.begins or dt.datetime.min)))


def odds_ready(plan: Plan, show: Show) -> Working:
    """Tell the odds that all before the soundcheck, or before doors, is done in time, by playing many days. [%]

    Parameters
    ----------
    plan
        What is to be rigged.
    show
        Its times and crew.
    """
    rig = tuple(_rig_chores(plan))
    return _odds(rig, show, _start(show, rig), ready_by(show))


def _rig_chores(plan: Plan) -> Iterator[Chore]:
    """Everything that is done before the first check of a line, and that check."""
    inputs = plan.input
    stands = sum(one.stand is not None for one in inputs)
    loose = sum(one.stand is None and one.taking in ("mic", "di") for one in inputs)
    splits = sum(one.taking == "split" for one in inputs)
    runs, bins = sum(len(one.cable) for one in inputs), len(plan.bin)
    machines = {one.preamp for one in inputs}
    boxes = sum(box.tag not in machines for box in plan.box)
    yield _chore("unload", "Unload and bring in", Span(1, 2, 3.5), bins, people=2)
    yield _chore("look", "Go round with the house: power, fire routes, where boxes stand", Span(5, 10, 15))
    yield _chore(
        "power", "Power to the recorder; press the test button first", Span(5, 8, 15), after=("unload", "look")
    )
    yield _chore("recorder", "Set up the recorder and name the tracks", Span(10, 15, 25), after=("power",))
    yield _chore("trunk", "Lay the trunk", Span(5, 8, 15), int(plan.trunk_run is not None), after=("unload", "look"))
    yield _chore("boxes", "Put down the boxes", Span(1.5, 2, 4), boxes, after=("trunk",))
    yield _chore("stands", "Stands and mics", STAND, stands, after=("unload",))
    yield _chore("loose", "Clips, DIs and mics without a stand", LOOSE, loose, after=("unload",))
    yield _chore("splits", "Splits at the house's box", Span(2, 3, 6), splits, after=("boxes",))
    yield _chore("cables", "Lead the cables, box end first", Span(1, 1.5, 3), runs, after=("boxes", "stands", "loose"))
    yield _chore("tape", "Label lines and channels", LABEL, len(inputs), after=("boxes",))
    wired = ("cables", "splits", "tape", "recorder")
    yield _chore("lines", "Line check, source by source", LINE, len(inputs), after=wired, people=2)
    yield _chore("test", "Record a test and listen to it away from the stage", Span(5, 8, 12), after=("lines",))
    yield _chore("tidy", "Tape edges and joins, clear every way out", Span(0.4, 0.7, 1.2), runs, after=("lines",))


def _strike_chores(plan: Plan) -> Iterator[Chore]:
    """Everything that is done once the recorder has stopped."""
    copying = min((one.value for one in plan.media.copying if one.value), default=0.0)
    inputs, bins = len(plan.input), len(plan.bin)
    yield _chore("stop", "Wait, stop the recorder, close the files, then power", Span(2, 3, 5))
    if copying:
        span = Span(copying * 0.9, copying, copying * 1.5)
        yield _chore("copy", "First copy and its read-back", span, after=("stop",), people=0)
    yield _chore(
        "strike", "Strike: nothing is unplugged before the house says so", Span(2, 2.2, 2.5), inputs, after=("stop",)
    )
    yield _chore("count", "Count back by owner", Span(5, 10, 15), after=("strike",))
    done = ("count", "copy") if copying else ("count",)
    yield _chore("load", "Load, last in first out", Span(1, 2, 3.5), bins, after=done, people=2)


def _chore(name: str, words: str, each: Span, count: int = 1, *, after: tuple[str, ...] = (), people: int = 1) -> Chore:
    return Chore(Job(name, each * count, after, people), words, count, each)


def ready_by(show: Show) -> dt.datetime | None:
    """When everything must work: the soundcheck, or half an hour before doors, or before the first set."""
    if show.times.soundcheck:
        return dt.datetime.combine(show.date, show.times.soundcheck)
    first = show.times.doors or (show.set[0].start if show.set else None)
    if first is None:
        return None
    return dt.datetime.combine(show.date, first) - dt.timedelta(minutes=BEFORE_DOORS_MIN)


def _start(show: Show, rig: tuple[Chore, ...]) -> dt.datetime | None:
    """When rigging begins: at load-in, or so that there is time, and a reserve, before everything must work."""
    if show.times.load_in:
        return dt.datetime.combine(show.date, show.times.load_in)
    begins, takes = _scheduled(rig, show.crew)
    length = max((begins[name] + takes[name] for name in begins), default=0.0)
    due = ready_by(show)
    return due and due - dt.timedelta(minutes=round(length + HELD_BACK_MIN))


def _scheduled(chores: tuple[Chore, ...], crew: int) -> tuple[dict[str, float], dict[str, float]]:
    jobs = [chore.job for chore in chores]
    return with_hands(jobs, crew), stretched(jobs, crew)


def _tasks(chores: tuple[Chore, ...], show: Show, start: dt.datetime | None) -> Iterator[Task]:
    begins, takes = _scheduled(chores, show.crew)
    slots = critical_path([chore.job for chore in chores], takes)
    end = max((begins[name] + takes[name] for name in begins), default=0.0)
    for chore in chores:
        name = chore.job.id
        if not takes[name]:
            continue
        late_min = end - begins[name] - takes[name]
        yield Task(
            id=name,
            name=chore.name,
            begins=_clock(start, begins[name]),
            ends=_clock(start, begins[name] + takes[name]),
            minutes=_minutes(chore, takes[name]),
            people=chore.job.people,
            after=chore.job.after,
            slack_min=max(0.0, round(min(slots[name].slack, late_min), 1)),
            critical=slots[name].critical,
        )


def _clock(start: dt.datetime | None, minutes: float) -> dt.datetime | None:
    return None if start is None else start + dt.timedelta(minutes=round(minutes))


def _minutes(chore: Chore, takes: float) -> Working:
    each = chore.each or chore.job.span
    given = [
        Given(name="how many", value=chore.count),
        Given(name="least", value=each.least, unit="min"),
        Given(name="likely", value=each.likely, unit="min"),
        Given(name="most", value=each.most, unit="min"),
    ]
    slower = takes / chore.job.span.mean if chore.job.span.mean else 1.0
    if slower > 1:
        given.append(Given(name="for want of hands", value=round(slower, 2), unit="times"))
    return Working(
        value=round(takes, 1), unit="min", formula="how many · (least + 4 · likely + most) / 6", given=tuple(given),
        source=PRACTICE, sure="estimate", plus_minus=round(slower * chore.job.span.variance**0.5, 1),
    )  # fmt: skip


def _fixed(show: Show) -> Iterator[Task]:
    """What the clock alone decides."""
    if show.times.soundcheck:
        yield _moment(show, "soundcheck", "Soundcheck: set gains with the reserve", show.times.soundcheck)
    if show.times.doors:
        yield _moment(show, "doors", "Doors: roll, and stop for nothing", show.times.doors)
    for number, one in enumerate(show.set, 1):
        yield _moment(show, f"set-{number}", f"Set {number}", one.start, one.minutes)
    if show.times.curfew:
        yield _moment(show, "curfew", "Curfew", show.times.curfew)


def _between(plan: Plan, show: Show) -> Iterator[Task]:
    for number, one in enumerate(plan.changeover, 1):
        takes = one.takes.value or 0.0
        yield Task(
            id=f"changeover-{number}", name=f"Changeover to {one.after}: the recorder rolls on", begins=one.begins,
            ends=one.begins + dt.timedelta(minutes=round(takes)), minutes=one.takes, people=show.crew, after=(),
            slack_min=max(0.0, round(one.there_is_min - takes, 1)), critical=one.enough != "yes",
        )  # fmt: skip


def _moment(show: Show, name: str, words: str, at: dt.time, minutes: float = 0.0) -> Task:
    begins = on_the_day(show, at)
    takes = Working(value=minutes, unit="min", formula="as the show says", source="definition")
    return Task(
        id=name, name=words, begins=begins, ends=begins + dt.timedelta(minutes=minutes), minutes=takes, people=0,
        after=(), slack_min=0.0, critical=True,
    )  # fmt: skip


def on_the_day(show: Show, at: dt.time) -> dt.datetime:
    """The moment of a clock time of the show; what is earlier than load-in or doors is after midnight."""
    moment = dt.datetime.combine(show.date, at)
    first = show.times.load_in or show.times.soundcheck or show.times.doors
    return moment + dt.timedelta(days=1) if first and at < first else moment


def _after(chores: tuple[Chore, ...], show: Show) -> Iterator[Task]:
    ends = [on_the_day(show, one.start) + dt.timedelta(minutes=one.minutes) for one in show.set]
    stop = max(ends, default=on_the_day(show, show.times.curfew) if show.times.curfew else None)
    yield from _tasks(chores, show, stop)


def _odds(rig: tuple[Chore, ...], show: Show, start: dt.datetime | None, due: dt.datetime | None) -> Working:
    formula = "share of days, played with durations drawn from PERT's beta law, on which all is done in time"
    if start is None or due is None:
        return Working(value=None, unit="%", formula=formula, source="PERTSolved", sure="guess")
    there_is = (due - start).total_seconds() / 60
    ends = simulated_ends([chore.job for chore in rig], show.crew, PLAYED_DAYS)
    nine_in_ten = due - dt.timedelta(minutes=float(sorted(ends)[len(ends) * 9 // 10]))
    given = (
        Given(name="begin", value=f"{start:%H:%M}"),
        Given(name="ready by", value=f"{due:%H:%M}"),
        Given(name="time there is", value=there_is, unit="min"),
        Given(name="time it takes, half of the days", value=round(float(sorted(ends)[len(ends) // 2])), unit="min"),
        Given(name="to be ready nine days in ten, begin", value=f"{nine_in_ten:%H:%M}"),
        Given(name="crew", value=show.crew),
        Given(name="days played", value=PLAYED_DAYS),
    )
    return Working(
        value=round(100 * float((ends <= there_is).mean())), unit="%", formula=formula, given=given,
        source="PERTSolved", sure="estimate",
    )  # fmt: skip
