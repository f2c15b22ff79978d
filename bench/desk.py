"""How soon an edit shows on screen, and how heavy the pages are: the real desk in a real Chromium.

python bench/desk.py               24 inputs and 64 inputs, within three minutes
python bench/desk.py --rounds 8    more edits of each kind
python bench/desk.py --inputs 24   one of the two

An edit is timed in the browser, from the key, the click or the drop to the first painted frame in which the page shows
the plan that was made again; a drop also to the frame in which the thing stands where it was put down. Where the system
tells it (Linux), what the server's processor spent on it stands beside it, and its share of what the first plan took,
made from nothing in the same run: on a busy machine the clock on the wall is not the desk's alone. Goal: a median of
300 ms for 24 inputs, and pages under 300 kB.
"""

from __future__ import annotations

import argparse
import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from shutil import copytree, which
from statistics import median
from tempfile import TemporaryDirectory

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parents[1]
GOAL_MS, GOAL_KB = 300, 300
ROUNDS = 5  # at 24 inputs; half as many at 64
PAGES = ("lineup", "inputs", "stage", "advance", "patch", "power", "pack", "kit", "check", "count", "marks", "now")
TIMER = """() => {
  let begun = 0, before = "";
  const digest = () => document.querySelector(".page")?.dataset.digest;
  for (const kind of ["keydown", "click", "pointerup"])
    addEventListener(kind, event => {
      begun = event.timeStamp; before = digest(); window.took = window.stood = null;
    }, true);
  new MutationObserver(() => {
    const put = begun;
    if (begun && !window.stood && document.getElementById("planning")) {
      requestAnimationFrame(() => requestAnimationFrame(now => { window.stood = now - put; }));
    }
    if (!begun || digest() === before) return;
    const from = begun; begun = 0;
    requestAnimationFrame(() => requestAnimationFrame(now => { window.took = now - from; }));
  }).observe(document.documentElement, { childList: true, subtree: true, attributes: true });
}"""


@contextmanager
def desk(folder: Path) -> Iterator[tuple[str, int]]:
    """Serve a folder of shows from a process of its own."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "fieldfare", "desk", str(folder), "--port", str(port), "--no-browser"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert server.stdout is not None
    server.stdout.readline()
    while True:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                break
        time.sleep(0.05)
    try:
        yield f"http://127.0.0.1:{port}", server.pid
    finally:
        server.terminate()
        server.wait(20)


def shows(folder: Path) -> dict[str, str]:
    """Lay out the shows that are measured: the demo with a recorder of 24 channels, and the festival."""
    copytree(ROOT / "src/fieldfare/show/demo", folder / "twenty-four")
    kit = folder / "twenty-four" / "kit.toml"
    text = kit.read_text("utf-8").replace("line_inputs = 4", "line_inputs = 16")
    kit.write_text(text.replace("preamps = 16", "preamps = 24").replace("line_inputs = 16", "line_inputs = 0"), "utf-8")
    copytree(ROOT / "examples/festival-64", folder / "festival-64", ignore=lambda *_: ["store.sqlite"])
    return {"twenty-four": "24 inputs", "festival-64": "64 inputs"}


def spent_ms(pid: int) -> float:
    """What the processor has spent on a process so far; nothing where the system does not tell."""
    stat = Path(f"/proc/{pid}/stat")
    if not stat.exists():
        return 0.0
    user, system = stat.read_text().rpartition(")")[2].split()[11:13]
    return 1000 * (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")


@dataclass(slots=True)
class Timed:
    """Edits of one kind."""

    wall_ms: list[float] = field(default_factory=list)
    server_ms: list[float] = field(default_factory=list)
    stood_ms: list[float] = field(default_factory=list)  # of a drop: until it stood there

    def line(self, words: str, kind: str, first_ms: float) -> str:
        """Say how long they took."""
        wall, server = median(self.wall_ms), median(self.server_ms)
        stood = f"; it stands there after {median(self.stood_ms):.0f} ms" if self.stood_ms else ""
        share = f", {server / first_ms:.2f} of the first plan" if first_ms else ""
        return (
            f"{words}: {kind}: median of {len(self.wall_ms)}: {wall:.0f} ms, longest {max(self.wall_ms):.0f} ms; "
            f"server {server:.0f} ms{share}{stood}"
        )


def edits(page: Page, base: str, rounds: int, pid: int) -> dict[str, Timed]:
    """Do edits of every kind, as a person does them, and time each."""
    found: dict[str, Timed] = {}

    def timed(kind: str, edit: Callable[[], object]) -> None:
        before = spent_ms(pid)
        edit()
        page.wait_for_function("() => window.took", timeout=120_000)
        here = found.setdefault(kind, Timed())
        here.wall_ms.append(float(page.evaluate("window.took")))
        here.server_ms.append(spent_ms(pid) - before)
        if stood := page.evaluate("window.stood"):
            here.stood_ms.append(float(stood))

    page.goto(f"{base}/inputs")
    page.evaluate(TIMER)
    for number in range(rounds):
        row = page.locator("tr[data-id]").nth(3 + number)
        row.locator(".grip").focus()
        timed("an arrow key moves a row", lambda: page.keyboard.press("ArrowDown"))
    for _ in range(min(2, rounds)):
        timed("undo", page.get_by_role("button", name="Undo").click)
    for number in range(rounds):
        page.goto(f"{base}/inputs?open={page.locator('tr[data-id]').nth(5 + number).get_attribute('data-id')}")
        page.evaluate(TIMER)
        keep = page.locator("select[name=keep]")
        keep.select_option("" if keep.input_value() == "yes" else "yes")
        timed("a pin is set", page.get_by_role("button", name="Pin and plan again").click)
    page.goto(f"{base}/stage")
    page.evaluate(TIMER)
    for number in range(rounds):
        _drag(page, number)
        timed("a source is dropped", page.mouse.up)
    return found


def _drag(page: Page, number: int) -> None:
    box = page.locator(".handle[data-what=source]").nth(number).bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 9):
        page.mouse.move(x + 3 * step, y - 2 * step)
        time.sleep(0.03)
    time.sleep(0.3)  # a hand comes to rest before it lets go


def weights_kb(page: Page, base: str) -> dict[str, float]:
    """Weigh every page as it comes over the wire, unpacked."""
    return {name: len(page.request.get(f"{base}/{name}").body()) / 1000 for name in PAGES}


def main() -> int:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--rounds", type=int, default=ROUNDS)
    asked.add_argument("--inputs", choices=("24", "64"), help="only the show of so many inputs")
    given = asked.parse_args()
    rounds = given.rounds
    chromium = which("chromium") or which("chromium-browser") or which("google-chrome")
    good = True
    with TemporaryDirectory() as scratch, sync_playwright() as playwright:
        every = shows(Path(scratch))
        names = {key: words for key, words in every.items() if given.inputs in (None, words.split()[0])}
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        with desk(Path(scratch)) as (address, pid):
            for key, words in names.items():
                page = browser.new_page(viewport={"width": 1440, "height": 900})
                before = spent_ms(pid)
                page.request.get(f"{address}/shows/{key}/inputs", timeout=120_000)
                first_ms = spent_ms(pid) - before
                base = f"{address}/shows/{key}"
                times = edits(page, base, rounds if key == "twenty-four" else -(-rounds // 2), pid)
                whole = [one for some in times.values() for one in some.wall_ms]
                spent = [one for some in times.values() for one in some.server_ms]
                for kind, some in times.items():
                    print(some.line(words, kind, first_ms), flush=True)
                print(f"{words}: the first plan, made from nothing: server {first_ms:.0f} ms")
                print(f"{words}: all edits: median {median(whole):.0f} ms; server {median(spent):.0f} ms")
                heavy, kb = max(weights_kb(page, base).items(), key=lambda one: one[1])
                print(f"{words}: heaviest page: {heavy}, {kb:.0f} kB")
                good = good and kb <= GOAL_KB and (key != "twenty-four" or median(whole) <= GOAL_MS)
                page.close()
        browser.close()
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
