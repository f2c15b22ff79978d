"""One walk through a whole job in a real browser, from an empty folder to the handover: at a desk, and on a phone."""

from __future__ import annotations

import re
import wave
from collections.abc import Callable
from importlib.resources import as_file, files
from pathlib import Path
from shutil import copytree

import numpy as np
import pytest
from desk.conftest import ONLY_DOCUMENTS
from playwright.sync_api import FilePayload, Page, expect

from fieldfare.show.songs import read_songs
from fieldfare.show.toml import read_show
from fieldfare.takes.wave import write_whole

OpenPage = Callable[..., Page]
RATE, SONG_S = 48_000, 12
PATIENCE_MS = 120_000


def _card(folder: Path) -> Path:
    """A short take of two tracks: quiet, a song of twelve seconds, quiet."""
    card = folder / "card"
    card.mkdir()
    chance = np.random.default_rng(7)
    quiet = chance.normal(0, 300, 3 * RATE)
    for number, label in ((1, "kick"), (2, "snare_top")):
        beats = np.tile(np.exp(-np.arange(RATE // 2) / 4000) * np.sin(np.arange(RATE // 2) / (9 + number)), 2 * SONG_S)
        sound = np.concatenate([quiet, beats * 2**21, quiet]).astype(np.int32)
        write_whole(card / f"{number:02d}_{label}.wav", RATE, 24, sound)
    return card


@pytest.mark.parametrize(("wide", "high", "light"), [(1440, 900, "paper"), (390, 844, "stage")])
def test_a_show_is_walked_from_empty_to_handover(
    open_page: OpenPage, folder: Path, wide: int, high: int, light: str
) -> None:
    page = open_page("/", wide=wide, high=high, light=light)
    page.set_default_timeout(PATIENCE_MS)
    _begin(page)
    base = page.url.removesuffix("/lineup")
    show = folder / "walked"
    _before(page, base, show)
    _on_the_night(page, base)
    _after(page, base, show, folder)
    assert page.evaluate("document.documentElement.scrollWidth") <= wide


def _begin(page: Page) -> None:
    page.get_by_label("Its title").fill("Walked")
    page.get_by_label("The day").fill("2026-12-11")
    page.get_by_label("Venue").select_option(index=1)
    page.get_by_role("button", name="Make the show").click()
    page.wait_for_url("**/lineup")


def _before(page: Page, base: str, show: Path) -> None:
    page.get_by_label("Who plays").fill("drums, bass, fiddle, two vocals")
    page.get_by_role("button", name="Show what that becomes").click()
    page.get_by_role("button", name="Add those ticked").click()
    expect(page.get_by_text("5 sources added.")).to_be_visible()
    page.goto(f"{base}/inputs?open=kick")
    page.get_by_label("Keep").select_option("yes")
    page.get_by_role("button", name="Pin and plan again").click()
    expect(page.get_by_text("Kick: decided by hand.")).to_be_visible()
    page.goto(f"{base}/stage")
    page.locator('.handle[data-name="Fiddle"]').focus()
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("Enter")
    expect(page.get_by_text(re.compile(r"Fiddle: .* m across"))).to_be_visible()
    page.goto(f"{base}/advance")
    page.get_by_text("It is answered").first.click()
    page.get_by_label("What was said").first.fill("none")
    page.get_by_label("By whom").first.fill("the house, by telephone")
    page.get_by_role("button", name="Confirm it and plan again").first.click()
    expect(page.get_by_text("1 answer of the house, by telephone.")).to_be_visible()
    assert len(read_show(show).show.sources) == 5


def _on_the_night(page: Page, base: str) -> None:
    page.goto(f"{base}/count")
    page.locator("[data-unit]").first.click()
    expect(page.locator("[data-counts]")).to_contain_text("1 of")
    page.goto(f"{base}/check")
    page.get_by_role("button", name="Heard on 1, clean").click()
    page.locator("section.line:visible").get_by_role("button", name="Wrong or silent").click()
    expect(page.locator("[data-counts]")).to_contain_text("1 checked, 1 faulty")
    page.locator("[data-chip].faulty").click()
    page.locator("section.line:visible").get_by_role("link", name="Swap to the spare").click()
    page.get_by_role("button", name="Swap, and plan again").click()
    expect(page.locator("[data-counts]")).to_contain_text("1 checked, 0 faulty")
    page.goto(f"{base}/marks")
    page.get_by_role("button", name="A song begins").click()
    expect(page.locator("[data-marks] li")).to_have_count(2)  # with the swap
    page.goto(f"{base}/count?way=back")
    page.locator("[data-unit]").first.click()
    expect(page.locator("[data-counts]")).to_contain_text("1 of")


def _after(page: Page, base: str, show: Path, folder: Path) -> None:
    card = _card(folder)
    for name in ("disc-a", "disc-b"):
        (folder / name).mkdir()
    page.goto(f"{base}/offload")
    page.get_by_label("The card").fill(str(card))
    page.get_by_label("To this folder").fill(str(folder / "disc-a"))
    page.get_by_label("and to this one").fill(str(folder / "disc-b"))
    page.get_by_label("copy even where").check()
    page.get_by_role("button", name="Copy to 2 places and check").click()
    expect(page.get_by_text("Not safe to wipe the card.", exact=True)).to_be_visible(timeout=PATIENCE_MS)
    page.goto(f"{base}/songs")
    page.get_by_role("button", name="Find the songs").click()
    expect(page.get_by_text("Put in a song that was not found")).to_be_visible(timeout=PATIENCE_MS)
    if not page.locator("table.songs").count():
        page.get_by_text("Put in a song that was not found").click()
        page.get_by_label("Title").fill("Nine Oars")
        page.get_by_label("Begins").fill("0:00:03")
        page.get_by_label("Ends").fill("0:00:15")
        page.get_by_role("button", name="Put it in").click()
    page.locator("table.songs th a").first.click()
    before = read_songs(show / "songs.toml").take[0].song[0].start
    edge = page.get_by_role("slider", name="Where it begins")
    edge.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("table.songs .pin")).to_contain_text("start")
    assert read_songs(show / "songs.toml").take[0].song[0].start == before + RATE // 50
    sound = page.request.get(page.locator("audio").first.evaluate("one => one.src"))
    (folder / "edge.wav").write_bytes(sound.body())
    with wave.open(str(folder / "edge.wav")) as heard:
        assert heard.getnframes() > 3 * RATE
    page.goto(f"{base}/rough")
    page.get_by_role("button", name="Choose a mix and render it").click()
    expect(page.locator("audio")).to_have_count(1, timeout=PATIENCE_MS)
    page.get_by_label("Trim of Kick, dB").fill("-3.0")
    page.get_by_role("button", name="Keep these settings").click()
    expect(page.get_by_label("Trim of Kick, dB")).to_have_value("-3")  # as the page writes it once it is kept
    _hand_over(page, base, show)


def _hand_over(page: Page, base: str, show: Path) -> None:
    page.goto(f"{base}/handover")
    expect(page.get_by_text("missing").first).to_be_visible()
    for who in page.locator("input[name=who]").all():
        who.check()
    page.get_by_text("Record what those ticked agreed to").click()
    page.get_by_label("In what form").fill("signed form")
    paper: FilePayload = {"name": "form.pdf", "mimeType": "application/pdf", "buffer": b"%PDF-1.4 signed"}
    page.get_by_label("The paper that shows it").set_input_files(paper)
    page.get_by_role("button", name="Record it").click()
    mixer = page.locator("section", has=page.get_by_role("heading", name="mixer"))
    mixer.get_by_label("Its papers in").select_option("de")
    mixer.get_by_role("button", name="Make the parcel, and read it back").click()
    expect(page.get_by_text("every one read back")).to_be_visible(timeout=PATIENCE_MS)
    page.reload()
    expect(page.get_by_role("table", name="Parcels")).to_contain_text("mixer")
    assert len(list((show / "parcels").glob("*/manifest-*.txt"))) == 1
    (notes,) = (show / "parcels").glob("*/data/notes.txt")
    assert "Für: Wer es mischt" in notes.read_text("utf-8")


def test_a_festival_of_64_inputs_stays_usable(open_page: OpenPage, folder: Path) -> None:
    with as_file(files("fieldfare")) as package:
        copytree(package.parents[1] / "examples" / "festival-64", folder / "festival", ignore=ONLY_DOCUMENTS)
    page = open_page("/shows/festival/inputs")
    page.set_default_timeout(PATIENCE_MS)
    row = page.locator("tr[data-id]").nth(20)
    name, number = row.get_attribute("data-id"), row.get_attribute("data-number")
    row.locator(".grip").focus()
    page.keyboard.press("ArrowDown")
    expect(page.locator(f"tr[data-id='{name}']")).not_to_have_attribute("data-number", number or "")
    for path in ("inputs", "stage", "check", "patch"):
        answer = page.goto(f"/shows/festival/{path}".join([page.url.partition("/shows/")[0], ""]))
        assert answer is not None
        assert len(answer.body()) < 300_000
        assert page.evaluate("document.documentElement.scrollWidth") <= 1440


@pytest.mark.parametrize("path", ["inputs", "stage", "check", "songs", "advance"])
def test_text_of_twice_the_size_stays_within_the_page(open_page: OpenPage, path: str) -> None:
    page = open_page(f"/shows/midwinter-dance/{path}", wide=390, high=844)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
