"""Changeovers: a page from one act to the next, in the order in which it is done, with the tape that changes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.strips import Strip, strip_of
from fieldfare.sheets.wording import reading
from fieldfare.show.plan import Changeover, LineChange, PlannedInput, Step
from fieldfare.units.text import figure

STAGES = (("Strike", ("strike",)), ("Move", ("carry", "plug")), ("Set", ("set", "gain")))
ENOUGH = {"yes": "there is time", "tight": "that is tight", "no": "that is not enough"}


@dataclass(frozen=True, slots=True)
class Doing:
    """One step."""

    at: str  # minutes after the last note
    what: str
    hands: str
    minutes: str


@dataclass(frozen=True, slots=True)
class Stage:
    """Steps of one kind."""

    name: str
    steps: tuple[Doing, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A line that another source is on now: the strip that stays on the track, and one to stick over it."""

    track: Strip
    over: Strip | None  # none where the tape that was stuck over it comes off again
    where: str
    how: str
    gain: str
    tag: str


@dataclass(frozen=True, slots=True)
class ChangeoverPage:
    """One changeover."""

    begins: str
    before: str
    after: str
    time: str
    trouble: bool
    stages: tuple[Stage, ...]
    check: tuple[Strip, ...]  # lines, in this order
    check_words: str
    lines: tuple[Line, ...]
    stays: str
    waits: str


@dataclass(frozen=True, slots=True)
class ChangeoverSheet:
    """Everything on the changeover sheet."""

    head: Head
    pages: tuple[ChangeoverPage, ...]
    key: str


def changeover_sheet(setting: Setting) -> ChangeoverSheet:
    """Make the data of the changeover sheet."""
    rows = {row.number: row for row in setting.plan.input}
    guests = {row.label: row for row in setting.plan.guest}
    return ChangeoverSheet(
        head=setting.head("changeovers"),
        pages=tuple(_page(one, rows, guests, setting) for one in setting.plan.changeover),
        key="Minutes count from the last note; hands are numbered. The recorder rolls on, and stops for nothing.",
    )


def _page(
    one: Changeover, rows: dict[int, PlannedInput], guests: dict[str, PlannedInput], setting: Setting
) -> ChangeoverPage:
    crew = setting.show.crew
    hands = "one of us" if crew == 1 else f"{crew} of us"
    takes, there_is = reading(one.takes), _minutes(one.there_is_min)
    return ChangeoverPage(
        begins=f"{one.begins:%H:%M}",
        before=one.before,
        after=one.after,
        time=f"{takes} min for {hands}; the programme gives {there_is} min: {ENOUGH[one.enough]}",
        trouble=one.enough != "yes",
        stages=tuple(Stage(name, steps) for name, kinds in STAGES if (steps := tuple(_steps(one.step, kinds, crew)))),
        check=tuple(_checked(one, rows, setting)),
        check_words=_check_words(one),
        lines=tuple(_line(line, rows[line.number], guests, setting) for line in one.line),
        stays=", ".join(one.stays),
        waits=", ".join(one.waits),
    )


def _steps(steps: Iterable[Step], kinds: tuple[str, ...], crew: int) -> Iterator[Doing]:
    for step in steps:
        if step.does in kinds:
            hands = "" if crew == 1 else "all" if len(step.hands) == crew else ", ".join(map(str, step.hands))
            yield Doing(_minutes(step.begins_min), _capital(step.what), hands, _minutes(step.minutes.value or 0.0))


def _checked(one: Changeover, rows: dict[int, PlannedInput], setting: Setting) -> Iterator[Strip]:
    """The lines to check, each with the name of what is on it now."""
    plan = setting.plan
    on = {row.id: row.number for row in (*plan.input, *plan.guest)}
    by_id = {row.id: row for row in plan.input}
    on |= {lost.id: by_id[lost.shares].number for lost in plan.left_out if lost.shares and lost.id not in on}
    labels = {row.id: row.label for row in (*plan.input, *plan.guest)} | {one.id: one.label for one in plan.left_out}
    for step in one.step:
        if step.does == "check":
            bands = strip_of(rows[on[step.input]], setting.units).bands
            yield Strip(str(on[step.input]), labels[step.input], bands)


def _check_words(one: Changeover) -> str:
    steps = [step for step in one.step if step.does == "check"]
    if not steps:
        return ""
    each = _minutes(steps[0].minutes.value or 0.0)
    return f"From minute {_minutes(steps[0].begins_min)} on, {each} min a line, from the source on"


def _line(line: LineChange, row: PlannedInput, guests: dict[str, PlannedInput], setting: Setting) -> Line:
    now = guests.get(line.after, row)
    strip = strip_of(now, setting.units)
    label = Strip(str(line.number), line.after, strip.bands, strip.length, strip.run)
    gain = "" if line.gain_db is None else f"{figure(line.gain_db)} dB"
    return Line(
        track=strip_of(row, setting.units),
        over=None if line.after == row.label else label,
        where=f"{line.box} {line.socket}",
        how=line.how,
        gain=gain,
        tag=line.tag,
    )


def _minutes(value: float) -> str:
    return figure(value, int(round(value, 1) % 1 > 0))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
