from __future__ import annotations

from functools import cache
from itertools import combinations
from math import atan2, cos, degrees, hypot, pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets import example, pdf
from sheets.example import PRINTED

from fieldfare.sheets.drawing import symbols
from fieldfare.sheets.drawing.marks import Disc, Line, Panel, Rect, Tape, Words, grown, meets
from fieldfare.sheets.drawing.view import BORDER_MM, SCALES, View, lay_out
from fieldfare.sheets.head import Paper, Setting
from fieldfare.sheets.stage import StageSheet, stage_sheet
from fieldfare.sheets.typeset import measured, typeset
from fieldfare.show.kit import Pattern

PAPERS: tuple[Paper, ...] = ("a4", "letter")

# Omni shares of the patterns, as written out in tests/physics/test_microphones.py with their sources.
SHARES: dict[Pattern, float] = {
    "omni": 1.0, "subcardioid": 0.7, "cardioid": 0.5, "supercardioid": 0.366, "hypercardioid": 0.25,
    "figure of eight": 0,
}  # fmt: skip


@cache
def _sheet(count: int, paper: Paper, naming: example.Naming = example.english) -> StageSheet:
    documents = example.example(count, naming)
    setting = Setting(documents.plan, documents.show, documents.venue, paper, "C", PRINTED)
    return stage_sheet(setting, documents.kit)


def _labels(panel: Panel) -> list[tuple[str, Rect]]:
    """Every strip and every caption of a panel, the figures of the grid too, as large as they are set."""
    pieces = [mark for mark in panel.marks if isinstance(mark, Tape | Words)]
    sizes = measured(pieces)
    return [
        (mark.strip.label if isinstance(mark, Tape) else mark.text, (*mark.at, mark.at[0] + wide, mark.at[1] + high))
        for mark, (wide, high) in zip(pieces, sizes, strict=True)
    ]


def _holds(outer: Rect, inner: Rect) -> bool:
    return all(outer[i] <= inner[i] and inner[i + 2] <= outer[i + 2] for i in (0, 1))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(
    ("count", "naming"), [(20, example.english), (60, example.english), (20, example.long_names), (0, example.english)]
)
def test_no_two_labels_intersect_and_none_leaves_the_frame(count: int, naming: example.Naming, paper: Paper) -> None:
    sheet = _sheet(count, paper, naming)
    for panel in sheet.panels:
        labels = _labels(panel)
        for (one, rect), (other, taken) in combinations(labels, 2):
            assert not meets(rect, taken), f"{one} and {other}"
        for one, rect in labels:
            assert _holds(grown(panel.frame, 0.01), rect), one


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("count", [20, 60])
def test_no_label_covers_a_microphone(count: int, paper: Paper) -> None:
    sheet = _sheet(count, paper)
    main = sheet.panels[0]
    circles = [mark for mark in main.marks if isinstance(mark, Disc) and mark.radius == symbols.MIC_MM]
    assert len(circles) > count * 0.8
    for one, rect in _labels(main):
        for circle in circles:
            (x, y), radius = circle.at, circle.radius
            assert not meets(rect, (x - radius, y - radius, x + radius, y + radius)), one


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("count", [20, 60])
def test_every_input_has_its_strip(count: int, paper: Paper) -> None:
    sheet = _sheet(count, paper)
    strips = [mark.strip for mark in sheet.panels[0].marks if isinstance(mark, Tape)]
    assert sorted(int(strip.number) for strip in strips) == list(range(1, count + 1))
    short = {strip.number for strip in strips if not strip.label}
    assert {strip.number for strip in sheet.key} == short


def test_an_input_far_from_the_stage_is_in_the_overview() -> None:
    documents = example.example(20)
    far = documents.plan.input[-1].model_copy(update={"at": (0.0, -9.0, 2.5)})
    plan = documents.plan.model_copy(update={"input": (*documents.plan.input[:-1], far)})
    sheet = stage_sheet(Setting(plan, documents.show, documents.venue, "a4", "C", PRINTED), documents.kit)
    main, overview = ([mark.strip for mark in panel.marks if isinstance(mark, Tape)] for panel in sheet.panels[:2])
    assert "20" not in {strip.number for strip in main}
    assert [strip.number for strip in overview] == ["20"]


def test_the_scale_is_standard_the_stage_as_large_as_it_says_and_the_downstage_edge_at_the_bottom() -> None:
    sheet = _sheet(20, "a4")
    scale = next(field.value for field in sheet.fields if field.field == "Scale")
    assert scale == "1:50"
    stage = next(mark for mark in sheet.panels[0].marks if isinstance(mark, Line) and mark.weight == 0.7)
    (left, top), _, (right, bottom), _ = stage.points
    assert right - left == pytest.approx(7.0 * 1000 / 50)
    assert bottom - top == pytest.approx(4.2 * 1000 / 50)
    kick = next(mark for mark in sheet.panels[0].marks if isinstance(mark, Disc) and mark.radius == symbols.MIC_MM)
    assert kick.at == pytest.approx(((left + right) / 2, bottom - 2.55 * 20))
    words = {mark.text: mark.at for mark in sheet.panels[0].marks if isinstance(mark, Words)}
    assert words["downstage edge, audience"][1] > bottom
    assert words["stage right"][0] < left  # the performers face us: their right is our left
    assert words["stage left"][0] > right


def test_the_title_block_has_the_data_fields_of_iso_7200() -> None:
    """[ISO7200] as remembered: the mandatory fields and those optional ones that we can fill; unknown stays blank."""
    documents = example.example()
    setting = Setting(documents.plan, documents.show, documents.venue, "a4", "C", PRINTED)
    sheet = stage_sheet(setting, documents.kit)
    fields = {field.field: field.value for field in sheet.fields}
    assert fields["Approved by"] == ""
    text = pdf.all_words(typeset("stage", sheet, PRINTED))
    for name, value in fields.items():
        assert name in text
        assert value in text
    for name in ("Legal owner", "Identification number", "Title", "Document type", "Created by", "Date of issue"):
        assert fields[name], name
    assert "Sheet 1 / 1" in text


def test_what_keeps_clear_is_named_and_hatched_inside_its_outline() -> None:
    sheet = _sheet(20, "a4")
    text = " ".join(mark.text for mark in sheet.panels[0].marks if isinstance(mark, Words))
    assert "Fire route: keep clear, no cable" in text
    rect = (10.0, 20.0, 34.0, 68.0)
    lines = list(symbols.hatch(rect))
    assert len(lines) > 20
    for line in lines:
        (x0, y0), (x1, y1) = line.points
        assert abs(x0 - x1) == pytest.approx(abs(y0 - y1))  # at 45°
        for x, y in line.points:
            assert rect[0] - 1e-9 <= x <= rect[2] + 1e-9
            assert rect[1] - 1e-9 <= y <= rect[3] + 1e-9


@pytest.mark.parametrize(("pattern", "share"), SHARES.items())
@given(turn_deg=st.floats(-180, 180), tilt_deg=st.floats(-89, 89))
def test_the_polar_curve_is_the_patterns_response_at_every_angle(
    pattern: Pattern, share: float, turn_deg: float, tilt_deg: float
) -> None:
    """Ray by ray against A + (1 − A)·cos θ, θ from the axis in space, the rays in the level plane."""
    turn, tilt = radians(turn_deg), radians(tilt_deg)
    aim = (cos(turn) * cos(tilt), cos(turn - pi / 2) * cos(tilt), -cos(pi / 2 - tilt))
    for x, y in symbols.polar_curve(pattern, aim, (50.0, 40.0))[::7]:
        ray, angle = hypot(x - 50, y - 40), atan2(40 - y, x - 50)
        theta_cos = cos(angle - turn) * cos(tilt)
        if ray > 1e-6:  # a ray of no length has no angle
            assert ray == pytest.approx(abs(share + (1 - share) * theta_cos) * symbols.POLAR_MM, abs=1e-6)


def test_a_level_supercardioid_shows_its_nulls_and_its_rear_lobe() -> None:
    """[definition] for A = 0.366: null at arccos(−A / (1 − A)) = 125.3°, rear lobe 20·lg |2A − 1| = −11.4 dB.

    [HyperPhysics] prints 127° and −12 dB, for 0.375.
    """
    curve = symbols.polar_curve("supercardioid", (1, 0, 0), (0, 0))
    rays = {round(degrees(atan2(-y, x))): hypot(x, y) / symbols.POLAR_MM for x, y in curve}
    assert rays[0] == pytest.approx(1)
    assert rays[180] == pytest.approx(10 ** (-11.4 / 20), abs=0.002)
    null = min((ray, angle) for angle, ray in rays.items() if 90 < angle < 160)[1]
    assert null == pytest.approx(125, abs=2)


def test_the_microphones_bar_stands_at_its_front_across_its_axis() -> None:
    marks = list(symbols.microphone("cardioid", (0, 1, 0), (20, 20)))
    bar = next(mark for mark in marks if isinstance(mark, Line) and not mark.closed)
    (x0, y0), (x1, y1) = bar.points
    assert y0 == pytest.approx(20 - symbols.MIC_MM)
    assert y1 == pytest.approx(y0)
    assert (x0 + x1) / 2 == pytest.approx(20)
    down = list(symbols.microphone("cardioid", (0.05, 0, -0.9987), (20, 20)))
    assert not [mark for mark in down if isinstance(mark, Line) and not mark.closed]


@given(st.floats(1, 40), st.floats(1, 30))
def test_the_largest_scale_that_fits_is_chosen(width_m: float, depth_m: float) -> None:
    frame = (0.0, 0.0, 277.0, 150.0)
    corners = [(-width_m / 2, 0.0), (width_m / 2, depth_m)]
    view = lay_out(frame, corners, []).main
    for corner in corners:
        x, y = view.page(corner)
        assert 0 <= x <= 277
        assert 0 <= y <= 150
        assert view.stage((x, y)) == pytest.approx(corner, abs=1e-6)
    larger = [scale for scale in SCALES if scale < view.scale]
    if larger:
        mm = 1000 / larger[-1]
        assert width_m * mm > 277 - 2 * BORDER_MM - 0.01 or depth_m * mm > 150 - 2 * BORDER_MM - 0.01


def test_places_and_pages_are_two_sides_of_one_view() -> None:
    view = View(50, (100.0, 80.0))
    assert view.page((1.0, 2.0)) == (120.0, 40.0)
    assert view.rect((0, 1), (2, 2)) == (80.0, 40.0, 120.0, 80.0)
