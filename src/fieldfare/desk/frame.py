"""What stands round every page: the day on the left, what stands open on the right."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal
from urllib.parse import quote

from fieldfare.desk.book import Open
from fieldfare.desk.sessions import Role, Session
from fieldfare.sheets.language import Language
from fieldfare.sheets.wording import day as day_words
from fieldfare.sheets.write import names_of
from fieldfare.show.plan import Hit, Plan, PlannedInput
from fieldfare.units.text import listed

Light = Literal["paper", "stage"]
MOST_OPEN = 7
COUNTS = (
    "Nothing stands", "One thing stands", "Two things stand", "Three things stand", "Four things stand",
    "Five things stand", "Six things stand", "Seven things stand", "Eight things stand", "Nine things stand",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the column on the left."""

    state: str
    name: str
    to: str
    here: bool = False
    tone: str = ""  # "done", "open" or ""


@dataclass(frozen=True, slots=True)
class Loose:
    """One thing that stands open."""

    what: str
    more: str
    do: str = ""
    to: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """Everything round the work."""

    title: str
    subtitle: str
    light: Light
    language: Language  # of what the plan and the takes say
    csrf: str
    role: Role
    address: str  # of this page
    digest: str = ""  # of the documents
    base: str = ""  # of the show's pages; blank where there is no show
    date: str = ""
    before: tuple[Entry, ...] = ()
    day: tuple[Entry, ...] = ()
    after: tuple[Entry, ...] = ()
    open_head: str = ""
    open: tuple[Loose, ...] = ()
    open_more: int = 0
    names: frozenset[str] = frozenset()  # that stay as they are in any language
    shared: bool = False


def plain_frame(
    title: str, subtitle: str, light: Light, language: Language, session: Session | None, address: str, shared: bool
) -> Frame:
    """Return the frame of a page that belongs to no show."""
    csrf, role = (session.csrf, session.role) if session else ("", "tick")
    return Frame(title, subtitle, light, language, csrf, role, address, shared=shared)


def show_frame(
    name: str,
    title: str,
    now: Open,
    light: Light,
    language: Language,
    session: Session,
    address: str,
    key: str,
    shared: bool,
) -> Frame:
    """Return the frame of one of a show's pages.

    Parameters
    ----------
    name
        Which page: its last part in addresses.
    title
        What stands above the work.
    now
        The show with its plan.
    light, language, session, address, shared
        Of the request.
    key
        The show's name in addresses.
    """
    base = f"/shows/{quote(key)}"
    show, plan = now.read.show, now.plan
    acts = listed(act.name for act in show.act)
    loose = tuple(loose_ends(plan, base))
    head = COUNTS[len(loose)] if len(loose) < len(COUNTS) else f"{len(loose)} things stand"
    return Frame(
        title=f"{show.title}, {title}",
        subtitle=" · ".join(
            part
            for part in (
                f"{acts} at {plan.venue}" if acts else plan.venue,
                day_words(show.date),
                f"revision {now.revision}",
            )
        ),
        light=light,
        language=language,
        csrf=session.csrf,
        role=session.role,
        address=address,
        digest=now.read.digest,
        base=base,
        date=f"{show.date.day} {show.date:%B}",
        before=tuple(_before(plan, show.sources.__len__(), base, name)),
        day=tuple(_day(now, base, name)),
        after=tuple(_after(base, name)),
        open_head=f"{head} open",
        open=loose[:MOST_OPEN],
        open_more=max(0, len(loose) - MOST_OPEN),
        names=names_of(show, now.read.kit, now.read.venue),
        shared=shared,
    )


def _before(plan: Plan, sources: int, base: str, here: str) -> Iterator[Entry]:
    troubles = {hit.input for hit in plan.hit if hit.severity == "stop"}
    questions = len(plan.question)
    packed = sum(len(line.tags) for line in plan.pack)
    for state, name, page, tone in (
        (f"{questions} open" if questions else "done", "Advance", "advance", "open" if questions else "done"),
        (str(sources), "Line-up", "lineup", ""),
        (f"{len(troubles)} open" if troubles else "ready", "Inputs", "inputs", "open" if troubles else ""),
        ("", "Stage", "stage", ""),
        ("", "Patch", "patch", ""),
        ("", "Power, media", "power", ""),
        (f"{packed} units", "Pack", "pack", ""),
        ("", "Sheets", "sheets", ""),
        ("", "Kit", "kit", ""),
    ):
        yield Entry(state, name, f"{base}/{page}", page == here, tone)


def _day(now: Open, base: str, here: str) -> Iterator[Entry]:
    times = now.read.show.times
    sets = now.read.show.set
    clocks: list[tuple[dt.time | None, str, str]] = [
        (times.load_in, "Load-in, count out", "count"),
        (None, "Now", "now"),
        (None, "Line check", "check"),
        (times.soundcheck, "Soundcheck", "marks"),
        (times.doors, "Doors", "marks"),
        *((one.start, f"Set {number}", "marks") for number, one in enumerate(sets, start=1)),
        (times.curfew, "Curfew", "marks"),
        (None, "The recording", "watch"),
        (None, "Count back", "count?way=back"),
    ]
    seen: set[str] = set()
    for clock, name, page in clocks:
        yield Entry(f"{clock:%H:%M}" if clock else "", name, f"{base}/{page}", page == here and page not in seen)
        seen.add(page)


def _after(base: str, here: str) -> Iterator[Entry]:
    for name, page in (
        ("Offload", "offload"), ("Tracks", "tracks"), ("Songs", "songs"), ("Time, polarity", "timing"),
        ("Rough mixes", "rough"), ("Pictures", "pictures"), ("Handover", "handover"), ("Revisions", "history"),
    ):  # fmt: skip
        yield Entry("", name, f"{base}/{page}", page == here)


def loose_ends(plan: Plan, base: str) -> Iterator[Loose]:
    """Tell what stands open: each stop with the page that mends it, then each question."""
    lines = {row.number: row for row in plan.input}
    labels = {row.id: lines[row.number] for row in plan.rigged}  # a guest is opened where it lodges
    for hit in plan.hit:
        if hit.severity == "stop":
            do, to = _where(hit, labels.get(hit.input), base)
            yield Loose(_short(hit.says, hit.remedy), hit.remedy, do, to)
    for question in plan.question:
        yield Loose(question.text, question.depends, _ask_words(question.ask), f"{base}/advance")


def _where(hit: Hit, row: PlannedInput | None, base: str) -> tuple[str, str]:
    """Tell what opens the place of a check, and where that is."""
    if row:
        return f"Open {row.number}, {row.label}", f"{base}/inputs?open={row.id}#{row.id}"
    return ("See what is left out", f"{base}/inputs#left-out") if hit.input else ("", "")


def _short(says: str, remedy: str) -> str:
    """Leave out of a sentence the remedy, which stands below it."""
    return says.replace(f": {remedy}.", "").rstrip(".")


def _ask_words(ask: str) -> str:
    return {
        "venue": "Ask the venue",
        "house": "Ask the house engineer",
        "band": "Ask the band",
        "cameras": "Ask the camera people",
        "ourselves": "Find out",
    }[ask]
