"""Open questions and trouble: what fails, what nobody has said yet, and the cautions of the day, on one page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from fieldfare.physics.cautions import CAUTIONS, Subject
from fieldfare.sheets.coverage import missing
from fieldfare.sheets.figures import FigureRow, figure_row, source_title
from fieldfare.sheets.head import Head, Setting
from fieldfare.sheets.strips import Strip, left_out_strip, strip_of
from fieldfare.sheets.threads import GRAVITY, remedy_left
from fieldfare.show.plan import Hit, MediaPlan, Plan, Power
from fieldfare.show.record import Asked
from fieldfare.show.show import Show
from fieldfare.units.text import listed

ASKED: dict[Asked, str] = {
    "venue": "Ask the venue",
    "house": "Ask the house engineer",
    "band": "Ask the band",
    "cameras": "Ask the camera people",
    "ourselves": "Find out ourselves",
}
WORDS = {"stop": ("stop", "stops"), "warn": ("warning", "warnings"), "note": ("note", "notes")}


@dataclass(frozen=True, slots=True)
class TroubleRow:
    """One check that fired."""

    severity: str
    strip: Strip | None
    hop: str
    says: str
    remedy: str
    source: str


@dataclass(frozen=True, slots=True)
class QuestionRow:
    """One question, with what depends on it."""

    text: str
    depends: str


@dataclass(frozen=True, slots=True)
class QuestionGroup:
    """All questions for one of those who can answer."""

    whom: str
    rows: tuple[QuestionRow, ...]


@dataclass(frozen=True, slots=True)
class QuestionSheet:
    """Everything on the page."""

    head: Head
    summary: str
    troubles: tuple[TroubleRow, ...]  # what stops or warns
    questions: tuple[QuestionGroup, ...]
    cautions: tuple[str, ...]
    notes: tuple[TroubleRow, ...]  # what is only worth knowing
    figures: tuple[FigureRow, ...]
    sources: tuple[str, ...]  # numbered by the figures


def question_sheet(setting: Setting) -> QuestionSheet:
    """Make the data of the page of open questions and trouble."""
    plan = setting.plan
    troubles = sorted(_troubles(setting), key=lambda row: GRAVITY.index(row.severity))
    figures = (*power_figures(plan.power), *media_figures(plan.media), *hearing_figures(plan))
    sources = tuple(dict.fromkeys(row.source for row in figures))
    return QuestionSheet(
        head=setting.head("open questions and trouble"),
        summary=_summary(troubles, len(plan.question)),
        troubles=tuple(row for row in troubles if row.severity != "note"),
        questions=tuple(_groups(plan, setting.show)),
        cautions=tuple(_cautions(plan)),
        notes=tuple(row for row in troubles if row.severity == "note"),
        figures=tuple(replace(row, source=str(sources.index(row.source) + 1)) for row in figures),
        sources=sources,
    )


def _summary(troubles: list[TroubleRow], questions: int) -> str:
    counts = Counter(row.severity for row in troubles)
    parts = [f"{counts[one]} {WORDS[one][counts[one] != 1]}" for one in GRAVITY if counts[one]]
    if questions:
        parts.append(f"{questions} open question{'s' if questions != 1 else ''}")
    return listed(parts) or "Nothing stands open"


def _troubles(setting: Setting) -> Iterator[TroubleRow]:
    rows = {row.id: row for row in setting.plan.rigged}
    lost = {one.id: one for one in setting.plan.left_out if one.id not in rows}
    for hit in setting.plan.hit:
        row = rows.get(hit.input)
        strip = strip_of(row, setting.units) if row else None
        if hit.input in lost:
            strip = left_out_strip(lost[hit.input])
        says, remedy, source = hit.says, remedy_left(hit), source_title(hit.source)
        yield TroubleRow(hit.severity, strip, _hop(hit), says, remedy, source)


def _hop(hit: Hit) -> str:
    return f"at {hit.hop}" if hit.hop else ""


def _groups(plan: Plan, show: Show) -> Iterator[QuestionGroup]:
    for ask, whom in ASKED.items():
        rows = tuple(QuestionRow(one.text, one.depends) for one in plan.question if one.ask == ask)
        if rows:
            name = f", {show.house_engineer}" if ask == "house" and show.house_engineer else ""
            yield QuestionGroup(whom + name, rows)


def _cautions(plan: Plan) -> Iterator[str]:
    yield from plan.power.cautions
    for one in plan.power.circuit:
        for note in one.notes:
            yield f"{one.circuit}: {note}."
    for caution in dict.fromkeys(one.caution for one in plan.bin if one.caution):
        yield f"Lifting {listed(one.bin for one in plan.bin if one.caution == caution)}: {caution}."
    if any(one.caution for one in plan.bin):
        yield from cautions("lifting")
    if plan.hearing:
        yield from cautions("hearing")
    yield from plan.media.notes
    signs = missing(plan.model_dump_json())
    if signs:
        yield (
            f"No font that comes with the program has {' '.join(signs)}: the machine's own were used; "
            "look whether every name can be read."
        )


def cautions(subject: Subject) -> tuple[str, ...]:
    """Return what is printed about a subject, first that local rules come first."""
    return tuple(one.text for one in CAUTIONS.values() if one.subject == subject)


def power_figures(power: Power) -> Iterator[FigureRow]:
    """Open the figures of mains and battery."""
    for one in power.circuit:
        yield figure_row(f"Load on {one.circuit}", one.load)
        yield figure_row(f"Share of what {one.circuit} carries", one.share)
    for drop in power.drop:
        yield figure_row("Voltage drop", drop, 1)
    if power.battery:
        yield figure_row("On the battery", power.battery)


def media_figures(media: MediaPlan) -> Iterator[FigureRow]:
    """Open the figures of bytes, files, cards and copies."""
    yield figure_row("Written", media.rate, 2)
    yield figure_row("Each hour", media.per_hour, 1)
    yield figure_row("The whole night", media.whole, 1)
    if media.file_limit:
        yield figure_row("File limit after", media.file_limit)
    for card in media.card:
        yield figure_row("Lasts", card, 1)
    for copying in media.copying:
        yield figure_row("Copy and read back", copying, 1)


def hearing_figures(plan: Plan) -> Iterator[FigureRow]:
    """List what a day in that loudness does to the ears of who works there."""
    for one in plan.hearing:
        yield figure_row("Ears, longest in a day" if one.unit == "min" else "Ears, dose of the sets", one)
