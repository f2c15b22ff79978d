"""The listening page, opened from disc in a real browser: no network, nothing that was typed becomes a script."""

from __future__ import annotations

import base64
import html
import re
import shutil
from collections.abc import Iterator
from hashlib import sha256
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldfare.handover.listening import Listening, ListeningPage, Player, listening_page
from fieldfare.takes.wave import write_whole

if TYPE_CHECKING:
    from playwright.sync_api import Page

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
EVIL = '</title><script>window.bad = 1</script><img src=x onerror="window.bad=1">"\'&'


def _page(*pieces: Listening, title: str = "Midwinter Dance") -> str:
    return listening_page(ListeningPage(title, "The band, the shed", "Rough mixes.", pieces, "Made today."))


def _piece(title: str = "Slack Water Reel", file: str = "roughs/01 100%#.wav") -> Listening:
    return Listening(title, (Player("Rough mix", file),), "a note")


def test_the_policy_lets_this_style_and_script_run_and_no_other() -> None:
    text = _page(_piece())
    told = html.unescape(re.search(r'Content-Security-Policy" content="([^"]*)"', text)[1])  # type: ignore[index]
    rules = dict(rule.split(" ", 1) for rule in told.split("; "))
    assert rules["default-src"] == "'none'"
    for tag in ("style", "script"):
        inside = re.search(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)
        assert inside
        digest = base64.b64encode(sha256(inside[1].encode()).digest()).decode()
        assert rules[f"{tag}-src"] == f"'sha256-{digest}'"


def test_nothing_on_the_page_is_anywhere_else() -> None:
    text = _page(_piece())
    assert re.findall(r'(?:src|href|action)="([^"]*)"', text) == ["roughs/01%20100%25%23.wav"]
    assert not re.search(r"https?://|url\((?!data:)|@import|<link", text)


def test_what_was_written_into_titles_is_text() -> None:
    text = _page(_piece(EVIL), title=EVIL)
    assert text.count("<script>") == 1
    assert 'onerror="' not in text
    assert html.escape(EVIL, quote=False).split("&")[0] in text


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Page, list[str]]]:
    if CHROMIUM is None:
        pytest.skip("no browser is installed")
    from playwright.sync_api import sync_playwright

    folder = tmp_path_factory.mktemp("page")
    (folder / "roughs").mkdir()
    tone = (np.sin(np.arange(96_000) / 20) * (1 << 22)).astype(np.int32)[:, None]
    for name in ("01 100%#.wav", "02.wav"):
        write_whole(folder / "roughs" / name, 48_000, 24, tone)
    pieces = (_piece(EVIL), _piece("เพลงที่สอง " * 6, "roughs/02.wav"))
    (folder / "listen.html").write_text(_page(*pieces, title=EVIL), "utf-8")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--mute-audio"])
        page = browser.new_page(viewport={"width": 390, "height": 844}, color_scheme="dark")
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.goto((folder / "listen.html").as_uri())
        yield page, said
        browser.close()


def _until(page: Page, says: str) -> None:
    """Wait for something to become true; the page's policy lets nobody else's code wait inside it."""
    for _ in range(200):
        if page.evaluate(says):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never true: {says}")


def test_it_opens_from_disc_without_a_complaint_and_fits_a_phone(opened: tuple[Page, list[str]]) -> None:
    page, said = opened
    _until(page, "[...document.querySelectorAll('audio')].every(one => one.duration > 1.9)")
    assert said == []
    assert page.evaluate("window.bad") is None
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(13, 10, 7)"  # stage light
    page.click("#light")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(239, 233, 219)"  # paper


def test_one_plays_at_a_time_and_the_moment_goes_into_the_comment(opened: tuple[Page, list[str]]) -> None:
    page, said = opened
    page.locator(".play").nth(1).click()
    page.locator(".play").nth(0).click()
    _until(page, "document.querySelectorAll('audio')[0].currentTime > 1.1")
    paused = page.evaluate("[...document.querySelectorAll('audio')].map(one => one.paused)")
    assert paused[1] is True
    page.locator(".moment").nth(0).click()
    page.keyboard.type("louder")
    page.locator("section textarea").nth(1).fill("good")
    page.click("#copy")
    text = page.locator("#all").input_value()
    assert text.splitlines()[0] == EVIL
    assert re.search(r"^0:01 louder$", text, re.MULTILINE)
    assert text.rstrip().endswith("good")
    page.reload()
    assert page.locator("section textarea").nth(1).input_value() == "good"  # nothing that was typed is lost
    assert said == []


def test_the_keyboard_alone_reaches_every_control(opened: tuple[Page, list[str]]) -> None:
    page, _ = opened
    page.evaluate("document.activeElement.blur()")
    reached = set()
    for _ in range(14):
        page.keyboard.press("Tab")
        reached.add(
            page.evaluate(
                "document.activeElement.className || document.activeElement.id || document.activeElement.tagName"
            )
        )
    assert reached >= {"light", "play", "seek", "moment", "TEXTAREA", "copy"}


def test_a_page_with_nothing_to_play_says_so() -> None:
    assert "There is nothing to play in this parcel" in _page()
