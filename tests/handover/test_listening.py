"""The listening page, opened from disc in a real browser: no network, nothing that was typed becomes a script."""

from __future__ import annotations

import base64
import html
import json
import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldfare.handover import listening
from fieldfare.handover.listening import Listening, ListeningPage, Player, listening_page
from fieldfare.sheets.language import catalogue
from fieldfare.takes.played import level_of
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


def test_the_level_of_each_file_is_drawn_with_its_axes_and_said_in_words(tmp_path: Path) -> None:
    tone = (np.sin(np.arange(96_000) / 20) * (1 << 22)).astype(np.int32)[:, None]  # half of full scale: −6.0 dBFS
    write_whole(tmp_path / "a.wav", 48_000, 24, np.concatenate([tone, np.zeros_like(tone)]))
    player = Player(EVIL, "a.wav", level_of(tmp_path / "a.wav"))
    text = _page(Listening("Reel", (player, Player("no plot", "b.wav"))))
    (plot,) = re.findall(r'<svg class="shapes".*?</svg>', text, re.DOTALL)
    assert html.unescape(re.search(r'aria-label="([^"]*)"', plot)[1]) == (  # type: ignore[index]
        f"Level of {EVIL} over time: highest peak −6.0 dBFS"
    )
    points = re.search(r'points="([^"]*)" class="p-rms"', plot)[1].split()  # type: ignore[index]
    places = [tuple(map(float, point.split(","))) for point in points]
    assert {y for x, y in places if 0 < x < 490} == {6.0}  # 1000 wide for 4 s, 60 high for 60 dB
    assert {y for x, y in places if x > 510} == {60.0}
    words = re.findall(r"<text[^>]*>([^<]*)</text>", text)
    assert words == ["0 dBFS", "−20", "−40", "−60", "0:00", "0:01", "0:02", "0:03", "0:04"]
    assert 'style="' not in text  # the page's own policy would not let it count


def test_a_file_of_silence_is_said_to_be_one(tmp_path: Path) -> None:
    write_whole(tmp_path / "a.wav", 48_000, 24, np.zeros((48_000, 1), np.int32))
    text = _page(Listening("Reel", (Player("Mix", "a.wav", level_of(tmp_path / "a.wav")),)))
    assert "Level of Mix over time: nothing but silence" in text


def test_every_message_of_the_page_is_in_the_catalogue() -> None:
    words = catalogue("de").plain
    folder = Path(listening.__file__).parent / "page"
    said = [one for name in ("listen.html", "listen.js") for one in _messages((folder / name).read_text("utf-8"))]
    assert len(said) > 20
    assert [one for one in said if one not in words] == []


def _messages(text: str) -> list[str]:
    return re.findall(r'\bt\("([^"]*)"', text)


def test_a_page_in_german_says_nothing_in_english_but_titles(tmp_path: Path) -> None:
    write_whole(tmp_path / "a.wav", 48_000, 24, np.full((48_000, 1), 1 << 20, np.int32))
    piece = Listening("Reel", (Player("Rohmischung", "a.wav", level_of(tmp_path / "a.wav")),))
    text = listening_page(ListeningPage("Tanz", "Die Band", "Rohmischungen.", (piece,), "Fertig.", "de"))
    body = re.sub(r"<script>.*?</script>|<style>.*?</style>", "", text, flags=re.DOTALL)
    body = re.sub(r"data-words='[^']*'", "", body)
    words = " ".join([*re.findall(r">([^<>]+)<", body), *re.findall(r'(?:aria-label|placeholder)="([^"]*)"', body)])
    assert not re.search(r"\b(the|of|is|play|comments?|moment|level|copy|what)\b", words, re.IGNORECASE)
    assert "höchste Spitze −18,1 dBFS" in words
    assert '<html lang="de">' in text
    told = json.loads(html.unescape(re.search(r"data-words='([^']*)'", text)[1]))  # type: ignore[index]
    assert (told["Pause"], told["Play"], told["{n} of {n2}"]) == ("Pause", "Hören", "{n} von {n2}")


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
    pieces = tuple(
        replace(piece, players=tuple(replace(one, level=level_of(folder / one.file)) for one in piece.players))
        for piece in (_piece(EVIL), _piece("เพลงที่สอง " * 6, "roughs/02.wav"))
    )
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
    plot = page.locator(".shapes").first.bounding_box()
    seek = page.locator(".seek").first.bounding_box()
    assert plot is not None
    assert seek is not None
    assert (plot["x"], plot["width"]) == pytest.approx((seek["x"], seek["width"]), abs=1)  # one axis for both
    assert plot["height"] > 40
    assert page.evaluate("getComputedStyle(document.querySelector('.p-rms')).fill") == "rgb(168, 118, 46)"
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
