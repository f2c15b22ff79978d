"""Planning mathematics: critical path, three-point estimates, and a schedule for as many hands as there are.

Conventions: minutes. A task may begin when all that it comes after are done. Times run from 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

import numpy as np
from numpy.typing import NDArray

from fieldfare.units.faults import OutOfRange

TOUCH_MIN = 1e-9


@dataclass(frozen=True, slots=True)
class Span:
    """How long a task takes: when all goes well, most likely, and when much goes wrong. [min]"""

    least: float
    likely: float
    most: float

    def __post_init__(self) -> None:
        if not 0 <= self.least <= self.likely <= self.most:
            what = f"{self.least}, {self.likely}, {self.most} min are not in order"
            raise OutOfRange(what, "task", "give least, likely and most minutes")

    @property
    def mean(self) -> float:
        """(least + 4 · likely + most) / 6, the PERT mean. [min]"""
        return (self.least + 4 * self.likely + self.most) / 6

    @property
    def variance(self) -> float:
        """((most − least) / 6)², the PERT variance. [min²]"""
        return ((self.most - self.least) / 6) ** 2

    def __add__(self, other: Span) -> Span:
        return Span(self.least + other.least, self.likely + other.likely, self.most + other.most)

    def __mul__(self, count: float) -> Span:
        return Span(self.least * count, self.likely * count, self.most * count)


@dataclass(frozen=True, slots=True)
class Job:
    """One task of a network."""

    id: str
    span: Span
    after: tuple[str, ...] = ()
    people: int = 1  # 0 where it goes on by itself


@dataclass(frozen=True, slots=True)
class Slot:
    """When a task can and must happen. [min]"""

    earliest: float
    latest: float
    minutes: float

    @property
    def slack(self) -> float:
        """How long it may be late before the end is. [min]"""
        return self.latest - self.earliest

    @property
    def critical(self) -> bool:
        """Whether the end is late as soon as it is."""
        return self.slack < 1e-6


def in_order(jobs: Iterable[Job]) -> tuple[Job, ...]:
    """Put tasks so that each stands behind all that it comes after; otherwise in the order given.

    Raises
    ------
    OutOfRange
        Two tasks have one id, one comes after a task that is not there, or tasks wait for one another.
    """
    listed = tuple(jobs)
    by_id = {job.id: job for job in listed}
    if len(by_id) < len(listed):
        twice = next(job.id for job in listed if [one.id for one in listed].count(job.id) > 1)
        raise OutOfRange("two tasks have this id", twice, "give one of them another")
    for job in listed:
        if unknown := [name for name in job.after if name not in by_id]:
            raise OutOfRange(f"comes after {unknown[0]!r}, which is not there", job.id, "name a task of the list")
    try:
        sorter = TopologicalSorter({job.id: job.after for job in listed})
        return tuple(by_id[name] for name in sorter.static_order())
    except CycleError as circle:
        raise OutOfRange(
            "tasks wait for one another", " → ".join(circle.args[1]), "take one of the waits out"
        ) from None


def critical_path(jobs: Iterable[Job], minutes: Mapping[str, float] | None = None) -> dict[str, Slot]:
    """Find when each task can begin at the earliest and must begin at the latest, with hands without end.

    Parameters
    ----------
    jobs
        The network.
    minutes
        How long each takes; the PERT mean where it is not given. [min]
    """
    order = in_order(jobs)
    takes = {job.id: job.span.mean if minutes is None else minutes[job.id] for job in order}
    earliest: dict[str, float] = {}
    for job in order:
        earliest[job.id] = max((earliest[name] + takes[name] for name in job.after), default=0.0)
    end = max((earliest[name] + takes[name] for name in earliest), default=0.0)
    latest = {job.id: end - takes[job.id] for job in order}
    for job in reversed(order):
        for name in job.after:
            latest[name] = min(latest[name], latest[job.id] - takes[name])
    return {job.id: Slot(earliest[job.id], latest[job.id], takes[job.id]) for job in order}


def with_hands(jobs: Iterable[Job], people: int, minutes: Mapping[str, float] | None = None) -> dict[str, float]:
    """Give every task a beginning so that no more hands are needed than there are: the most urgent goes first.

    A task that needs more people than there are takes longer in proportion and all of them.

    Parameters
    ----------
    jobs
        The network.
    people
        How many there are. [1]
    minutes
        How long each takes; the PERT mean where it is not given. [min]

    Returns
    -------
    Beginning of each task. [min]
    """
    order = in_order(jobs)
    takes = stretched(order, people, minutes)
    urgency = critical_path(order, takes)
    place = {job.id: number for number, job in enumerate(order)}
    begins: dict[str, float] = {}
    hands = np.zeros(people)  # when each is free
    waiting = list(order)
    while waiting:
        ready = [job for job in waiting if all(name in begins for name in job.after)]
        free = {job.id: max((begins[name] + takes[name] for name in job.after), default=0.0) for job in ready}
        soonest = {job.id: max(free[job.id], _hands_free(hands, job)) for job in ready}
        first = min(soonest.values())
        now = [job for job in ready if soonest[job.id] <= first + TOUCH_MIN]
        job = min(now, key=lambda one: (urgency[one.id].latest, place[one.id]))
        begins[job.id] = soonest[job.id]
        taken = np.argsort(hands, kind="stable")[: min(job.people, people)]
        hands[taken] = begins[job.id] + takes[job.id]
        waiting.remove(job)
    return begins


def _hands_free(hands: NDArray[np.float64], job: Job) -> float:
    needed = min(job.people, len(hands))
    return float(np.sort(hands)[needed - 1]) if needed else 0.0


def stretched(jobs: Iterable[Job], people: int, minutes: Mapping[str, float] | None = None) -> dict[str, float]:
    """How long each task takes with the hands there are: more hands wanted than there are make it longer. [min]"""
    takes = {job.id: job.span.mean if minutes is None else minutes[job.id] for job in jobs}
    return {job.id: takes[job.id] * max(1.0, job.people / people) for job in jobs}


def simulated_ends(jobs: Iterable[Job], people: int | None, runs: int, seed: int = 1) -> NDArray[np.float64]:
    """Play the day many times with durations drawn from the beta law of PERT, and tell when all is done. Shape (runs,).

    Parameters
    ----------
    jobs
        The network.
    people
        How many there are; none for hands without end. [1]
    runs
        How many times. [1]
    seed
        The same seed gives the same days. [1]
    """
    order = in_order(jobs)
    chance = np.random.default_rng(seed)
    drawn = {job.id: _beta_pert(job.span, runs, chance) for job in order}
    ends = np.zeros(runs)
    for run in range(runs):
        minutes = {name: float(values[run]) for name, values in drawn.items()}
        if people is None:
            slots = critical_path(order, minutes)
            ends[run] = max((slot.earliest + slot.minutes for slot in slots.values()), default=0.0)
        else:
            begins, takes = with_hands(order, people, minutes), stretched(order, people, minutes)
            ends[run] = max((begins[name] + takes[name] for name in begins), default=0.0)
    return ends


def _beta_pert(span: Span, runs: int, chance: np.random.Generator) -> NDArray[np.float64]:
    """Draw from the beta law whose mean is the PERT mean, between least and most."""
    width = span.most - span.least
    if width == 0:
        return np.full(runs, span.least)
    alpha = 1 + 4 * (span.likely - span.least) / width
    beta = 1 + 4 * (span.most - span.likely) / width
    return span.least + width * chance.beta(alpha, beta, runs)
