"""Marks of a drawing as SVG for a screen: inks are classes, so that the light of the page decides their colour."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape

from fieldfare.sheets.drawing.marks import (
    FAINT,
    INK,
    PALE,
    SOFT,
    TROUBLE,
    WHITE,
    Disc,
    Line,
    Mark,
    Panel,
    Point,
    Tape,
    Words,
)

CLASSES = {
    INK: "ink",
    SOFT: "soft",
    FAINT: "faint",
    PALE: "pale",
    "#0000000A": "pale",
    WHITE: "paper",
    TROUBLE: "trouble",
}
MM_PER_PT = 25.4 / 72
SIZES_PT = {"loud": 9.0, "name": 8.0, "small": 7.5, "axis": 6.5}
BOLD = ("loud", "name")
NUMBER_MM, BAND_MM, AIR_MM = 4.6, 1.8, 0.8
DASHES = {"dashed": "1.6 1.1", "dotted": "0.3 0.7"}


def panels_svg(panels: Iterable[Panel]) -> str:
    """Draw panels, the upper ones last, each cut off at its frame."""
    return "".join(_panel(panel, f"clip{number}") for number, panel in enumerate(panels))


def _panel(panel: Panel, clip: str) -> str:
    left, top, right, bottom = panel.frame
    frame = f'<rect x="{left:g}" y="{top:g}" width="{right - left:g}" height="{bottom - top:g}"/>'
    marks = "".join(part for mark in panel.marks for part in _mark_svg(mark))
    return f'<clipPath id="{clip}">{frame}</clipPath><g clip-path="url(#{clip})">{marks}</g>'


def _mark_svg(mark: Mark) -> Iterator[str]:
    """Draw one mark."""
    if isinstance(mark, Line):
        shape = "polygon" if mark.closed else "polyline"
        points = " ".join(f"{x:.2f},{y:.2f}" for x, y in mark.points)
        yield f'<{shape} points="{points}"{_stroke(mark.ink, mark.weight, mark.dash)}{_fill(mark.fill)}/>'
    elif isinstance(mark, Disc):
        at = f'cx="{mark.at[0]:.2f}" cy="{mark.at[1]:.2f}" r="{mark.radius:.2f}"'
        yield f"<circle {at}{_stroke(mark.ink, mark.weight, mark.dash)}{_fill(mark.fill)}/>"
    elif isinstance(mark, Words):
        yield from _words(mark)
    else:
        yield from _tape(mark)


def _stroke(ink: str, weight: float, dash: str = "") -> str:
    if not weight:
        return ' stroke="none"'
    colour = f' class="s-{CLASSES[ink]}"' if ink in CLASSES else f' stroke="{escape(ink)}"'
    dashes = f' stroke-dasharray="{DASHES[dash]}"' if dash else ""
    return f'{colour} stroke-width="{weight:g}"{dashes}'


def _fill(fill: str) -> str:
    if not fill:
        return ' fill="none"'
    return f' fill="var(--{CLASSES[fill]})"' if fill in CLASSES else f' fill="{escape(fill)}"'


def _words(mark: Words) -> Iterator[str]:
    size = SIZES_PT[mark.style] * MM_PER_PT
    ink = CLASSES.get(mark.ink, "ink")
    weight = "bold" if mark.style in BOLD else "plain"
    for number, line in enumerate(_lines(mark.text, mark.width / size if mark.width else 0)):
        y = mark.at[1] + 0.5 + size * 0.82 + number * size * 1.12
        yield _text(line, (mark.at[0] + 0.5, y), size, f"t-{ink} {weight} halo")


def _ems(text: str) -> float:
    """How wide a text is in the condensed cut, re its size: no narrower than it is drawn."""
    return sum(0.25 if letter in "fijlrt1 ,." else 0.64 if letter in "mwMW" else 0.43 for letter in text)


def _lines(text: str, ems: float) -> list[str]:
    """Break a text where a line would be wider than so many times its size; 0: never."""
    lines: list[str] = []
    for word in text.split(" "):
        if lines and (not ems or _ems(f"{lines[-1]} {word}") <= ems):
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines


def _tape(mark: Tape) -> Iterator[str]:
    (x, y), (width, height), strip = mark.at, mark.size, mark.strip
    size = SIZES_PT["name"] * MM_PER_PT
    kind = "tape-out" if strip.left_out else "tape-strip"
    yield f'<rect x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}" class="{kind}"/>'
    base = y + height / 2 + size * 0.34
    yield _text(strip.number, (x + NUMBER_MM / 2, base), size, "t-ink bold middle")
    tail = (BAND_MM if strip.bands else 0) + _length_mm(strip.length)
    for number, band in enumerate(strip.bands):
        high = (height - 1.0) / len(strip.bands)
        at = f'x="{x + width - tail - 0.5:.2f}" y="{y + 0.5 + number * high:.2f}" width="{BAND_MM}" height="{high:.2f}"'
        yield f'<rect {at}{_fill(band or WHITE)} class="s-ink" stroke-width="0.18"/>'
    if strip.length:
        yield _text(strip.length, (x + width - 0.6, base), size * 0.82, "t-ink plain end")
    if strip.label:
        at = f'x1="{x + NUMBER_MM:.2f}" x2="{x + NUMBER_MM:.2f}" y1="{y:.2f}" y2="{y + height:.2f}"'
        yield f'<line {at} class="s-faint" stroke-width="0.2"/>'
        yield from _label(mark, tail, size)


def _length_mm(text: str) -> float:
    """How wide a strip's cable length is set, with its air."""
    return _ems(text) * SIZES_PT["name"] * MM_PER_PT * 0.82 + 0.9 if text else 0.0


def _label(mark: Tape, tail: float, size: float) -> Iterator[str]:
    (x, y), (width, height) = mark.at, mark.size
    room = width - NUMBER_MM - tail - 2 * AIR_MM - 0.4
    count = max(1, round((height - 1.7) / (size * 1.15)))
    lines = _lines(mark.strip.label, _ems(mark.strip.label) / count + 2.5) if count > 1 else [mark.strip.label]
    top = y + height / 2 - (len(lines) - 1) * size * 0.55
    for number, line in enumerate(lines):
        needs = _ems(line) * size
        squeeze = f' textLength="{room:.2f}" lengthAdjust="spacingAndGlyphs"' if needs > room * 1.25 else ""
        at = (x + NUMBER_MM + AIR_MM, top + number * size * 1.1 + size * 0.34)
        yield _text(line, at, size, "t-ink bold", squeeze)


def _text(text: str, at: Point, size: float, kind: str, more: str = "") -> str:
    return f'<text x="{at[0]:.2f}" y="{at[1]:.2f}" font-size="{size:.2f}" class="{kind}"{more}>{escape(text)}</text>'
