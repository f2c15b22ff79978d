"""What stands and lies on the stage, as marks of the drawing and captions that still want a place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import cos, hypot, radians, sin

from fieldfare.sheets.colours import bands
from fieldfare.sheets.drawing import symbols
from fieldfare.sheets.drawing.lanes import Wall, in_lanes
from fieldfare.sheets.drawing.marks import (
    INK,
    SOFT,
    TROUBLE,
    WHITE,
    Disc,
    Line,
    Mark,
    Point,
    Rect,
    Tape,
    Words,
    grown,
)
from fieldfare.sheets.drawing.view import View
from fieldfare.sheets.strips import Strip
from fieldfare.sheets.wording import Units, length, run_words
from fieldfare.show.plan import Plan, PlannedInput
from fieldfare.show.record import Place
from fieldfare.show.show import Show
from fieldfare.show.venue import Venue

SOURCE_M = 0.25  # radius of a player or an instrument of no stated size
PIECES_M = {"kick": 0.28, "snare": 0.18, "hat": 0.18, "tom": 0.17, "ride": 0.26, "cymbals": 0.24}
BIT_MM = 3.0  # runs are kept clear of labels in bits of this length
RUN_MM = 0.85


@dataclass(frozen=True, slots=True)
class Caption:
    """A label that wants a place near its anchor."""

    piece: Words | Tape
    anchor: Point
    clear: float = 1.6
    pull: float = 1.0
    inside: Rect | None = None
    leader: bool = True


@dataclass(frozen=True, slots=True)
class Outline:
    """Something that sounds, as a circle on the plan."""

    name: str
    at: Place
    radius_m: float
    possible: bool


@dataclass(slots=True)
class Scene:
    """Marks from the floor up, captions, and what captions must not or should not cover."""

    marks: list[Mark] = field(default_factory=list)
    captions: list[Caption] = field(default_factory=list)
    symbols: list[Rect] = field(default_factory=list)
    soft: list[tuple[Rect, float]] = field(default_factory=list)

    def add(self, *parts: Scene) -> Scene:
        """Lay other scenes over this one."""
        for part in parts:
            self.marks += part.marks
            self.captions += part.captions
            self.symbols += part.symbols
            self.soft += part.soft
        return self


def building(view: View, venue: Venue, units: Units) -> Scene:
    """Draw the stage, its risers and the ground that must stay clear."""
    scene = Scene()
    for keep in venue.keep_clear:
        rect = view.rect(keep.at, keep.size_m)
        scene.marks += [symbols.outline(rect, 0.0, WHITE, fill=WHITE), *symbols.hatch(rect, TROUBLE)]
        scene.marks.append(symbols.outline(rect, 0.35, TROUBLE, "dashed"))
        scene.soft.append((rect, 0.01))
        room = rect[2] - rect[0] - 2
        name = Words((0, 0), f"{keep.name}: keep clear, no cable", "name", min(30.0, max(20.0, room)))
        inside = rect if room >= 20.0 else grown(rect, 9.0)
        scene.captions.append(Caption(name, _middle(rect), 0.0, 0.6, inside, leader=False))
    for riser in venue.riser:
        rect = view.rect(riser.at, riser.size_m)
        scene.marks.append(symbols.outline(rect, 0.35, INK, fill="#0000000A"))
        scene.soft += _edges(rect, 0.35)
        name = Words((0, 0), f"{riser.name}, +{length(riser.height_m, units)}", "small")
        scene.captions.append(Caption(name, (rect[0] + 10, rect[1] + 2), 0.0, 0.8, rect, leader=False))
    stage = view.rect((0, venue.stage.depth_m / 2), (venue.stage.width_m, venue.stage.depth_m))
    scene.marks.append(symbols.outline(stage, 0.7))
    scene.soft += _edges(stage, 0.8)
    return scene


def directions(view: View, venue: Venue, frame: Rect) -> Scene:
    """Name the downstage edge and the two sides as performers do."""
    stage = view.rect((0, venue.stage.depth_m / 2), (venue.stage.width_m, venue.stage.depth_m))
    left, top, right, bottom = stage
    middle_x, middle_y = _middle(stage)
    scene = Scene()
    for text, at, part in (
        ("downstage edge, audience", (middle_x, bottom + 5), (left, bottom + 1.5, right, min(bottom + 25, frame[3]))),
        ("stage right", (left - 6, middle_y), (frame[0], top, left - 1, bottom)),
        ("stage left", (right + 6, middle_y), (right + 1, top, frame[2], bottom)),
    ):
        words = Words((0, 0), text, "loud", 0.0 if part[2] - part[0] > 17 else 8.5, SOFT)
        scene.captions.append(Caption(words, at, 0.0, 0.4, part, leader=False))
    return scene


def mains(view: View, venue: Venue) -> Scene:
    """Draw the mains sockets, each with its circuit."""
    circuits = {one.name: one for one in venue.circuit}
    scene = Scene()
    for socket in venue.socket:
        middle = view.page(socket.at)
        circuit = circuits.get(socket.circuit)
        shared = f", shared with {circuit.shared_with}" if circuit and circuit.shared_with else ""
        rating = f"{circuit.rating_a:g} A, " if circuit else ""
        scene.marks += symbols.socket(middle)
        scene.symbols.append(_round(middle, 1.8))
        text = f"{rating}{socket.circuit}{shared}"
        scene.captions.append(Caption(Words((0, 0), text, "small", 32.0), middle, 2.2))
    return scene


def sounding(view: View, outlines: Sequence[Outline], named: Iterable[str]) -> Scene:
    """Draw what sounds; those whose strip does not name them are named here, and those only possible are dashed."""
    scene = Scene()
    named = set(named)
    for one in dict.fromkeys(outlines):
        middle = view.page(one.at)
        radius = one.radius_m * view.mm_per_m
        scene.marks.append(Disc(middle, radius, 0.25, SOFT, "dashed" if one.possible else ""))
        scene.soft.append((_round(middle, radius * 0.8), 0.02))
        if one.name in named:
            text = f"{one.name}, possible" if one.possible else one.name
            scene.captions.append(Caption(Words((0, 0), text, "small", 30.0, SOFT), middle, 0.5))
            named.discard(one.name)
    return scene


def monitors(view: View, show: Show) -> Scene:
    """Draw the wedges."""
    scene = Scene()
    for wedge in show.wedge:
        middle = view.page(wedge.at)
        scene.marks.append(symbols.wedge(view, middle, wedge.facing_deg))
        scene.symbols.append(_round(middle, 0.22 * view.mm_per_m))
        turn = radians(wedge.facing_deg)
        behind = (middle[0] - cos(turn) * 2, middle[1] + sin(turn) * 2)
        clear = 0.22 * view.mm_per_m
        scene.captions.append(Caption(Words((0, 0), wedge.name, "small", ink=SOFT), behind, clear, leader=False))
    return scene


def boxes(view: View, plan: Plan, venue: Venue, units: Units) -> Scene:
    """Draw our boxes and those of the house."""
    scene = Scene()
    for box in plan.box:
        middle = view.page(box.at)
        scene.marks.append(symbols.stage_box(middle))
        scene.symbols.append(grown(_round(middle, 1.7), 0.9))
        used = sum(row.box == box.tag for row in plan.input)
        tail = f", tail {length(box.tail_m, units)}" if box.tail_m else ""
        text = f"{box.tag}, {used} of {box.sockets} lines{tail}"
        scene.captions.append(Caption(Words((0, 0), text, "name", 34.0), middle, 3.0, 1.6))
    for house in venue.house_box:
        middle = view.page(house.at)
        scene.marks.append(symbols.house_box(middle))
        scene.symbols.append(grown(_round(middle, 1.7), 0.9))
        scene.captions.append(
            Caption(Words((0, 0), f"{house.name}, house, {house.lines} lines", "small", 30.0), middle, 3.0)
        )
    return scene


def runs(view: View, rows: Sequence[PlannedInput], venue: Venue) -> Scene:
    """Draw every cable where it lies, in its colour between two edges of ink."""
    drawn = in_lanes([[view.page(point) for point in row.run.points] for row in rows], _walls(view, venue))
    scene = Scene()
    for row, points in zip(rows, drawn, strict=True):
        if len(points) < 2:
            continue
        shades = [shade or SOFT for cable in row.cable for shade in bands(cable.colour)] or [WHITE]
        scene.marks += [Line(points, RUN_MM), Line(points, RUN_MM - 0.35, shades[0])]
        scene.marks += [Line(points, RUN_MM - 0.35, shade, "dashed") for shade in shades[1:2]]
        scene.soft += [(rect, 0.22) for rect in _bits(points)]
    return scene


def trunk(view: View, plan: Plan, frame: Rect, units: Units) -> Scene:
    """Draw the way of the trunk to the recordist."""
    scene = Scene()
    if plan.trunk_run is None or len(plan.trunk_run.points) < 2:
        return scene
    points = tuple(view.page(point) for point in plan.trunk_run.points)
    scene.marks.append(Line(points, 1.1))
    scene.soft += [(rect, 0.4) for rect in _bits(points)]
    seen = [_middle(rect) for rect in _bits(points)]
    seen = [(x, y) for x, y in seen if frame[0] < x < frame[2] and frame[1] < y < frame[3]]
    if seen:
        tag = next((box.tag for box in plan.box if box.trunk), "")
        text = f"trunk {tag}, {length(plan.trunk_run.laid_m, units)}, to the recordist".replace("  ", " ")
        scene.captions.append(Caption(Words((0, 0), text, "name", 34.0), seen[len(seen) // 2], 1.6, 2.0))
    return scene


def inputs(view: View, rows: Sequence[PlannedInput], units: Units, short: frozenset[str] = frozenset()) -> Scene:
    """Draw microphones and DIs with their tape strips; those in `short` wear their number alone."""
    scene = Scene()
    for row in rows:
        middle = view.page(row.at[:2])
        if row.taking in ("di", "line"):
            scene.marks += symbols.direct_box(middle)
        else:
            scene.marks += symbols.microphone(row.pattern, row.aim, middle)
            scene.soft.append((_round(middle, symbols.POLAR_MM * 0.7), 0.03))
        scene.symbols.append(_round(middle, 1.7))
        scene.captions.append(Caption(Tape((0, 0), _drawn_strip(row, units, row.id in short)), middle, 2.4))
    return scene


def _drawn_strip(row: PlannedInput, units: Units, short: bool = False) -> Strip:
    """Return the strip as the drawing wears it: with its cable in words, or its number alone."""
    shades = tuple(shade for cable in row.cable for shade in bands(cable.colour))
    if short:
        return Strip(str(row.number), "", shades)
    return Strip(str(row.number), row.label, shades, run_words(row.cable, units))


def recordist(view: View, venue: Venue, frame: Rect) -> Scene:
    """Draw where the recordist sits."""
    rect = view.rect(venue.recordist.at[:2], venue.recordist.table_m)
    scene = Scene(marks=[symbols.outline(rect, 0.5, fill=WHITE)])
    middle = _middle(rect)
    if frame[0] < middle[0] < frame[2] and frame[1] < middle[1] < frame[3]:
        scene.symbols.append(rect)
        scene.captions.append(Caption(Words((0, 0), "recordist", "name"), middle, max(2.0, rect[3] - middle[1] + 0.8)))
    return scene


def cameras(view: View, show: Show, frame: Rect) -> Scene:
    """Draw the cameras that stand within the frame."""
    scene = Scene()
    for one in show.camera:
        middle = view.page(one.at[:2])
        if frame[0] < middle[0] < frame[2] and frame[1] < middle[1] < frame[3]:
            scene.marks.append(symbols.camera(middle))
            scene.symbols.append(_round(middle, 1.7))
            scene.captions.append(Caption(Words((0, 0), one.name, "small"), middle, 2.0))
    return scene


def _walls(view: View, venue: Venue) -> list[Wall]:
    """The inner side of the stage's edges and the outer side of the risers', as cable lies along them."""
    stage = view.rect((0, venue.stage.depth_m / 2), (venue.stage.width_m, venue.stage.depth_m))
    walls = list(_sides(stage, inward=True))
    for riser in venue.riser:
        walls += _sides(view.rect(riser.at, riser.size_m), inward=False)
    return walls


def _sides(rect: Rect, *, inward: bool) -> Iterator[Wall]:
    left, top, right, bottom = rect
    turn = 1.0 if inward else -1.0
    yield Wall((left, top), (right, top), (0, turn))
    yield Wall((left, bottom), (right, bottom), (0, -turn))
    yield Wall((left, top), (left, bottom), (turn, 0))
    yield Wall((right, top), (right, bottom), (-turn, 0))


def _bits(points: Sequence[Point]) -> Iterator[Rect]:
    for start, end in pairwise(points):
        count = max(1, round(hypot(end[0] - start[0], end[1] - start[1]) / BIT_MM))
        for step in range(count):
            a, b = step / count, (step + 1) / count
            xs = sorted(start[0] + (end[0] - start[0]) * share for share in (a, b))
            ys = sorted(start[1] + (end[1] - start[1]) * share for share in (a, b))
            yield grown((xs[0], ys[0], xs[1], ys[1]), RUN_MM / 2)


def _edges(rect: Rect, weight: float) -> Iterator[tuple[Rect, float]]:
    left, top, right, bottom = rect
    for edge in (
        (left, top, right, top), (left, bottom, right, bottom), (left, top, left, bottom), (right, top, right, bottom)
    ):  # fmt: skip
        yield grown(edge, 0.5), weight


def _round(middle: Point, radius: float) -> Rect:
    return middle[0] - radius, middle[1] - radius, middle[0] + radius, middle[1] + radius


def _middle(rect: Rect) -> Point:
    return (rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2
