"""The stage drawing: a plan to scale with a metre grid, the downstage edge at the bottom, and a title block."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot

from fieldfare.plan.recipes import Recipe
from fieldfare.sheets.drawing import scene as draw
from fieldfare.sheets.drawing import symbols
from fieldfare.sheets.drawing.marks import SOFT, Line, Mark, Panel, Rect, Tape, Words, grown
from fieldfare.sheets.drawing.outlines import outlines
from fieldfare.sheets.drawing.placer import Ground, Wish, leader, place_labels
from fieldfare.sheets.drawing.scene import Caption, Outline, Scene
from fieldfare.sheets.drawing.view import Layout, View, lay_out
from fieldfare.sheets.head import SIZE_MM, Head, Setting
from fieldfare.sheets.language import Language, said
from fieldfare.sheets.strips import Strip, strip_of
from fieldfare.sheets.typeset import measured
from fieldfare.sheets.wording import FOOT_M, Units, day, length
from fieldfare.show.kit import Kit
from fieldfare.show.plan import PlannedInput
from fieldfare.show.record import Place
from fieldfare.units.text import figure, listed

SIDE_MM, TOP_MM, BOTTOM_MM = 10.0, 25.0, 15.0
BLOCK_MM = 17.0  # height of the title block
AXIS_MM = 4.5  # kept free for the figures of the grid, at the left and at the bottom
NEAR_M = 1.5  # what stands farther than this from the stage is in the overview


@dataclass(frozen=True, slots=True)
class Field:
    """One data field of the title block."""

    field: str
    value: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """The stage as drawn."""

    panels: tuple[Panel, ...]
    layout: Layout
    key: tuple[Strip, ...]  # of the strips that wear their number alone


@dataclass(frozen=True, slots=True)
class StageSheet:
    """Everything on the drawing."""

    head: Head
    width_mm: float
    height_mm: float
    panels: tuple[Panel, ...]
    block_mm: float
    fields: tuple[Field, ...]
    key: tuple[Strip, ...]  # of the strips that wear their number alone


def stage_sheet(setting: Setting, kit: Kit, recipes: Mapping[str, Recipe] | None = None) -> StageSheet:
    """Make the data of the stage drawing.

    Parameters
    ----------
    setting
        Plan, show and venue.
    kit
        For its owner's name in the title block.
    recipes
        What a source is made of, by the recipe's name, for its outlines; the program's own where none are given.
    """
    height, width = SIZE_MM[setting.paper]
    area = (0.0, 0.0, round(width - 2 * SIDE_MM, 2), round(height - TOP_MM - BOTTOM_MM, 2))
    drawn = stage_drawing(setting, area, recipes)
    return StageSheet(
        head=setting.head("stage"),
        width_mm=area[2],
        height_mm=area[3],
        panels=drawn.panels,
        block_mm=BLOCK_MM,
        fields=_fields(setting, kit, drawn.layout),
        key=drawn.key,
    )


def stage_drawing(
    setting: Setting, area: Rect, recipes: Mapping[str, Recipe] | None = None, *, overview: bool = True
) -> Drawing:
    """Draw the stage on a part of a page or of a screen.

    Parameters
    ----------
    setting
        Plan, show and venue.
    area
        Where to draw; the lower edge holds the scale bar. [mm]
    recipes
        By name, for the outlines of sources; the program's own where none are given.
    overview
        Whether what lies far from the stage gets an overview of its own.
    """
    frame = (area[0], area[1], area[2], area[3] - BLOCK_MM - 2.0)
    layout = lay_out(frame, _near(setting), _far(setting) if overview else [], (_summary_rect(),))
    panels, short = _panels(setting, frame, layout, outlines(setting.show, setting.venue, recipes))
    return Drawing(
        panels=(*panels, Panel(area, tuple(_scale_bar(layout.main, area, setting.units)))),
        layout=layout,
        key=tuple(strip_of(row, setting.units) for row in setting.plan.rigged if row.id in short),
    )


def _near(setting: Setting) -> list[Place]:
    """Return the corners of the stage and of all that belongs in the main view."""
    venue, plan, show = setting.venue, setting.plan, setting.show
    half, deep = venue.stage.width_m / 2, venue.stage.depth_m
    places: list[Place] = [(-half, 0.0), (half, deep)]
    for keep in venue.keep_clear:
        (x, y), (wide, high) = keep.at, keep.size_m
        places += [(x - wide / 2, y - high / 2), (x + wide / 2, y + high / 2)]
    places += [one.at for one in venue.socket] + [one.at for one in venue.house_box] + [one.at for one in plan.box]
    places += [one.at for one in show.wedge] + [one.at for one in show.sources]
    places += [row.at[:2] for row in plan.rigged]
    return [(x, y) for x, y in places if -half - NEAR_M <= x <= half + NEAR_M and -NEAR_M <= y <= deep + NEAR_M]


def _far(setting: Setting) -> list[Place]:
    """Return the places that the overview has to show when they lie beyond the main view."""
    table = setting.venue.recordist
    x, y, _ = table.at
    wide, high = table.table_m
    places: list[Place] = [(x - wide / 2, y - high / 2), (x + wide / 2, y + high / 2)]
    if setting.plan.trunk_run:
        places += setting.plan.trunk_run.points
    return [*places, *(one.at[:2] for one in setting.show.camera), *(row.at[:2] for row in setting.plan.rigged)]


def _panels(
    setting: Setting, frame: Rect, layout: Layout, sounding: Sequence[Outline]
) -> tuple[list[Panel], frozenset[str]]:
    """Draw the main view and, where there is one, the overview; say whose strips had no room for their words."""
    short: frozenset[str] = frozenset()
    kept = [_summary_rect(), *([layout.inset_frame] if layout.inset_frame else [])]
    while True:
        scene = _said(_main_scene(setting, frame, layout.main, sounding, short), setting.language)
        placed = _placed(scene, (frame[0] + AXIS_MM, frame[1], frame[2], frame[3] - AXIS_MM + 1), kept)
        rows = _within(setting.plan.rigged, layout.main, frame)
        crowded = {
            row.id
            for row, rect in zip(rows, placed[-len(rows) :] if rows else [], strict=True)
            if rect is None and row.id not in short
        }
        if not crowded:
            break
        short |= crowded
    marks = [
        *scene.marks,
        *_captioned(scene.captions, placed),
        *_summary(setting),
        *_axes(layout.main, frame, setting.units),
        symbols.outline(frame, 0.5),
    ]
    panels = [Panel(frame, tuple(marks))]
    if layout.inset and layout.inset_frame:
        away = [row for row in setting.plan.rigged if row not in rows]
        panels.append(_overview(setting, layout.inset, layout.inset_frame, away))
    return panels, short


def _main_scene(
    setting: Setting, frame: Rect, view: View, sounding: Sequence[Outline], short: frozenset[str] = frozenset()
) -> Scene:
    """Lay out the main view, from the grid up to the strips. The strips' captions are the last."""
    plan, show, venue, units = setting.plan, setting.show, setting.venue, setting.units
    rows = _within(plan.rigged, view, frame)
    kept = {row.source for row in plan.rigged}
    unnamed = {one.name for one in show.sources} - kept
    grid = Scene(marks=list(symbols.grid(view, frame, _grid_m(units))))
    return grid.add(
        draw.building(view, venue, units),
        draw.directions(view, venue, frame),
        draw.runs(view, rows, venue),
        draw.trunk(view, plan, frame, units),
        draw.recordist(view, venue, grown(frame, -6.0)),
        draw.cameras(view, show, grown(frame, -6.0)),
        draw.sounding(view, sounding, unnamed),
        draw.monitors(view, show),
        draw.mains(view, venue),
        draw.boxes(view, plan, venue, units),
        draw.inputs(view, rows, units, short),
    )


def _within(rows: Sequence[PlannedInput], view: View, frame: Rect) -> list[PlannedInput]:
    """Return the inputs whose microphone lies inside a frame."""
    left, top, right, bottom = frame
    return [
        row for row in rows for x, y in [view.page(row.at[:2])] if left + 2 < x < right - 2 and top + 2 < y < bottom - 2
    ]


def _overview(setting: Setting, view: View, box: Rect, away: Sequence[PlannedInput]) -> Panel:
    """Draw where the recordist sits, the way of the trunk, and what stands far from the stage."""
    plan, show, venue, units = setting.plan, setting.show, setting.venue, setting.units
    stage = view.rect((0, venue.stage.depth_m / 2), (venue.stage.width_m, venue.stage.depth_m))
    scene = Scene(marks=[symbols.outline(box, 0.0, "#FFFFFF", fill="#FFFFFF")])
    scene.marks += symbols.grid(view, box, _grid_m(units) * (1 if view.scale <= 100 else 5))
    for keep in venue.keep_clear:
        scene.marks.append(symbols.outline(view.rect(keep.at, keep.size_m), 0.2, "#A9241B", "dashed"))
    scene.marks.append(symbols.outline(stage, 0.5))
    scene.captions.append(
        Caption(Words((0, 0), "stage", "small"), ((stage[0] + stage[2]) / 2, (stage[1] + stage[3]) / 2), 0, 0.5)
    )
    scene.add(
        draw.trunk(view, plan, box, units),
        draw.recordist(view, venue, box),
        draw.cameras(view, show, box),
        draw.inputs(view, away, units, frozenset(row.id for row in away)),
    )
    scene = _said(scene, setting.language)
    title = Words((box[0] + 1.2, box[1] + 1.0), f"Overview 1:{view.scale}", "name")
    placed = _placed(scene, box, [(box[0], box[1], box[0] + 28, box[1] + 5)])
    return Panel(box, (*scene.marks, *_captioned(scene.captions, placed), title, symbols.outline(box, 0.35)))


def _said(scene: Scene, language: Language) -> Scene:
    """Say the captions in the sheet's language before they are measured."""
    captions = [
        replace(one, piece=replace(one.piece, text=said(one.piece.text, language)))
        if isinstance(one.piece, Words)
        else one
        for one in scene.captions
    ]
    return replace(scene, captions=captions)


def _placed(scene: Scene, frame: Rect, kept: Sequence[Rect]) -> list[Rect | None]:
    """Find a place for every caption of a scene."""
    if not scene.captions:
        return []
    sizes = measured([one.piece for one in scene.captions])
    wishes = [
        Wish(size, one.anchor, one.clear, one.pull, one.inside) for one, size in zip(scene.captions, sizes, strict=True)
    ]
    return place_labels(wishes, Ground(grown(frame, -1.0), tuple(kept), tuple(scene.soft), tuple(scene.symbols)))


def _captioned(captions: Sequence[Caption], placed: Sequence[Rect | None]) -> Iterator[Mark]:
    """Draw captions where they were placed, with a leader where they stand off; one without a place is left out."""
    for one, rect in zip(captions, placed, strict=True):
        if rect is not None and one.leader:
            start, end = leader(one.anchor, rect)
            near = 0.2 if isinstance(one.piece, Tape) else 1.5  # a strip is always tied to its microphone
            if hypot(end[0] - start[0], end[1] - start[1]) > one.clear + near:
                yield Line((start, end), 0.2)
    for one, rect in zip(captions, placed, strict=True):
        if rect is None:
            continue
        if isinstance(one.piece, Tape):
            yield replace(one.piece, at=(rect[0], rect[1]), size=(rect[2] - rect[0], rect[3] - rect[1]))
        else:
            yield replace(one.piece, at=(rect[0], rect[1]))


def _axes(view: View, frame: Rect, units: Units) -> Iterator[Mark]:
    """Write at the grid how far it is from the middle of the downstage edge."""
    left, top, right, bottom = frame
    step_m = _grid_m(units)
    per = 1 if units == "m" else 5
    for line in symbols.grid(view, frame, step_m):
        (x, y), (_, other_y) = line.points
        upright = y != other_y
        metres = view.stage((x, y))[0] if upright else view.stage((x, y))[1]
        text = figure(metres / step_m * per)
        if upright and left + 8 < x < right - 8:
            yield Words((x - 1.4, bottom - 3.4), text, "axis", ink=SOFT)
        elif not upright and top + 14 < y < bottom - 8:
            yield Words((left + 0.6, y - 1.5), text, "axis", ink=SOFT)


def _grid_m(units: Units) -> float:
    return 1.0 if units == "m" else 5 * FOOT_M


def _summary_rect() -> Rect:
    return (0.0, 0.0, 112.0, 11.0)


def _summary(setting: Setting) -> Iterator[Mark]:
    """Say in two lines how much cable lies there, and whether any lies where it must not."""
    plan, units = setting.plan, setting.units
    stage = setting.venue.stage
    wide, deep, high = (length(one, units) for one in (stage.width_m, stage.depth_m, stage.height_m))
    size = f"Stage {wide} wide, {deep} deep, {high} high."
    if not plan.input:
        yield Words((1.5, 1.2), f"{size} No inputs yet: the venue alone.", "name")
        return
    cables = {cable.tag: cable for row in plan.rigged for cable in row.cable}.values()
    counts = Counter(cable.colour or f"of {length(cable.length_m, units)}" for cable in cables)
    total = length(sum(cable.length_m for cable in cables), units)
    leads = sum(counts.values())
    colours = listed(f"{count} {colour}" for colour, count in sorted(counts.items(), key=lambda one: (-one[1], one[0])))
    crossed = sorted({name for row in plan.rigged for name in row.run.crosses})
    clear = f"Cable crosses {listed(crossed)}: see trouble." if crossed else "No cable crosses keep-clear ground."
    yield Words((1.5, 1.2), f"{total} of cable in {leads} leads: {colours}.", "name")
    yield Words((1.5, 5.6), f"{size} {clear}", "small")


def _scale_bar(view: View, area: Rect, units: Units) -> Iterator[Mark]:
    """Draw the bar, the key of signs and the drawing's scale, left of the title block."""
    unit_m, name, per = (1.0, "m", 1) if units == "m" else (5 * FOOT_M, "ft", 5)
    unit_mm = unit_m * view.mm_per_m
    count = max(1, min(5, int(56 / unit_mm)))
    base = area[3] - BLOCK_MM + 5.2
    yield from symbols.scale_bar(2.0, base, unit_mm, count)
    for step in range(count + 1):
        text = f"{step * per} {name}" if step == count else str(step * per)
        yield Words((2.0 + step * unit_mm - 0.5, base + 0.2), text, "axis")
    yield Words((2.0, base - 5.4), f"Scale 1:{view.scale}, grid {length(_grid_m(units), units)}", "name")
    y = area[3] - 3.6
    yield from symbols.microphone(None, (1, 0, 0), (3.4, y))
    yield Words((6.6, y - 3.2), "microphone: bar at its front, dot where it looks straight down;", "axis")
    yield Words((6.6, y - 0.5), "round it the polar curve in the level plane", "axis")
    yield from symbols.direct_box((62.0, y))
    yield Words((64.5, y - 3.2), "DI or line output", "axis", width=12.0)


def _fields(setting: Setting, kit: Kit, layout: Layout) -> tuple[Field, ...]:
    """Fill the data fields of ISO 7200; what nobody has said stays blank."""
    show, plan = setting.show, setting.plan
    return (
        Field("Legal owner", kit.owner_name or show.recordist),
        Field("Title", f"{show.title}, stage"),
        Field("Supplementary title", f"{setting.venue.name}, {day(show.date)}"),
        Field("Identification number", f"{plan.digest[:8].upper()}-ST"),
        Field("Document type", "Stage drawing, plan"),
        Field("Created by", show.recordist),
        Field("Approved by", ""),
        Field("Revision", setting.revision),
        Field("Date of issue", day(setting.printed.date())),
        Field("Language", setting.language),
        Field("Scale", f"1:{layout.main.scale}"),
    )
