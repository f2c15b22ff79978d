"""Time and polarity on paper: measured ways against drawn ones, every source in every mic, what to look at, shifts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldfare.sheets.axis import Tick
from fieldfare.sheets.head import Head, Printing, counted
from fieldfare.sheets.typeset import set_sheet
from fieldfare.sheets.write import put_all
from fieldfare.show.alignment import Alignment, PairDelay, Shift, TakeAlignment
from fieldfare.takes.alignment.contradict import FAR_OFF_M
from fieldfare.takes.alignment.sureness import SURE
from fieldfare.units.clock import clock
from fieldfare.units.text import figure

TOLD = 0.5
MOST_NAMED = 12
STEPS_M = (1.0, 2.0, 5.0, 10.0)


@dataclass(frozen=True, slots=True)
class Point:
    """One way: drawn and measured, 0 to 1 along the axes; a name where it is far off."""

    drawn: float
    measured: float
    sure: bool
    name: str


@dataclass(frozen=True, slots=True)
class Cell:
    """One source in one mic: delay in samples, how sure, whether upside down, whether far from the drawing."""

    text: str
    sure: bool
    down: bool
    off: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One source in every mic."""

    name: str
    cells: tuple[Cell | None, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """One thing to look at."""

    severity: str
    tracks: tuple[str, ...]
    says: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Offered:
    """One shift."""

    track: str
    later: str
    flip: str
    why: str
    apply: str


@dataclass(frozen=True, slots=True)
class AlignPage:
    """One take."""

    take: str
    summary: str
    ticks: tuple[Tick, ...]
    points: tuple[Point, ...]
    mics: tuple[str, ...]
    rows: tuple[Row, ...]
    found: tuple[Found, ...]
    shifts: tuple[Offered, ...]
    fitted: str
    not_known: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AlignSheet:
    """The whole report."""

    head: Head
    pages: tuple[AlignPage, ...]


def write_align_sheet(measured: Alignment, folder: Path, printing: Printing) -> tuple[Path, ...]:
    """Write delays and polarity as one PDF, each take from a new page on.

    Parameters
    ----------
    measured
        What was measured.
    folder
        Where the PDF goes; made if it is not there.
    printing
        Paper, time and language, and the show that they belong to.

    Raises
    ------
    NotDone
        The sheet could not be set, or the folder cannot be written to; nothing was changed.
    """
    sheet = align_sheet(measured, printing)
    names = frozenset(name for take in measured.take for name in (take.take, *_labels(take)))
    return put_all({"alignment.pdf": set_sheet("alignment", sheet, printing, names)}, folder)


def _labels(take: TakeAlignment) -> Iterator[str]:
    for pair in take.pair:
        yield from (pair.a, pair.b)
    yield from (label for one in take.finding for label in one.track if one.kind != "temperature")
    yield from (shift.track for shift in take.shift)


def align_sheet(measured: Alignment, printing: Printing) -> AlignSheet:
    """Make the data of the sheet."""
    head = printing.head("time and polarity", counted(len(measured.take), "take", printing.language), measured.show)
    return AlignSheet(head, tuple(_page(take) for take in measured.take))


def _page(take: TakeAlignment) -> AlignPage:
    sure = sum(pair.confidence >= SURE for pair in take.pair)
    told = [pair for pair in take.pair if pair.confidence >= TOLD]
    heard = {pair.b for pair in told}
    mics = tuple(dict.fromkeys(name for pair in sorted(told, key=_far) for name in (pair.a, pair.b) if name in heard))
    ticks, points = _plot(told)
    return AlignPage(
        take=take.take,
        summary=f"{clock(take.frames / take.rate_hz)} at {take.rate_hz / 1000:g} kHz, "
        f"{counted(len(take.pair), 'way')}, {sure} of them sure",
        ticks=ticks,
        points=points,
        mics=mics,
        rows=_rows(told, mics),
        found=tuple(Found(one.severity, one.track, one.says, one.remedy) for one in take.finding),
        shifts=tuple(_offered(shift) for shift in take.shift),
        fitted=_fitted(take),
        not_known=take.not_known,
    )


def _far(pair: PairDelay) -> bool:
    """Overheads, rooms and mixes come after the close tracks."""
    return pair.kind in ("overhead", "room", "house mix")


def _plot(pairs: Sequence[PairDelay]) -> tuple[tuple[Tick, ...], tuple[Point, ...]]:
    """Ways as drawn against ways as measured, in metres, on one scale for both axes."""
    ways = [(pair, _metres(pair)) for pair in pairs if pair.off_m is not None]
    if not ways:
        return (), ()
    values = [value for _, both in ways for value in both]
    low, high = min(0.0, *values), max(values)
    width = max(high - low, 0.5) * 1.05
    step = next((step for step in STEPS_M if width / step <= 9), STEPS_M[-1])
    first = int(low // step)
    ticks = [Tick((n * step - low) / width, figure(n * step)) for n in range(first, int((low + width) / step) + 1)]
    far = sorted((pair for pair, _ in ways if _is_off(pair)), key=lambda pair: -abs(pair.off_m or 0.0))[:MOST_NAMED]
    points = [
        Point(
            round((drawn - low) / width, 4),
            round((there - low) / width, 4),
            pair.confidence >= SURE,
            f"{pair.a} in {pair.b}" if pair in far else "",
        )
        for pair, (drawn, there) in ways
    ]
    return tuple(tick for tick in ticks if 0 <= tick.at <= 1), tuple(points)


def _metres(pair: PairDelay) -> tuple[float, float]:
    """The way as drawn and as measured."""
    off = pair.off_m or 0.0
    apart = pair.delay - (pair.drawn or 0.0)
    per_sample = off / apart if abs(apart) > 0.2 else 0.007
    drawn = (pair.drawn or 0.0) * per_sample
    return drawn, drawn + off


def _is_off(pair: PairDelay) -> bool:
    return pair.confidence >= SURE and pair.off_m is not None and abs(pair.off_m) >= FAR_OFF_M


def _rows(pairs: Sequence[PairDelay], mics: Sequence[str]) -> tuple[Row, ...]:
    rows = []
    for a in dict.fromkeys(pair.a for pair in pairs):
        by_mic = {pair.b: pair for pair in pairs if pair.a == a}
        rows.append(Row(a, tuple(_cell(by_mic[mic]) if mic in by_mic else None for mic in mics)))
    return tuple(rows)


def _cell(pair: PairDelay) -> Cell:
    down = pair.polarity != (pair.polarity_drawn or 1)
    return Cell(figure(pair.delay), pair.confidence >= SURE, down, _is_off(pair))


def _offered(shift: Shift) -> Offered:
    return Offered(
        track=shift.track,
        later=figure(shift.samples, 0 if float(shift.samples).is_integer() else 2, sign=True),
        flip="yes" if shift.flip else "",
        why=shift.why,
        apply="apply" if shift.apply else "taste",
    )


def _fitted(take: TakeAlignment) -> str:
    if take.fitted is None:
        return ""
    one = take.fitted
    return (
        f"{one.pairs} ways fit air of {figure(one.temperature_c)} °C, give or take "
        f"{figure(one.temperature_plus_minus)}; {figure(100 * one.rest_m)} cm are left between drawing and delays."
    )
