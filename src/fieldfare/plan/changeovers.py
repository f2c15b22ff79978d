"""From one act to the next on one patch: what is taken away, carried, plugged over, set and checked, by whom, when.

What stands ready before doors stays where it is unless it is in the way of who plays: nearer than IN_THE_WAY_M to one
of their sources or microphones. A line changes just before it is needed, and is checked again: common practice, no
source.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import dist
from typing import Literal

from fieldfare.plan.acts import Sets, in_set, sets_of
from fieldfare.plan.day import LABEL, LINE, LOOSE, STAND, on_the_day
from fieldfare.plan.schedule import Job, Span, simulated_ends, stretched, with_hands
from fieldfare.show.kit import Kit
from fieldfare.show.plan import Changeover, LeftOut, LineChange, PlannedInput, Step
from fieldfare.show.record import Place
from fieldfare.show.show import Show
from fieldfare.units.sources import PRACTICE
from fieldfare.units.text import figure, listed
from fieldfare.units.working import Given, Working

IN_THE_WAY_M = 1.0
GAIN = Span(0.1, 0.2, 0.4)  # one gain set anew at the recorder
TIMES_PLAYED = 200

Does = Literal["strike", "carry", "plug", "set", "gain", "check"]
ORDER: tuple[Does, ...] = ("strike", "carry", "plug", "set", "gain", "check")


@dataclass(frozen=True, slots=True)
class On:
    """What an input is on in the sets in which it plays: its row, with the mic and place that it has there."""

    id: str
    label: str
    source: str
    sets: Sets
    row: PlannedInput  # with the unit, the place and the gain while this input uses it
    lodges: bool = False  # it uses the row of another as it stands

    @property
    def state(self) -> str:
        """What is on the line: the same for all that use it as it stands."""
        return self.row.id


@dataclass(frozen=True, slots=True)
class Chore:
    """A step before it has its time."""

    does: Does
    what: str
    span: Span
    tag: str = ""
    input: str = ""
    first: bool = False  # before everything else is taken away


@dataclass(frozen=True, slots=True)
class Evening:
    """What every changeover is told from."""

    show: Show
    everyone: tuple[On, ...]
    clips: frozenset[str]  # tags of mics that hold on to the instrument


def changeovers(
    inputs: Iterable[PlannedInput], guests: Iterable[PlannedInput], left_out: Iterable[LeftOut], show: Show, kit: Kit
) -> tuple[Changeover, ...]:
    """Tell what is to be done between two sets in which others play.

    Parameters
    ----------
    inputs, guests, left_out
        The rows, the guests on them, and what has no row of its own.
    show
        Sets in order, acts, crew.
    kit
        Tells which mics clip to an instrument.

    Returns
    -------
    In the order of the evening; none where everybody plays in every set.
    """
    everyone = tuple(_everyone(tuple(inputs), tuple(guests), tuple(left_out), sets_of(show)))
    clips = frozenset(tag for one in kit.mic if one.mount == "clip" for tag in one.tags)
    evening = Evening(show, everyone, clips)
    return tuple(_changeover(evening, number) for number in range(1, len(show.set)) if _others_play(show, number))


def _others_play(show: Show, number: int) -> bool:
    return any(in_set(sets, number - 1) != in_set(sets, number) for sets in sets_of(show).values())


def _everyone(
    inputs: tuple[PlannedInput, ...],
    guests: tuple[PlannedInput, ...],
    left_out: tuple[LeftOut, ...],
    sets: Mapping[str, Sets],
) -> Iterator[On]:
    rows = {row.id: row for row in inputs}
    moved = {row.id for row in guests}
    for row in (*inputs, *guests):
        yield On(row.id, row.label, row.source, sets.get(row.source, frozenset()), row)
    for one in left_out:
        if one.shares in rows and one.id not in moved:
            yield _lodger(one, rows[one.shares], sets)


def _lodger(one: LeftOut, row: PlannedInput, sets: Mapping[str, Sets]) -> On:
    return On(one.id, one.label, one.source, sets.get(one.source, frozenset()), row, lodges=True)


def _changeover(evening: Evening, number: int) -> Changeover:
    show = evening.show
    next_ = [one for one in evening.everyone if in_set(one.sets, number)]
    kept = {one.id for one in next_ if in_set(one.sets, number - 1)}
    lines = tuple(_line_changes(evening.everyone, number))
    chores = sorted(_chores(evening, lines, number), key=lambda one: ORDER.index(one.does))
    before, after = show.set[number - 1], show.set[number]
    ends = on_the_day(show, before.start) + dt.timedelta(minutes=before.minutes)
    there_is = (on_the_day(show, after.start) - ends).total_seconds() / 60
    jobs = tuple(_jobs(chores))
    takes, enough = _takes(jobs, show.crew, there_is)
    touched = {chore.input for chore in chores if chore.does != "check"}
    return Changeover(
        before=_who(show, number - 1),
        after=_who(show, number),
        begins=ends,
        there_is_min=there_is,
        takes=takes,
        enough=enough,
        line=lines,
        step=tuple(_steps(chores, jobs, show.crew)),
        stays=tuple(one.label for one in next_ if one.id in kept and one.id not in touched),
        waits=tuple(one.label for one in next_ if one.id not in kept and one.id not in touched),
    )


def _who(show: Show, number: int) -> str:
    return listed(show.set[number].act) or listed(act.name for act in show.act)


def _line_changes(everyone: tuple[On, ...], number: int) -> Iterator[LineChange]:
    tracks = {one.row.number: one.row for one in reversed(everyone) if not one.lodges}  # the row itself stands first
    for _, row in sorted(tracks.items()):
        users = [one for one in everyone if one.row.number == row.number]
        now = next((one for one in users if in_set(one.sets, number)), None)
        last = _last(users, number)
        first = last is None and now is not None and now.id != row.id and not in_set(now.sets, number - 1)
        if now is None or (last is None and not first) or (last and last.id == now.id):
            continue
        yield LineChange(
            number=row.number,
            track=row.label,
            before=last.label if last else "",
            after=now.label,
            how=_how(last, now) if last else "from the start",
            tag=now.row.unit.tag if now.row.unit else "",
            box=row.box,
            socket=row.socket,
            gain_db=now.row.gain.value,
            gain_was_db=last.row.gain.value if last else None,
        )


def _last(users: Iterable[On], number: int) -> On | None:
    """Who was on a line last before a set."""
    before = [
        (earlier, one) for one in users for earlier in range(number) if in_set(one.sets, earlier) and one.sets
    ]  # fmt: skip
    return max(before, key=lambda pair: pair[0])[1] if before else None


def _how(last: On, now: On) -> Literal["stays", "carried", "plugged over"]:
    if last.state == now.state:
        return "stays"
    same_unit = last.row.unit is not None and last.row.unit == now.row.unit and last.row.cable == now.row.cable
    return "carried" if same_unit else "plugged over"


def _chores(evening: Evening, lines: tuple[LineChange, ...], number: int) -> Iterator[Chore]:
    by_label = {one.label: one for one in evening.everyone}
    going = [one for one in evening.everyone if in_set(one.sets, number - 1) and not in_set(one.sets, number)]
    coming = sorted(
        (one for one in evening.everyone if in_set(one.sets, number) and not in_set(one.sets, number - 1)),
        key=lambda one: one.row.number,
    )
    carried = {by_label[line.after].row.unit for line in lines if line.how == "carried"}
    for one in sorted(going, key=lambda one: _tag(one) not in evening.clips):
        if one.row.unit not in carried and not one.lodges:
            yield from _struck(evening, one, number)
    for line in lines:
        yield from _of_line(line, by_label[line.after])
    moved = {line.after for line in lines if line.how in ("carried", "stays")}
    for one in coming:
        if one.label not in moved and not one.lodges:
            yield from _set(evening, one, number)
    for one in coming:
        yield Chore("check", f"line {one.row.number}, {one.label}, from the source on", LINE, _tag(one), one.id)


def _struck(evening: Evening, one: On, number: int) -> Iterator[Chore]:
    """Clips come off before the player walks away with them; a stand goes only where it is in the way."""
    if _tag(one) in evening.clips:
        yield Chore(
            "strike", f"{_unit(one)} off {one.label} before the player leaves", LABEL, _tag(one), one.id, first=True
        )
    elif one.row.stand is not None and _in_the_way(evening, one, number):
        words = f"{_unit(one)} of {one.label}, with stand and cable, out of the way"
        yield Chore("strike", words, LOOSE, _tag(one), one.id)


def _set(evening: Evening, one: On, number: int) -> Iterator[Chore]:
    """Clips go on when the player is there; a stand that was in the way until now goes to its mark."""
    if _tag(one) in evening.clips:
        yield Chore("set", f"{_unit(one)} onto {one.label}", LOOSE, _tag(one), one.id)
    elif one.row.taking == "mic" and any(_in_the_way(evening, one, earlier) for earlier in range(number)):
        yield Chore("set", f"{_unit(one)} for {one.label}, to its mark", _span(one), _tag(one), one.id)


def _of_line(line: LineChange, now: On) -> Iterator[Chore]:
    at = f"{line.box} {line.socket}"
    if line.how == "from the start":
        return
    if line.how == "carried":
        words = f"{_unit(now)} from {line.before} to {line.after}, with stand and cable; it stays on {at}"
        yield Chore("carry", words, _span(now), _tag(now), now.id)
    elif line.how == "plugged over":
        mine = f"the split of {line.after} in, with the house engineer" if now.row.taking == "split" else ""
        words = mine or f"{_unit(now)} in for {line.after}"
        yield Chore("plug", f"{at}: {line.before} out, {words}", LABEL, _tag(now), now.id)
    elif now.row.taking == "mic":
        yield Chore("set", f"{_unit(now)} stays: turn it to {line.after}", LOOSE, _tag(now), now.id)
    if line.gain_db is not None and line.gain_db != line.gain_was_db:
        was = "" if line.gain_was_db is None else f", was {figure(line.gain_was_db)}"
        yield Chore("gain", f"channel {line.number} to {figure(line.gain_db)} dB{was}", GAIN, now.row.preamp, now.id)


def _in_the_way(evening: Evening, one: On, number: int) -> bool:
    """Tell whether a microphone stands too near to a source or a microphone of those who play in a set."""
    if in_set(one.sets, number):
        return False
    sets = sets_of(evening.show)
    there: list[tuple[str, Place]] = [
        (source.name, source.at) for source in evening.show.sources if in_set(sets[source.name], number)
    ]
    there += [(other.source, other.row.at[:2]) for other in evening.everyone if in_set(other.sets, number)]
    return any(name != one.source and dist(one.row.at[:2], place) < IN_THE_WAY_M for name, place in there)


def _span(one: On) -> Span:
    return STAND if one.row.stand else LOOSE


def _unit(one: On) -> str:
    return f"{one.row.unit.tag} ({one.row.unit.item})" if one.row.unit else "the split"


def _tag(one: On) -> str:
    return one.row.unit.tag if one.row.unit else ""


def _jobs(chores: list[Chore]) -> Iterator[Job]:
    """Clips come off first; nothing is set before the way is free, and nothing is checked before all is set."""
    waits: dict[Does, tuple[Does, ...]] = {"carry": ("strike",), "set": ("strike",), "check": ORDER[:-1]}
    ids = [f"{chore.does}-{number}" for number, chore in enumerate(chores)]
    first = tuple(name for name, chore in zip(ids, chores, strict=True) if chore.first)
    for name, chore in zip(ids, chores, strict=True):
        after = tuple(one for one in ids if one.split("-")[0] in waits.get(chore.does, ()))
        after = first if chore.does == "strike" and not chore.first else after
        yield Job(name, chore.span, after, people=2 if chore.does == "check" else 1)


def _takes(jobs: tuple[Job, ...], crew: int, there_is: float) -> tuple[Working, Literal["yes", "tight", "no"]]:
    begins, takes = with_hands(jobs, crew), stretched(jobs, crew)
    mean = max((begins[name] + takes[name] for name in begins), default=0.0)
    ends = sorted(simulated_ends(jobs, crew, TIMES_PLAYED)) if jobs else [0.0]
    half, nine = float(ends[len(ends) // 2]), float(ends[len(ends) * 9 // 10])
    working = Working(
        value=round(mean, 1),
        unit="min",
        formula="end of the last step, each at its PERT mean, begun as soon as hands are free",
        given=(
            Given(name="steps", value=len(jobs)),
            Given(name="crew", value=crew),
            Given(name="half of the times done in", value=round(half, 1), unit="min"),
            Given(name="nine times in ten done in", value=round(nine, 1), unit="min"),
            Given(name="the programme gives", value=there_is, unit="min"),
        ),
        source="PERTSolved" if jobs else PRACTICE,
        sure="estimate",
        plus_minus=round(max(0.0, nine - mean), 1),
    )
    return working, "yes" if nine <= there_is else "tight" if half <= there_is else "no"


def _steps(chores: list[Chore], jobs: tuple[Job, ...], crew: int) -> Iterator[Step]:
    begins, takes = with_hands(jobs, crew), stretched(jobs, crew)
    free = dict.fromkeys(range(1, crew + 1), 0.0)
    told: list[tuple[float, int, Step]] = []
    for number in sorted(range(len(jobs)), key=lambda one: (begins[jobs[one].id], one)):
        job, chore = jobs[number], chores[number]
        start = begins[job.id]
        hands = sorted(sorted(free, key=lambda hand: (free[hand] > start + 1e-6, hand))[: min(job.people, crew)])
        free |= dict.fromkeys(hands, start + takes[job.id])
        minutes = Working(
            value=round(takes[job.id], 1), unit="min", formula="(least + 4 · likely + most) / 6",
            given=(
                Given(name="least", value=chore.span.least, unit="min"),
                Given(name="likely", value=chore.span.likely, unit="min"),
                Given(name="most", value=chore.span.most, unit="min"),
            ),
            source=PRACTICE, sure="estimate",
        )  # fmt: skip
        step = Step(
            does=chore.does, what=chore.what, tag=chore.tag, input=chore.input, minutes=minutes,
            begins_min=round(start, 1), hands=tuple(hands),
        )  # fmt: skip
        told.append((start, number, step))
    yield from (step for *_, step in sorted(told, key=lambda one: (ORDER.index(one[2].does), one[0], one[1])))
