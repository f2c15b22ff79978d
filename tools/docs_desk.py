"""Renew the pictures in docs/desk: every page of the desk over the demo show, in both lights, at a desk and on a phone.

python tools/docs_desk.py                 the demo is recorded and offloaded first; takes some minutes and 600 MB
python tools/docs_desk.py --demo FOLDER   a folder that `fieldfare demo` has made
"""

from __future__ import annotations

import argparse
import base64
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from shutil import copytree, which
from tempfile import TemporaryDirectory

from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "docs" / "desk"
MOST_KB = 120
DESK, PHONE = (1440, 900), (390, 844)


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture."""

    name: str
    page: str
    phone: bool = False
    light: str = "paper"


SHOTS = (
    Shot("shows", ""),
    Shot("advance", "advance"),
    Shot("line-up", "lineup"),
    Shot("inputs", "inputs?open=fiddle-mic"),
    Shot("stage", "stage"),
    Shot("patch", "patch"),
    Shot("power", "power"),
    Shot("pack", "pack"),
    Shot("sheets", "sheets"),
    Shot("kit", "kit"),
    Shot("unit", "kit/units/M-01"),
    Shot("share", "/share"),
    Shot("now", "now", phone=True, light="stage"),
    Shot("line-check", "check", phone=True, light="stage"),
    Shot("swap", "check/kick/swap", phone=True, light="stage"),
    Shot("watch", "watch", phone=True, light="stage"),
    Shot("count", "count?way=back", phone=True, light="stage"),
    Shot("marks", "marks", phone=True, light="stage"),
    Shot("inputs-phone", "inputs", phone=True, light="stage"),
    Shot("stage-dark", "stage", light="stage"),
    Shot("offload", "offload"),
    Shot("tracks", "tracks"),
    Shot("songs", "songs?take=0&song=1"),
    Shot("time", "timing"),
    Shot("rough", "rough"),
    Shot("pictures", "pictures"),
    Shot("handover", "handover"),
    Shot("revisions", "history"),
)


@contextmanager
def desk(folder: Path) -> Iterator[str]:
    """Serve a folder of shows."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "fieldfare", "desk", str(folder), "--port", str(port), "--no-browser"],
        stdout=subprocess.DEVNULL,
    )
    while server.poll() is None:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                break
        time.sleep(0.1)
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(30)


def take(browser: Browser, address: str, shot: Shot, folder: Path) -> None:
    """Take one picture."""
    wide, high = PHONE if shot.phone else DESK
    context = browser.new_context(viewport={"width": wide, "height": high}, has_touch=shot.phone)
    context.add_cookies([{"name": "light", "value": shot.light, "url": address}])
    page = context.new_page()
    page.goto(
        address + (shot.page if shot.page.startswith("/") else f"/shows/show/{shot.page}") if shot.page else address
    )
    _settle(page)
    _keep(page, folder / f"{shot.name}.webp")
    context.close()


def _settle(page: Page) -> None:
    """Wait until the fonts are there, and the reasons of the plan."""
    page.evaluate("document.fonts.ready")
    page.wait_for_function("() => !document.querySelector('#waiting')?.textContent.trim()", timeout=180_000)


def _keep(page: Page, file: Path) -> None:
    """Keep what the page shows, as finely as stays below the limit."""
    session = page.context.new_cdp_session(page)
    for quality in (85, 70, 55, 40):
        shot = session.send("Page.captureScreenshot", {"format": "webp", "quality": quality})
        file.write_bytes(base64.b64decode(shot["data"]))
        if file.stat().st_size < 1000 * MOST_KB:
            return
    raise SystemExit(f"{file} is {file.stat().st_size // 1000} kB; draw less on the page")


def act(page: Page, address: str) -> None:
    """Do some of the night, so that its pages are not empty."""
    base = f"{address}/shows/show"
    page.goto(f"{base}/check")
    for _ in range(9):
        page.locator("section.line:visible button.good").click()
    page.locator("section.line:visible input[name=text]").fill("crackles when the lead is moved")
    page.locator("section.line:visible button.wrong").click()
    page.goto(f"{base}/count?way=back")
    for button in page.locator("[data-unit]").all()[:14]:
        button.click()
    page.goto(f"{base}/marks")
    page.locator("[data-song-button]").click()
    page.get_by_role("button", name="Good take").click()
    page.locator("[data-song-button]").click()
    page.wait_for_function("() => !document.querySelector('[data-waiting]').textContent")
    for path, says in (("songs", "Find the songs"), ("timing", "Measure delays"), ("rough", "Choose a mix")):
        page.goto(f"{base}/{path}")
        page.get_by_role("button", name=says).click()
        page.wait_for_function("() => !document.querySelector('.job.running')", timeout=600_000)


def main() -> None:
    """Take all pictures."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--demo", type=Path)
    asked.add_argument("--to", type=Path, default=PICTURES)
    asked.add_argument("--only", default="")
    said = asked.parse_args()
    said.to.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory() as scratch, sync_playwright() as playwright:
        demo = said.demo or Path(scratch) / "demo"
        if said.demo is None:
            subprocess.run([sys.executable, "-m", "fieldfare", "demo", str(demo), "--seconds", "60"], check=False)
        shows = Path(scratch) / "shows"
        copytree(demo / "show", shows / "show")
        for name in ("bookshop-duo", "church-choir", "ska-seven"):
            copytree(ROOT / "examples" / name, shows / name)
        chromium = which("chromium") or which("chromium-browser") or which("google-chrome")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        with desk(shows) as address:
            page = browser.new_page()
            page.request.get(f"{address}/shows/show/inputs", timeout=120_000)
            act(page, address)
            for shot in SHOTS:
                if said.only in shot.name:
                    take(browser, address, shot, said.to)
        browser.close()


if __name__ == "__main__":
    main()
