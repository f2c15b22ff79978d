"""The advance: letters to the venue, the house engineer, the band and the camera people, each with what it alone needs.

Only what is not yet known is asked, in plain numbered questions; what is known is said once, to be put right. The same
letter is set as PDF and written as plain text, to be pasted into a mail. What it says of the trade (the secondary side
of a split, who comes up first, claps for the cameras) is common practice, no source; local rules come before all of it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from fieldfare.sheets.head import TYPST_PAPER, Setting
from fieldfare.sheets.language import Language, said
from fieldfare.sheets.stage import StageSheet
from fieldfare.sheets.wording import NINE_IN_TEN, day, length, where_words
from fieldfare.show.plan import OpenQuestion, PlannedInput
from fieldfare.show.record import Asked
from fieldfare.units.text import figure, listed

WIDTH = 72  # of the plain text: a mail is quoted at least once
LETTERS: tuple[Asked, ...] = ("venue", "house", "band", "cameras")
_TO: dict[Asked, str] = {
    "venue": "the venue",
    "house": "the house engineer",
    "band": "the band",
    "cameras": "the camera people",
    "ourselves": "ourselves",
}
LOCAL_RULES = "Local rules, and whoever answers for the house, come before anything in this letter."


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that we need or bring, under its heading."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LetterQuestion:
    """One question, with its number in the letter."""

    number: int
    text: str
    depends: str


@dataclass(frozen=True, slots=True)
class Letter:
    """Everything in one letter."""

    paper: str
    to: str
    subject: tuple[str, ...]
    opening: str
    questions: tuple[LetterQuestion, ...]
    needs: tuple[Need, ...]
    cautions: tuple[str, ...]
    closing: str
    sender: str
    date: str
    foot: str
    stage: StageSheet | None = None  # the drawing, on the last page


def letter(
    setting: Setting, ask: Asked, questions: tuple[OpenQuestion, ...], stage: StageSheet | None = None
) -> Letter:
    """Make the data of one letter.

    Parameters
    ----------
    setting
        The plan and what all sheets of a printing share.
    ask
        Whom it goes to.
    questions
        What is open for them, in order; numbered from 1.
    stage
        The stage drawing, to be enclosed.
    """
    show, head = setting.show, setting.head("letter")
    name = f", {show.house_engineer}" if ask == "house" and show.house_engineer else ""
    acts = listed(act.name for act in show.act)
    what = f"record {acts}" if acts else "make a recording"
    count = len(questions)
    asks = (
        f"We need to know {'one thing' if count == 1 else f'{figure(count)} things'} that only you can tell us. Short "
        "answers will do: the number and a word. Write “not known” where it is not known."
        if count
        else "Nothing is open: please read what follows and tell us what is not as it says."
    )
    return Letter(
        paper=TYPST_PAPER[setting.paper],
        to=_TO[ask] + name,
        subject=(show.title, day(show.date), setting.venue.name),
        opening=f"We {what} at {setting.venue.name} on {day(show.date)}, every source on a track of its own. {asks}",
        questions=tuple(LetterQuestion(number, one.text, one.depends) for number, one in enumerate(questions, 1)),
        needs=tuple(need for need in _NEEDS[ask](setting) if need.lines),
        cautions=tuple(_cautions(setting, ask)),
        closing="The stage drawing is enclosed: a look at it is the quickest way to find what is wrong with it.",
        sender=show.recordist,
        date=day(setting.printed.date()),
        foot=head.foot,
        stage=stage,
    )


def _venue_needs(setting: Setting) -> Iterator[Need]:
    venue, plan = setting.venue, setting.plan
    yield Need("Times", tuple(_times(setting)))
    x, y, _ = venue.recordist.at
    table = " by ".join(length(side, setting.units) for side in venue.recordist.table_m)
    stands = len({row.stand.tag for row in plan.input if row.stand})
    space = [f"A table of {table} for the recorder, {where_words((x, y), venue.stage)}."]
    if stands:
        space.append(f"{_count(stands, 'microphone stand')} on and about the stage; all are on the drawing.")
    if any(row.run.crosses for row in plan.input):
        space.append("Some cables cross ways that must stay clear, as drawn: we bring ramps, and ask you first.")
    else:
        space.append("Cables lie along edges and walls, taped down; no fire route, step or door is crossed.")
    yield Need("Space", tuple(space))
    yield Need("Power", tuple(_power(setting)))


def _house_needs(setting: Setting) -> Iterator[Need]:
    rows = setting.plan.input
    yield Need("Times", tuple(_times(setting)))
    split = [row for row in rows if row.taking == "split"]
    if split:
        own = [row for row in split if row.splitter]
        house = [row for row in split if row.house_split]
        lines = [f"We take a split of {listed(row.label for row in split)}: {_count(len(split), 'line')}."]
        if own:
            lines.append(f"{_count(len(own), 'splitter')} of ours, with transformers where they are isolated, go in "
                         "line at your box; you keep the direct side.")  # fmt: skip
        if house:
            lines.append(f"From your own splits: {listed(row.label for row in house)}. The secondary, isolated side is "
                         "ours.")  # fmt: skip
        yield Need("Split", tuple(lines))
    fed = [row for row in rows if row.phantom_owner == "house"]
    ours = [row for row in rows if row.phantom and row.phantom_owner == "ours"]
    phantom = [f"We count on yours for {listed(row.label for row in fed)}."] if fed else []
    phantom.append(f"Our recorder feeds {listed(row.label for row in ours)}, all on lines of our own." if ours
                   else "Our recorder feeds none.")  # fmt: skip
    yield Need("Phantom", tuple(phantom))
    mics = [row for row in rows if row.taking in ("mic", "di")]
    yield Need("On your stage", (
        f"{_count(len(mics), 'microphone or DI', 'microphones and DIs')} of ours on lines of our own.",
        "The PA comes up first, then the recorder; we listen for new hum together, and take ours out if there is any.",
        "Nothing of yours is unplugged by us before you say so.",
    ))  # fmt: skip


def _band_needs(setting: Setting) -> Iterator[Need]:
    plan = setting.plan
    yield Need("Times", tuple(_times(setting)))
    rows: dict[str, list[PlannedInput]] = {}
    for row in plan.input:
        rows.setdefault(row.source, []).append(row)
    lines = [f"{source}: {', '.join(row.label for row in of_it)}" for source, of_it in rows.items()]
    lost = [one.label for one in plan.left_out if not one.shares]
    if lost:
        lines.append(f"Not recorded, for want of channels or gear: {listed(lost)}.")
    yield Need("What is recorded", tuple(lines) or ("Nothing is planned yet.",))
    songs = [song for one in setting.show.set for song in one.songs]
    if songs:
        yield Need("Set list", (f"We have: {'; '.join(songs)}. Please say what is not so.",))
    else:
        yield Need("Set list", ("We have none yet: titles in order, with rough lengths, help us find the songs.",))
    yield Need("Consent", (
        "Being in the band is no consent: everybody who plays or sings is asked for theirs, in writing, and for what.",
    ))  # fmt: skip


def _camera_needs(setting: Setting) -> Iterator[Need]:
    rate = setting.plan.rate_hz / 1000
    yield Need("Times", tuple(_times(setting)))
    yield Need("Sound", (
        f"We record at {rate:g} kHz. Please leave each camera's own sound on, all night: by it we put the pictures in "
        "time.",
        "Start before the set and stop after it, without a pause; a clap in view of every camera at both ends helps.",
    ))  # fmt: skip
    names = [camera.name for camera in setting.show.camera]
    if names:
        yield Need("On the drawing", (f"{listed(names)}: please say where they will not be.",))


_NEEDS: dict[Asked, Callable[[Setting], Iterator[Need]]] = {
    "venue": _venue_needs,
    "house": _house_needs,
    "band": _band_needs,
    "cameras": _camera_needs,
    "ourselves": lambda setting: iter(()),
}


def _times(setting: Setting) -> Iterator[str]:
    plan, times = setting.plan, setting.show.times
    if times.load_in:
        wanted = next((str(one.value) for one in plan.ready.given if one.name == NINE_IN_TEN), "") if plan.ready else ""
        early = wanted and wanted < f"{times.load_in:%H:%M}"
        yield f"Load-in {times.load_in:%H:%M}" + (f"; {wanted} would make us sure to be ready." if early else ".")
    named = (("Soundcheck", times.soundcheck), ("Doors", times.doors), ("Curfew", times.curfew))
    for name, at in named:
        if at:
            yield f"{name} {at:%H:%M}."
    for one in setting.show.set:
        yield f"Set from {one.start:%H:%M}, {figure(one.minutes)} minutes."
    ends = [task.ends for task in plan.day if task.people and task.ends]
    if ends:
        yield f"We are out by {max(ends):%H:%M}."


def _power(setting: Setting) -> Iterator[str]:
    power = setting.plan.power
    loads = [given.value for one in power.circuit for given in one.load.given if given.name == "rig"]
    watts = sum(value for value in loads if isinstance(value, int | float))
    if watts:
        yield f"{figure(watts)} W at most, from one socket near the recorder, and a second one for reserve."
    if power.cautions:
        yield power.cautions[0]
    yield "Please let us know who has the key to the breakers, and where they are."


def _cautions(setting: Setting, ask: Asked) -> Iterator[str]:
    yield LOCAL_RULES
    if ask == "venue":
        yield from setting.plan.power.cautions[1:]
        yield "Nothing is hung from the building unless your own rigger says how and does it."
    elif ask == "house":
        yield from (one for one in setting.plan.power.cautions if "earth" in one)
    elif ask == "band":
        yield "It is loud on a stage: bring ear plugs, and use them at the soundcheck too."
    elif ask == "cameras":
        yield "Tripods and their cables keep clear of every way out."


def _count(number: int, one: str, many: str = "") -> str:
    return f"One {one}" if number == 1 else f"{number} {many or one + 's'}"


def letter_text(letter: Letter, language: Language = "en", names: frozenset[str] = frozenset()) -> str:
    """Write a letter as plain text that can be pasted into a mail and answered between its lines."""
    say = partial(said, language=language, names=names)

    def listing(texts: tuple[str, ...]) -> Iterator[str]:
        for text in texts:
            yield from _wrapped(f"- {say(text)}", hang=2)

    title, date, venue = letter.subject
    lines = [say(f"To {letter.to}"), ", ".join((title, say(date), venue)), ""]
    lines += [*_wrapped(say(letter.opening)), ""]
    for one in letter.questions:
        lines += _wrapped(f"{one.number}. {say(one.text)}", hang=3)
        if one.depends:
            lines += _wrapped(f"({say(f'Depends on it: {one.depends}')})", indent=3, hang=3)
        lines += [f"{one.number}: ", ""]
    for need in letter.needs:
        lines += [say(need.heading), *listing(need.lines), ""]
    if letter.cautions:
        lines += [say("Cautions"), *listing(letter.cautions), ""]
    lines += [*_wrapped(say(letter.closing)), "", letter.sender, say(letter.date)]
    return "\n".join(line.rstrip() for line in lines).rstrip() + "\n"


def _wrapped(text: str, indent: int = 0, hang: int = 0) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * hang,
        break_long_words=False,
        break_on_hyphens=False,
    )
