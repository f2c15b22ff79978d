"""The stage of a render: everything that it needs to know, gathered once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fieldfare.show.kit import Kit
from fieldfare.show.plan import Plan
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue
from fieldfare.takes.render.faults import Planted, check_planted, demo_faults
from fieldfare.takes.render.paths import Ear, Hall, Path, ears_of, hall_of, paths_of, people
from fieldfare.takes.render.programme import Programme, plan_programme
from fieldfare.takes.render.score import Play
from fieldfare.takes.render.sounders import Sounder, Sounding, sounders_of
from fieldfare.units.faults import OutOfRange


@dataclass(frozen=True, slots=True)
class Stage:
    """Everything that a render needs to know."""

    plan: Plan
    show: Show
    venue: Venue
    hall: Hall
    programme: Programme
    sounders: tuple[Sounder, ...]
    ears: tuple[Ear, ...]
    paths: tuple[Path, ...]
    planted: tuple[Planted, ...]
    seed: int
    play: Play | None = None  # other sounds than the program's own

    @property
    def origin(self) -> int:
        """Samples since midnight at which the take begins: so that the first song starts with the set."""
        at = self.show.set[0].start if self.show.set else self.show.times.doors or dt.time(20)
        second = at.hour * 3600 + at.minute * 60 + at.second
        first = self.programme.songs[0].count_in // self.programme.rate_hz
        return max(0, second - first) * self.programme.rate_hz


def set_stage(
    plan: Plan,
    show: Show,
    venue: Venue,
    kit: Kit,
    soundings: Iterable[Sounding],
    duration_s: float,
    seed: int,
    planted: Sequence[Planted] | None,
    programme: Programme | None = None,
    play: Play | None = None,
) -> Stage:
    """Gather what a render needs; the parameters are those of `render_show`.

    Raises
    ------
    OutOfRange
        The plan has no inputs, or a fault was planted where it cannot be.
    """
    if not plan.input:
        raise OutOfRange("the plan has no inputs, so nothing would be recorded", "plan", "make the plan first")
    titles = tuple(title for one in show.set for title in one.songs)
    programme = programme or plan_programme(titles, duration_s, plan.rate_hz, seed)
    hall = hall_of(venue)
    sounders = (*sounders_of(soundings, show, plan), *people(plan, venue))
    ears = ears_of(plan, show, kit, sounders)
    paths = paths_of(sounders, ears, hall, plan.rate_hz)
    faults = demo_faults(plan, show, programme) if planted is None else tuple(planted)
    check_planted(faults, plan, programme.frames)
    return Stage(plan, show, venue, hall, programme, sounders, ears, paths, faults, seed, play)
