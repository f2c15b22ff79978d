"""The track check on a screen: whole without a network or a script, escaped, and true to the figures it draws."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from sheets import example, pdf
from sheets.example import PRINTED
from sheets.example_take import RATE_HZ, take

from fieldfare.sheets.drawing.levels import Span, level_shapes, wave_scale, wave_shapes
from fieldfare.sheets.head import Printing
from fieldfare.sheets.takes import write_takes
from fieldfare.sheets.takes_page import write_takes_page
from fieldfare.sheets.typeset import TEMPLATES
from fieldfare.show.findings import FileState, Finding, LaterPart, LevelCourse, TakeReport, TrackMeasure
from fieldfare.takes.closeup import closeups
from fieldfare.takes.wave import write_whole
from fieldfare.units.faults import NotDone

AXE = Path(__file__).parent.parent / "desk" / "vendor" / "axe.min.js"
NASTY = "<script>alert(\"&\")</script> 'quoted' καλημέρα สวัสดี and on to sixty signs"


class _Reading(HTMLParser):
    """Gathers words, tags and addresses."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: list[str] = []
        self.addresses: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.addresses += [value or "" for name, value in attrs if name in ("src", "href", "action", "xlink:href")]

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def _page(folder: Path, reports: list[TakeReport]) -> tuple[str, _Reading]:
    [path] = write_takes_page(reports, folder, Printing("a4", PRINTED))
    text = path.read_text("utf-8")
    reading = _Reading()
    reading.feed(text)
    return text, reading


def test_it_holds_every_word_and_asks_for_nothing_from_outside(tmp_path: Path) -> None:
    text, reading = _page(tmp_path, [take(), take().model_copy(update={"take": "Take 2"})])
    said = " ".join(" ".join(reading.words).split())
    for finding in take().finding:
        assert finding.says in said
        assert finding.remedy in said
    assert all(track.label in said for track in take().track)
    assert take().not_known[0] in said
    assert not {"script", "link", "img", "iframe"} & set(reading.tags)
    assert all(address.startswith("#") for address in reading.addresses)
    assert set(re.findall(r"url\(\"?(\w+:)", text)) == {"data:"}
    assert "http" not in text.replace("http-equiv", "")
    assert reading.tags.count("svg") == 2 * 20


def test_names_are_escaped_wherever_they_stand(tmp_path: Path) -> None:
    report = take(20)
    track = report.track[1].model_copy(update={"label": NASTY, "file": NASTY})
    finding = report.finding[1].model_copy(update={"track": NASTY, "says": NASTY, "kind": "clipped"})
    nasty = report.model_copy(update={"take": NASTY, "track": (track,), "finding": (finding,), "not_known": (NASTY,)})
    text, reading = _page(tmp_path, [nasty, nasty])
    assert "script" not in reading.tags
    assert sum(NASTY in word for word in reading.words) >= 6
    assert NASTY not in text


def test_a_page_with_nothing_on_it_says_what_belongs_there(tmp_path: Path) -> None:
    _, reading = _page(tmp_path, [])
    assert any("Check a folder that holds recordings" in word for word in reading.words)
    _, bare = _page(tmp_path, [TakeReport(take="Take 1", rate_hz=RATE_HZ, frames=0, file=(), track=(), finding=())])
    assert any("No track was found in this take." in word for word in bare.words)


def test_a_folder_in_the_way_is_a_fault(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("")
    with pytest.raises(NotDone, match="cannot be written"):
        write_takes_page([take(1)], tmp_path / "out", Printing("a4", PRINTED))


def _points(shapes: str, kind: str) -> list[tuple[float, float]]:
    found = re.search(rf'points="([^"]*)" class="{kind}"', shapes)
    assert found is not None
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in found[1].split())]


def test_the_level_stands_at_its_decibels_and_its_time() -> None:
    course = LevelCourse(frames=100, peak_dbfs=(-6.0, None, -80.0), rms_dbfs=(-20.0, None, 3.0))
    shapes = level_shapes(course, 400, [Span(0.5, 0.5, "stop")])
    assert _points(shapes, "p-rms")[1:-1] == [(0, 20), (250, 20), (250, 60), (500, 60), (500, 0), (750, 0)]
    assert _points(shapes, "p-peak")[1:-1] == [(0, 6), (250, 6), (250, 60), (500, 60), (500, 60), (750, 60)]
    (bar,) = re.findall(r'x="([\d.]+)" y="0" width="([\d.]+)" height="60" class="p-stop"', shapes)
    assert float(bar[0]) + float(bar[1]) / 2 == pytest.approx(500)


def test_what_holds_for_a_whole_track_leaves_its_level_to_be_seen() -> None:
    course = LevelCourse(frames=100, peak_dbfs=(-6.0,), rms_dbfs=(-20.0,))
    shapes = level_shapes(course, 100, [Span(0.0, 1.0, "warn")])
    assert 'height="5" class="p-warn"' in shapes


def test_a_wave_fits_its_scale() -> None:
    low, high = np.array([-0.3, -0.01], np.float32), np.array([0.2, 0.4], np.float32)
    assert wave_scale(low, high) == 0.5
    points = _points(wave_shapes(low, high, 0.5, Span(0, 0.5, "warn")), "p-sound")
    assert points == [(250.0, 29.5), (750.0, 9.5), (750.0, 51.5), (250.0, 80.5)]
    assert wave_scale(np.zeros(1, np.float32), np.zeros(1, np.float32)) == 0.001


def _take_on_disc(folder: Path) -> TakeReport:
    """A ramp over two files, and a finding that lies over their seam."""
    ramp = np.arange(48_000, dtype=np.int32) * 100
    write_whole(folder / "a.wav", RATE_HZ, 24, ramp[:20_000])
    write_whole(folder / "b.wav", RATE_HZ, 24, ramp[20_000:])
    track = TrackMeasure(
        file="a.wav", label="ramp", channel=1, number=1, frames=48_000, rate_hz=RATE_HZ, bits=24, peak_dbfs=-5.0,
        peak_at=0, rms_dbfs=-9.0, loud_dbfs=-9.0, floor_dbfs=-60.0, dc_dbfs=None, clipped_samples=0,
        later=(LaterPart(file="b.wav", first=20_000),),
    )  # fmt: skip
    finding = Finding(
        kind="dropout", severity="stop", track="ramp", start=19_990, end=20_010, places=((19_990, 20_010),),
        confidence=1, says="A hole.", remedy="Listen.",
    )  # fmt: skip
    whole = finding.model_copy(update={"kind": "hum", "severity": "warn", "start": 0, "end": 48_000, "places": ()})
    state = FileState(
        path="a.wav", bytes=1, container="WAV", channels=1, rate_hz=RATE_HZ, bits=24, frames=20_000,
        stated_frames=20_000, header="good",
    )  # fmt: skip
    return TakeReport(
        take="Ramps", rate_hz=RATE_HZ, frames=48_000, file=(state,), track=(track,), finding=(finding, whole)
    )


def test_a_finding_is_seen_from_near_over_the_seam_of_two_files(tmp_path: Path) -> None:
    report = _take_on_disc(tmp_path)
    (hole,) = closeups(report, tmp_path)  # hum is the whole track's matter
    assert (hole.first, hole.frames, hole.marked) == (19_990 - 576, 20 + 2 * 576, (19_990, 20_010))
    assert hole.low[0] == pytest.approx((19_990 - 576) * 100 / 2**23, rel=1e-6)
    assert hole.high[-1] == pytest.approx((20_010 + 575) * 100 / 2**23, rel=1e-6)
    (tmp_path / "b.wav").unlink()
    assert closeups(report, tmp_path) == ()


def test_a_long_clipped_place_is_seen_where_it_is_worst(tmp_path: Path) -> None:
    report = _take_on_disc(tmp_path)
    sound = np.zeros(48_000, np.int32)
    sound[5_000:5_004] = sound[30_000:30_040] = 2**23 - 1
    write_whole(tmp_path / "c.wav", RATE_HZ, 24, sound)
    track = report.track[0].model_copy(update={"file": "c.wav", "later": ()})
    clipped = report.finding[0].model_copy(update={"kind": "clipped", "end": 40_000, "places": ((4_000, 40_000),)})
    one = report.model_copy(update={"track": (track,), "finding": (clipped,)})
    (shown,) = closeups(one, tmp_path)
    assert (shown.first, shown.frames) == (30_020 - 720, 1_440)
    [page] = write_takes_page([one], tmp_path / "out", Printing("a4", PRINTED), {one.take: (shown,)})
    assert ">+540</span>" in page.read_text("utf-8")  # 30,020 samples lie 542 ms after the place begins


def test_both_papers_hold_the_near_views(tmp_path: Path) -> None:
    report = _take_on_disc(tmp_path)
    shown = {report.take: closeups(report, tmp_path)}
    [page] = write_takes_page([report], tmp_path / "out", Printing("a4", PRINTED), shown)
    text = page.read_text("utf-8")
    assert text.count("<figure>") == 1
    assert "+0.5" in text
    documents = example.example()
    [sheet] = write_takes([report], tmp_path / "out", Printing("a4", PRINTED, plan=documents.plan), shown)
    said = pdf.all_words(sheet.read_bytes())
    assert "The gravest, from near" in said
    assert "ramp, dropout" in said
    assert "ms; height, share of full scale" in said


def _tokens(block: str) -> dict[str, str]:
    return dict(re.findall(r"--(\w[\w-]*): (#[0-9A-F]{6})", block))


def _brightness(colour: str) -> float:
    """Relative luminance of a colour (WCAG 2.2, glossary)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    r, g, b = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


@pytest.mark.parametrize(("start", "least"), [(":root {", 4.5), (":root:has(#light-stage:checked) {", 7.0)])
def test_every_ink_can_be_read_on_every_ground(start: str, least: float) -> None:
    """WCAG 2.2: 4.5 to 1 for text; the stage light asks for 7 to 1."""
    css = (TEMPLATES / "takes.css").read_text("utf-8")
    tokens = _tokens(css[css.index(start) : css.index("}", css.index(start))])
    for ink in ("ink", "soft", "trouble", "done", "link"):
        for ground in ("ground", "sheet"):
            one, other = sorted((_brightness(tokens[ink]), _brightness(tokens[ground])))
            assert (other + 0.05) / (one + 0.05) >= least, (ink, ground)


def test_it_stays_within_its_width_without_a_script(tmp_path: Path) -> None:
    sync_api = pytest.importorskip("playwright.sync_api")
    report = take()
    tracks = tuple(track.model_copy(update={"label": NASTY, "file": "x" * 60}) for track in report.track[:3])
    finding = report.finding[1].model_copy(update={"track": NASTY})
    [path] = write_takes_page(
        [report.model_copy(update={"take": "y" * 60, "track": tracks, "finding": (finding,)})],
        tmp_path,
        Printing("a4", PRINTED),
    )
    with sync_api.sync_playwright() as player:
        browser = player.chromium.launch(executable_path=_chromium(), args=["--no-sandbox"])
        page = browser.new_context(java_script_enabled=False).new_page()
        page.goto(path.as_uri())
        grounds = []
        for wide, light in ((1440, "paper"), (390, "stage")):
            page.set_viewport_size({"width": wide, "height": 844})
            page.check(f"#light-{light}")
            box = page.locator("main").bounding_box()
            assert box is not None
            assert box["width"] <= wide
            assert all(
                (inner := one.bounding_box()) is None or inner["x"] + inner["width"] <= wide + 1
                for one in page.locator("article, figure, li, .tape, dl").all()
            )
            grounds.append(page.screenshot(clip={"x": 0, "y": 0, "width": 4, "height": 4}))
        looked = browser.new_context(bypass_csp=True).new_page()  # the page's own policy lets no script in
        looked.goto(path.as_uri())
        faults = []
        for light in ("paper", "stage"):
            looked.check(f"#light-{light}")
            looked.evaluate(AXE.read_text("utf-8"))
            found = looked.evaluate("axe.run({ resultTypes: ['violations'] })")
            faults += [one["id"] for one in found["violations"] if one["impact"] in ("serious", "critical")]
        browser.close()
    assert grounds[0] != grounds[1]
    assert faults == []


def _chromium() -> str:
    import shutil

    path = next(
        (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), ""
    )
    if not path:
        pytest.skip("no browser is installed")
    return path
