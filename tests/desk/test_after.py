"""The pages of the night's recording and of the day after, in a real browser, over real recordings."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from desk.recorded import RATE, sound_of, with_songs
from desk.test_browser import AXE
from playwright.sync_api import Page, expect

from fieldfare.desk.book import Book
from fieldfare.desk.planner import Planner
from fieldfare.desk.works import rough, timing
from fieldfare.takes.render.cameras import CameraSpec, write_clip
from fieldfare.takes.wave import make_form, pack, write_whole

OpenPage = Callable[..., Page]
BASE = "/shows/midwinter-dance"
PAGES = (
    "songs?take=0&song=1", "timing", "rough", "pictures", "handover", "watch", "kit", "kit/units/M-01", "sheets",
    "lineup",
)  # fmt: skip
CLIP_S = 18
SMALL = """[...document.querySelectorAll(".list input[type=checkbox]")].map(tick => tick.getBoundingClientRect())
    .filter(box => box.width && Math.min(box.width, box.height) < 48).map(box => [box.width, box.height])"""


@pytest.fixture
def worked(after: Path) -> Path:
    """The same with songs, delays that were measured, and mixes that were chosen."""
    with_songs(after, "take-1", 2)
    book = Book(after, Planner(explain=False))
    for make in (timing.measuring, rough.mixing):
        make(book, {})(lambda stage, share: None)
    book.close()
    return after


@contextmanager
def _recorder(folder: Path) -> Iterator[threading.Event]:
    """A recorder that writes two tracks, sixteen times as fast as time runs, until it is told to stop."""
    form, stopped, ended = make_form(1, RATE, 24), threading.Event(), threading.Event()
    files = [folder / f"{number:02d}_{label}.wav" for number, label in ((1, "kick"), (2, "snare_top"))]
    for file in files:
        write_whole(file, RATE, 24, np.zeros(0, np.int32))
    chance = np.random.default_rng(3)

    def write() -> None:
        while not ended.wait(0.05):
            if not stopped.is_set():
                for file in files:
                    with file.open("ab") as open_file:
                        open_file.write(pack(chance.integers(-(2**20), 2**20, (RATE, 1), dtype=np.int32), form))

    thread = threading.Thread(target=write)
    thread.start()
    try:
        yield stopped
    finally:
        ended.set()
        thread.join()


def test_a_recording_that_stands_still_is_told_on_every_page_of_the_night(
    open_page: OpenPage, folder: Path, tmp_path: Path
) -> None:
    growing = tmp_path / "recording"
    growing.mkdir()
    with _recorder(growing) as stop:
        page = open_page(f"{BASE}/watch")
        page.get_by_label("The folder that is recorded into").fill(str(growing))
        page.get_by_role("button", name="Watch it until it is stopped").click()
        job = page.locator("#job-watch")
        expect(job).to_contain_text("Watching")
        expect(job.locator("p").first).not_to_have_text(re.compile("^looking"))  # it has seen something by now
        page.locator("#fault").evaluate("place => { place.textContent = 'what a form was told' }")
        for _ in range(2):  # the clock asks how far it is, and does not wipe that
            with page.expect_response("**/jobs/watch"):
                pass
        expect(page.locator("#fault")).to_have_text("what a form was told")
        stop.set()
        stands = re.compile(r"nothing (grows any more|has grown)")
        expect(page.locator("[data-watch] li", has_text=stands).first).to_be_visible(timeout=60_000)
        phone = open_page(f"{BASE}/marks", wide=390, high=844, light="stage")
        expect(phone.get_by_text(stands).first).to_be_visible()
        page.get_by_role("button", name="Stop watching").click()
        expect(page.locator("#job-watch")).to_contain_text("Nobody watches the recording now")
    assert all(file.stat().st_size > RATE for file in growing.iterdir())


def test_a_cameras_clip_is_laid_into_the_take_by_its_sound(open_page: OpenPage, after: Path, tmp_path: Path) -> None:
    sound = (sound_of(1)[0][3 * RATE : (3 + CLIP_S) * RATE] / 2**23).astype(np.float32)
    camera = CameraSpec("Camera 1", (0.0, 0.0, 0.0), "clip.mp4", 0.0, CLIP_S, frame_rate="5", rate_hz=RATE)
    write_clip(tmp_path / "clip.mp4", sound, camera, np.zeros(CLIP_S * 5))
    page = open_page(f"{BASE}/pictures")
    page.get_by_label("Its file, or the folder of its clips").first.fill(str(tmp_path / "clip.mp4"))
    page.get_by_role("button", name="Find where the clips lie").click()
    row = page.locator("section", has_text="take-1").get_by_role("row").filter(has_text="clip.mp4")
    expect(row).to_contain_text(re.compile(r"0:00:0(2\.9|3\.0)"), timeout=120_000)
    expect(page.locator("section", has_text="take-2").get_by_role("row").filter(has_text="not found")).to_be_visible()
    expect(page.get_by_text("1 clip found in the takes")).to_be_visible()
    assert list((after / "pictures" / "take-1").glob("*.otio"))


def test_no_page_with_something_on_it_has_a_serious_fault_or_is_wider_than_the_screen(
    open_page: OpenPage, worked: Path
) -> None:
    wrong: dict[str, Any] = {}
    for wide, high, light in ((1440, 900, "paper"), (390, 844, "stage")):
        page = open_page("/", wide=wide, high=high, light=light)
        origin = page.url.rstrip("/")
        for path in PAGES:
            page.goto(f"{origin}{BASE}/{path}")
            page.evaluate(AXE)
            found = page.evaluate("axe.run({ resultTypes: ['violations'] })")["violations"]
            serious = [
                (one["id"], one["nodes"][0]["target"]) for one in found if one["impact"] in ("serious", "critical")
            ]
            if serious:
                wrong[f"{path} {wide} {light}"] = serious
            small = page.evaluate(SMALL) if wide < 800 else []
            if small:
                wrong[f"{path} {wide} is too small for a thumb"] = small
            if (width := page.evaluate("document.documentElement.scrollWidth")) > wide:
                wrong[f"{path} {wide} is too wide"] = width
    assert wrong == {}


def _press_until(page: Page, selector: str, key: str = "Tab", most: int = 200) -> None:
    for _ in range(most):
        page.keyboard.press(key)
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    here = page.evaluate("document.activeElement.outerHTML.slice(0, 200)")
    raise AssertionError(f"the keyboard does not reach {selector}, only {here}")


def test_the_pages_of_the_day_after_are_walked_by_keyboard_alone(
    open_page: OpenPage, worked: Path, tmp_path: Path
) -> None:
    page = open_page(f"{BASE}/songs")
    _press_until(page, "table.songs th a")
    page.keyboard.press("Enter")
    expect(page.get_by_role("slider", name="Where it begins")).to_be_visible()
    _press_until(page, ".edge[role=slider]")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    begins = page.locator("table.songs tbody tr td.num").first
    expect(begins).to_have_text("0:00:01.020")
    _press_until(page, "form[action$='/songs/undo'] button")
    page.keyboard.press("Enter")
    expect(begins).to_have_text("0:00:01.000")
    _go(page, "rough")
    _press_until(page, "input[name='trim_db 0']")
    page.keyboard.press("Control+a")
    page.keyboard.type("-2")
    _press_until(page, "form[action$='/rough/adjust'] button.do")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Undo the settings")).to_be_visible()
    expect(page.get_by_label("Trim of Kick, dB").first).to_have_value("-2")
    _go(page, "timing")
    _press_until(page, "form[action$='/timing/measure'] button")
    _go(page, "pictures")
    _press_until(page, "input[name=path]")
    page.keyboard.type("/nowhere/at/all")
    _press_until(page, "form[action$='/pictures'] button.do")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("no such file or folder")
    _go(page, "handover")
    _press_until(page, "input[name=who]")
    page.keyboard.press("Space")
    expect(page.locator("input[name=who]").first).to_be_checked()
    _press_until(page, "summary")
    page.keyboard.press("Enter")
    _press_until(page, "button.do")
    _go(page, "watch")
    _press_until(page, "form[action$='/watch'] input[name=folder]")
    page.keyboard.type(str(tmp_path / "nothing"))
    page.keyboard.press("Enter")
    expect(page.get_by_text("no such folder")).to_be_visible()
    page.goto(page.url.partition(BASE)[0] + f"{BASE}/kit")
    _press_until(page, "a[href$='/kit/units/M-01']")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="M-01", level=1)).to_be_visible()


def _go(page: Page, name: str) -> None:
    """Go to another page by the column of the day."""
    page.keyboard.press("Home")
    _press_until(page, f"nav.days a[href$='/{name}']")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/{name}")
    expect(page.locator("nav.days li.here a")).to_have_attribute("href", re.compile(f"/{name}$"))
